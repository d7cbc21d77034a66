"""Which facts raise which cautions, and that danger is never dropped, muted or put behind anything but medicine.

Triggers and repeat limits: the safety notes (sections 0 and 6) and the feeding notes (9.6, rule 9).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.caution_limits import select
from bot.care.caution_rules import RULES, for_occurrence, for_profile, strongest_first
from bot.care.cautions import Caution, Kind, Severity
from bot.care.colony import Brood, Heater, Nest, Outworld, RestWishes
from bot.care.duty import Duty
from bot.care.evidence import JUDGEMENT
from bot.care.goods import Barrier, Country, Food, FoodKind, HeaterKind
from bot.care.phase import Phase, PhaseSpan
from bot.care.species import DormancyClass
from bot.care.units import Band
from tests.care.builders import DAY, colony, handbook, keeper, nest, place, profile, rest_plan, situation

LANDS = {
    code: Country(code=code, name=code, emergency=None, law_caution=law)
    for code, law in {"DE": "LAW-01", "US": "LAW-02", "AU": "LAW-03", "BR": None}.items()
}


def caution(name: str, severity: Severity, *, medical: bool = False) -> Caution:
    return Caution(
        id=name,
        kind=Kind.STING,
        severity=severity,
        text=f"Take care of {name}.",
        advice="Stop.",
        medical=medical,
        evidence=JUDGEMENT,
    )


BOOK = {
    one.id: one
    for one in (
        caution("note", Severity.NOTE),
        caution("warning", Severity.WARNING),
        caution("danger", Severity.DANGER),
        caution("other-danger", Severity.DANGER),
        caution("acid", Severity.WARNING, medical=True),
        caution("shock", Severity.DANGER, medical=True),
    )
}


def raised(country: str | None = "BR", **facts: Any) -> set[str]:
    return set(for_profile(profile(**facts), keeper(country=country), handbook(countries=LANDS)))


def duty_ids(duty: Duty, facts: Mapping[str, float | str] | None = None, **changes: Any) -> set[str]:
    return set(for_occurrence(duty, situation(**changes), facts or {}))


@pytest.mark.parametrize(("hazard", "dangerous"), [(0, False), (1, False), (2, True), (3, True), (None, True)], ids=str)
def test_hazard_from_two_up_and_unknown_hazard_ask_for_care(*, hazard: int | None, dangerous: bool) -> None:
    found = raised(hazard=hazard)
    assert ({"STG-02", "STG-03"} <= found) is dangerous
    assert ("BAR-09" in found) is (hazard != 0), "a climber that stings even a little lives behind two layers"


@pytest.mark.parametrize(("climbs", "twice"), [(True, True), (None, True), (False, False)], ids=str)
def test_an_unknown_climber_counts_as_a_climber(*, climbs: bool | None, twice: bool) -> None:
    assert ("BAR-09" in raised(hazard=1, climbs_smooth=climbs)) is twice


@pytest.mark.parametrize(
    ("smallest", "mesh", "twice"), [(4.0, False, False), (2.9, True, False), (2.4, True, True)], ids=str
)
def test_small_workers_need_fine_mesh(*, smallest: float, mesh: bool, twice: bool) -> None:
    found = raised(worker_mm=Band(smallest, 6), climbs_smooth=False)
    assert ("BAR-08" in found, "BAR-09" in found) == (mesh, twice)


def test_unknown_size_raises_no_claim_about_mesh() -> None:
    assert "BAR-08" not in raised(worker_mm=None)


def test_a_regulated_species_brings_the_invasive_line_and_the_line_of_the_country() -> None:
    flags = ("EU_UNION_LIST_2022", "INVASIVE_SOME")
    assert {"LAW-12", "LAW-01", "BAR-09"} <= raised("DE", regulation=flags)
    assert {"LAW-12", "LAW-02"} <= raised("US", regulation=flags)
    assert {"LAW-12", "LAW-ASK"} <= raised("BR", regulation=flags)


def test_without_a_country_nothing_is_taken_for_granted() -> None:
    assert {"LAW-10", "LAW-ASK"} <= raised(None)
    assert "LAW-01" not in raised(None)
    assert "LAW-01" in raised(None, regulation=("EU_UNION_LIST_SOME",)), "the keeper may live in the Union"


def test_a_country_that_is_not_listed_sends_to_the_authority() -> None:
    assert "LAW-ASK" in raised("ZZ")


def test_lines_that_hold_for_every_ant_need_no_flag() -> None:
    assert "LAW-02" in raised("US")
    assert "LAW-03" in raised("AU")
    assert "LAW-01" not in raised("DE"), "the Union's line speaks of listed species"


def test_protected_and_exported_species_bring_their_own_lines() -> None:
    protected = raised("DE", regulation=("DE_PROTECTED", "CH_PROTECTED"))
    assert {"LAW-08", "LAW-12"} <= protected
    assert "LAW-01" not in protected, "protected is not listed as invasive"
    assert {"LAW-09", "LAW-12"} <= raised("US", regulation=("KE_EXPORT",))


@pytest.mark.parametrize(
    ("dormancy", "line"),
    [
        (DormancyClass.HOMO, "REST-TROPICAL"),
        (DormancyClass.QUASI, "REST-NONE"),
        (DormancyClass.REVERSED, "REST-SUMMER"),
    ],
)
def test_species_without_a_winter_rest_say_so(dormancy: DormancyClass, line: str) -> None:
    assert line in raised(dormancy=dormancy)
    assert not raised(dormancy=DormancyClass.ENDO) & {"REST-TROPICAL", "REST-NONE", "REST-SUMMER"}


def test_what_a_genus_can_do_is_said() -> None:
    assert "STG-05" in raised(genus="Formica")
    assert "STG-05" not in raised(genus="Myrmica")
    assert "STG-05" in raised(genus="Myrmica", hazard_kinds=("formic_spray",))
    assert "STG-07" in raised(genus="Wasmannia")
    assert "STG-08" in raised(genus="Messor")
    assert "STG-08" in raised(genus="Camponotus", worker_mm=Band(6, 14))
    assert "STG-08" not in raised(genus="Camponotus", worker_mm=Band(3, 6))


def test_a_genus_profile_admits_its_doubt() -> None:
    assert "UNSURE-PROFILE" in raised(rank="genus")
    assert "UNSURE-PROFILE" not in raised(rank="species")


@pytest.mark.parametrize(
    ("duty", "ids"),
    [
        (Duty.SUGAR, {"SUGAR-FRESH", "SUGAR-DROWN"}),
        (Duty.PROTEIN, {"PREY-POISON", "PREY-FUNGUS"}),
        (Duty.SEEDS, {"SEED-DRESSED"}),
        (Duty.LEAVES, {"PST-06", "LEAF-PLANTS"}),
        (Duty.LEFTOVERS, {"MOULD-LEFTOVERS"}),
        (Duty.FEEDER_CARE, {"FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE"}),
        (Duty.WATER, {"WATER", "ESTIMATE-WATER"}),
        (Duty.BARRIER_CHECK, {"BAR-14", "BAR-02"}),
        (Duty.OUTSIDE_WIPE, {"BAR-12", "FIX-12"}),
        (Duty.WASTE, {"FIX-17", "BAR-11"}),
        (Duty.NEST_CHANGE, {"VINEGAR-LIME", "STRESS-MOVE"}),
        (Duty.SPACE, {"SPACE-LARGE", "STRESS-MOVE"}),
        (Duty.CENSUS, {"STRESS-QUIET"}),
        (Duty.REST_WIND_DOWN, {"REST-DATES"}),
        (Duty.REST_COOL_DOWN, {"REST-PUPAE", "REST-COOL-SLOWLY"}),
        (Duty.REST_BEGIN, {"WATER", "REST"}),
        (Duty.REST_CHECK, {"WATER", "REST-DRY-AIR"}),
        (Duty.REST_WARM_UP, {"REST-WARM-UP", "WATER"}),
        (Duty.REST_END, {"REST", "REST-WAKING"}),
    ],
)
def test_every_duty_carries_its_cautions(duty: Duty, ids: set[str]) -> None:
    assert ids <= duty_ids(duty)


def test_every_duty_has_a_rule_or_takes_its_cautions_from_the_goods() -> None:
    assert {duty for rule in RULES for duty in rule.duties} == set(Duty)


def test_few_lines_a_duty() -> None:
    """The strongest must not drown: a calm colony never sees more than six lines with one duty."""
    assert all(len(duty_ids(duty)) <= 6 for duty in Duty)


def test_amounts_are_called_estimates() -> None:
    assert "ESTIMATE" in duty_ids(Duty.PROTEIN, {"pieces": 2})
    assert "ESTIMATE" in duty_ids(Duty.SEEDS, {"seeds_g": 0.5})
    assert "ESTIMATE" not in duty_ids(Duty.SUGAR, {"interval_days": 3})


def test_foods_bring_their_own_cautions() -> None:
    honey = Food(id="honey", name="honey", kind=FoodKind.SUGAR, cautions=("SUGAR-HONEY",))
    book = handbook(foods={"honey": honey})
    assert "SUGAR-HONEY" in duty_ids(Duty.SUGAR, {"food": "honey"}, handbook=book)
    assert "SUGAR-HONEY" not in duty_ids(Duty.SUGAR, {"food": "nothing we know"}, handbook=book)


def test_protein_without_larvae_warns() -> None:
    """Dussutour & Simpson 2012: protein without larvae shortens life; unknown brood is not called broodless."""
    assert "DIET-PROTEIN" in duty_ids(Duty.PROTEIN, colony=colony(brood=Brood(larvae=False)))
    assert "DIET-PROTEIN" not in duty_ids(Duty.PROTEIN, colony=colony(brood=Brood()))


@pytest.mark.parametrize("duty", [Duty.WASTE, Duty.NEST_CHANGE, Duty.SPACE, Duty.BARRIER_RENEW])
def test_stinging_ants_are_announced_before_a_box_is_opened(duty: Duty) -> None:
    assert "STG-03" in duty_ids(duty, profile=profile(hazard=3))
    assert "STG-03" in duty_ids(duty, profile=profile(hazard=None))
    assert "STG-03" not in duty_ids(duty, profile=profile(hazard=1))


def test_a_renewal_carries_the_dangers_of_its_barrier_and_a_check_does_not() -> None:
    ptfe = Barrier(
        id="ptfe",
        name="PTFE",
        check_days=7,
        renew_days=56,
        humidity_sensitive=True,
        cautions=("BAR-03", "BAR-02", "BAR-01"),
    )
    book = handbook(barriers={"ptfe": ptfe})
    assert {"BAR-03", "BAR-01"} <= duty_ids(Duty.BARRIER_RENEW, handbook=book)
    assert "BAR-03" not in duty_ids(Duty.BARRIER_CHECK, handbook=book)
    assert "BAR-07" in duty_ids(Duty.BARRIER_CHECK, colony=colony(outworld=Outworld(barrier="moat")))
    assert not duty_ids(Duty.BARRIER_RENEW, colony=colony(outworld=None))


def test_heat_at_the_wall_raises_more_with_every_step() -> None:
    """Hydration notes 10.2: above 30 C warn, from 35 C switch off, unless the species bears more."""

    def at(hot_c: float, alarm_c: float | None = None) -> set[str]:
        return duty_ids(
            Duty.HEAT_CHECK, colony=colony(heater=Heater(hot_c=hot_c)), profile=profile(heat_alarm_c=alarm_c)
        )

    assert {"FIX-01", "HEAT-EDGE"} <= at(28)
    assert not at(28) & {"HEAT-WALL", "HEAT-OFF"}
    assert "HEAT-WALL" in at(31)
    assert {"HEAT-WALL", "HEAT-OFF"} <= at(35)
    assert "HEAT-WALL" in at(29, alarm_c=28)
    assert "HEAT-WALL" not in at(34, alarm_c=36)
    assert "HEAT-OFF" in at(36, alarm_c=36)


def test_heater_kinds_bring_their_own_cautions_and_unknown_ones_the_fire_line() -> None:
    mat = HeaterKind(id="heat-mat", name="mat", assumed_rise_c=None, check_days=7, cautions=("FIX-02", "HEAT-COVER"))
    book = handbook(heaters={"heat-mat": mat})
    assert "HEAT-COVER" in duty_ids(Duty.HEAT_CHECK, handbook=book, colony=colony(heater=Heater(kind="heat-mat")))
    assert "FIX-02" in duty_ids(Duty.HEAT_CHECK, handbook=book, colony=colony(heater=Heater(kind="stove")))


def test_nothing_is_said_of_things_that_are_not_there() -> None:
    assert not duty_ids(Duty.HEAT_CHECK, colony=colony(heater=None))
    assert "WATER-LITTLE" not in duty_ids(Duty.WATER, colony=colony(nest=Nest()))
    assert "TUBE-WARM" not in duty_ids(Duty.REST_WARM_UP)
    assert "TUBE-WARM" in duty_ids(Duty.REST_WARM_UP, colony=colony(nest=Nest()))
    assert not {"FIX-12", "BAR-12"} & duty_ids(Duty.OUTSIDE_WIPE, colony=colony(outworld=Outworld(limestone=True)))


def test_water_beside_a_heater_and_in_the_cold() -> None:
    assert {"FIX-10", "HEAT-DRIES"} <= duty_ids(Duty.WATER, colony=colony(heater=Heater()))
    assert "FIX-10" not in duty_ids(Duty.WATER)
    assert "REST-WATER" in duty_ids(Duty.WATER, phase=Phase.REST)
    assert "FIX-03" in duty_ids(Duty.WATER, place=place(temperature_c=33))
    assert "FIX-03" not in duty_ids(Duty.WATER, place=place(temperature_c=None))


def test_vinegar_is_kept_from_lime() -> None:
    assert "VINEGAR-LIME" in duty_ids(Duty.NEST_CHANGE, colony=colony(nest=nest(material="aac")))
    assert "VINEGAR-LIME" not in duty_ids(Duty.NEST_CHANGE, colony=colony(nest=nest(material="plaster")))
    marble = colony(nest=nest(material=None), outworld=Outworld(limestone=True))
    assert "VINEGAR-LIME" in duty_ids(Duty.OUTSIDE_WIPE, colony=marble)


def test_new_arrivals_are_quarantined_and_left_in_peace() -> None:
    def here(days: int) -> Any:
        return colony(arrived=DAY - timedelta(days=days))

    assert "PST-11" in duty_ids(Duty.CENSUS, colony=here(27))
    assert "PST-11" not in duty_ids(Duty.CENSUS, colony=here(28))
    assert "STRESS-NEW" in duty_ids(Duty.PROTEIN, colony=here(6))
    assert "STRESS-NEW" not in duty_ids(Duty.PROTEIN, colony=colony(arrived=None))


@pytest.mark.parametrize(
    ("wishes", "line"),
    [
        (RestWishes(place="fridge"), "FIX-04"),
        (RestWishes(place="fridge"), "REST-FRIDGE"),
        (RestWishes(place="outdoors"), "REST-OUTDOORS"),
        (RestWishes(place_low_c=1), "REST-TOO-COLD"),
        (RestWishes(place_low_c=-3, place_high_c=6), "REST-TOO-COLD"),
        (RestWishes(place_high_c=12), "REST-TOO-WARM"),
    ],
)
def test_where_a_colony_rests_decides(wishes: RestWishes, line: str) -> None:
    endo = profile(dormancy=DormancyClass.ENDO)
    assert line in duty_ids(Duty.REST_BEGIN, colony=colony(rest=wishes), profile=endo)
    assert line not in duty_ids(Duty.REST_BEGIN, colony=colony(), profile=endo)


def test_ten_degrees_suit_species_of_mild_winters() -> None:
    assert "REST-TOO-WARM" not in duty_ids(
        Duty.REST_BEGIN, colony=colony(rest=RestWishes(place_high_c=12)), profile=profile(dormancy=DormancyClass.EXO)
    )


def test_lone_queens_and_travellers_get_their_lines() -> None:
    assert "REST-LONE-QUEEN" in duty_ids(Duty.REST_BEGIN, colony=colony(workers=0))
    assert "REST-LONE-QUEEN" not in duty_ids(Duty.REST_BEGIN)
    moved = colony(rest=RestWishes(from_other_hemisphere_since=DAY))
    assert "REST-HEMISPHERE" in duty_ids(Duty.REST_WIND_DOWN, colony=moved)


@pytest.mark.parametrize(("days", "long"), [(149, False), (150, True)])
def test_a_rest_past_five_months_is_called_long(*, days: int, long: bool) -> None:
    span = PhaseSpan(Phase.REST, DAY - timedelta(days=days), DAY + timedelta(days=9), Band(5, 8))
    plan = replace(rest_plan(Phase.REST), phases=(span,))
    assert ("REST-TOO-LONG" in duty_ids(Duty.REST_CHECK, rest=plan)) is long


def test_ids_come_strongest_first() -> None:
    ids = ("note", "warning", "unheard-of", "danger", "acid", "note", "shock")
    assert strongest_first(ids, BOOK) == ("shock", "acid", "danger", "warning", "note", "unheard-of")


ids_of_book = st.lists(st.sampled_from([*BOOK, "gone"]))
shown_days = st.dictionaries(
    st.sampled_from(sorted(BOOK)), st.integers(-40, 40).map(lambda back: DAY - timedelta(days=back))
)


@given(ids=ids_of_book, shown=shown_days, muted=st.booleans())
def test_danger_is_never_dropped_never_muted_and_order_holds(
    *, ids: list[str], shown: dict[str, date], muted: bool
) -> None:
    found = select(ids, handbook(cautions=BOOK), shown, DAY, muted)
    names = [one.id for one in found]
    dangers = {name for name in ids if name in BOOK and BOOK[name].severity is Severity.DANGER}
    assert dangers <= set(names) <= set(ids)
    assert len(set(names)) == len(names)
    ranks = [(not one.medical, one.severity.rank) for one in found]
    assert ranks == sorted(ranks)
    assert all(one == BOOK[one.id] for one in found), "text and advice stay whole"
    if muted:
        assert Severity.NOTE not in {one.severity for one in found}


def test_a_message_carries_few_lines_below_danger_and_the_rest_come_later() -> None:
    warning, note = BOOK["warning"], BOOK["note"]
    book = {f"w{number}": replace(warning, id=f"w{number}") for number in range(5)}
    book |= {f"n{number}": replace(note, id=f"n{number}") for number in range(4)}
    book |= {f"d{number}": replace(BOOK["danger"], id=f"d{number}") for number in range(6)}
    shown: dict[str, date] = {}
    for _ in range(4):
        found = select(list(book), handbook(cautions=book), shown, DAY, muted=False)
        assert [one.id for one in found[:6]] == [f"d{number}" for number in range(6)], "every danger, every time"
        assert len(found) <= 6 + 2 + 1
        shown |= {one.id: DAY for one in found}
    assert set(shown) == set(book), "nothing is lost"


@pytest.mark.parametrize(
    ("name", "days", "speaks"),
    [
        ("danger", 0, True),
        ("acid", 13, False),
        ("acid", 14, True),
        ("warning", 13, False),
        ("warning", 14, True),
        ("note", 29, False),
        ("note", 30, True),
        ("note", -3, True),
    ],
)
def test_repeat_limits(*, name: str, days: int, speaks: bool) -> None:
    """Safety notes, section 0; a day ahead of today, after a moved clock, silences nothing."""
    shown = {name: DAY - timedelta(days=days)}
    assert bool(select([name], handbook(cautions=BOOK), shown, DAY, muted=False)) is speaks


def test_a_medical_warning_comes_first_and_is_never_left_out_for_want_of_room() -> None:
    """Safety notes, section 0: medical items outrank everything else; STG-05 is a warning, so it keeps its 14 days."""
    book = {f"w{number}": replace(BOOK["warning"], id=f"w{number}") for number in range(5)} | {"acid": BOOK["acid"]}
    found = select(list(book), handbook(cautions=book), {}, DAY, muted=False)
    assert [one.id for one in found] == ["acid", "w0", "w1"]


def test_poisoned_insects_are_no_matter_of_seeds_and_leaves() -> None:
    """Seeds: the dressing; leaves: sprayed plants (safety notes PST-06; feeding notes 8, U2)."""
    for duty in (Duty.SEEDS, Duty.LEAVES):
        assert "PREY-POISON" not in duty_ids(duty)
    assert "SEED-DRESSED" in duty_ids(Duty.SEEDS)
    assert "PST-06" in duty_ids(Duty.LEAVES)


NEVER = replace(rest_plan(), cautions=("REST-TROPICAL",))


@pytest.mark.parametrize(
    ("day", "last", "told"),
    [
        (date(2027, 6, 1), None, True),
        (date(2027, 6, 1), date(2027, 5, 20), False),
        (date(2027, 12, 1), date(2027, 9, 1), True),
        (date(2027, 12, 1), date(2027, 11, 20), False),
        (date(2028, 1, 5), date(2027, 9, 1), True),
        (date(2028, 3, 1), date(2028, 2, 20), False),
    ],
)
def test_who_never_rests_is_told_once_when_the_others_begin(*, day: date, last: date | None, told: bool) -> None:
    """With the first look at its water, and the first of each winter (day of 11 hours: our convention, judgement)."""
    done = {} if last is None else {Duty.WATER: last}
    found = duty_ids(Duty.WATER, rest=NEVER, keeper=keeper(latitude=48.0), day=day, done=done)
    assert ("REST-TROPICAL" in found) is told


def test_a_colony_with_dates_of_a_rest_hears_of_it_with_its_steps() -> None:
    resting = replace(rest_plan(Phase.REST), cautions=("REST-DATES",))
    assert "REST-DATES" not in duty_ids(Duty.WATER, rest=resting, done={})
    endo = profile(dormancy=DormancyClass.ENDO)
    assert "REST-ENDO" in duty_ids(Duty.REST_WIND_DOWN, profile=endo)
    assert "REST-ENDO" not in duty_ids(Duty.REST_WIND_DOWN)


@given(
    hazard=st.sampled_from([None, 0, 1, 2, 3]),
    climbs=st.sampled_from([None, False, True]),
    flags=st.sets(st.sampled_from(["EU_UNION_LIST_2022", "DE_PROTECTED", "KE_EXPORT", "INVASIVE_SOME"])),
    country=st.sampled_from([None, "DE", "US", "AU", "BR", "ZZ"]),
)
def test_knowing_less_never_raises_fewer_dangers(
    *, hazard: int | None, climbs: bool | None, flags: set[str], country: str | None
) -> None:
    known = raised(country, hazard=hazard, climbs_smooth=climbs, regulation=tuple(flags))
    if hazard is None:
        assert known >= raised(country, hazard=2, climbs_smooth=climbs, regulation=tuple(flags))
    if climbs is None:
        assert known == raised(country, hazard=hazard, climbs_smooth=True, regulation=tuple(flags))
    assert not flags or "LAW-12" in known
    assert country is not None or "LAW-10" in known
