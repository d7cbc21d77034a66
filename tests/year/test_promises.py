"""What holds in every plan of every household of this folder and of the examples, whatever the species or the place."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from itertools import pairwise

import pytest

from bot.care.agenda import ColonyPlan
from bot.care.colony import NestKind
from bot.care.duty import FEEDING, REST_STEPS, Duty, Occurrence
from bot.care.goods import FoodKind
from bot.care.growth.founding import FoundingCare, founding_care
from bot.care.handbook import Handbook
from bot.care.phase import Phase
from bot.care.species import DormancyClass, Guild
from bot.care.upkeep.heat import heat_limits
from tests.year.kit import EXAMPLES, FILES, Year, days_of, of_duty, phase_of, stretches

NAMES = [file.stem for file in (*FILES, *EXAMPLES)]
UNITS = (
    "_c|_days|_day|_ml|_g|_percent|_hours|_drops|_index|_faster|_factor|_per_week"  # quantities
    "|pieces|pieces_low|pieces_high"  # counted
)
WORDS = frozenset({"side", "gives", "food", "amount", "cleaner", "next_space", "trend"})
"""Facts that are words, not figures."""
COLD = frozenset({Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP})
HANDS_ON = frozenset({Duty.WASTE, Duty.NEST_CHANGE, Duty.SPACE, Duty.OUTSIDE_WIPE, Duty.CENSUS})


@pytest.fixture(params=NAMES)
def year(request: pytest.FixtureRequest, years: Mapping[str, Year]) -> Year:
    return years[str(request.param)]


def everything(year: Year) -> Iterator[tuple[ColonyPlan, Occurrence]]:
    return ((plan, found) for plan in year.plans for found in plan.occurrences)


def test_p24_water_is_never_paused(year: Year) -> None:
    # Common practice, no source; the longest look in a rest is three weeks, in a tube two.
    for plan in year.plans:
        watered = [year.start, *days_of(plan, Duty.WATER), year.end]
        longest = 14 if plan.colony.nest.kind is NestKind.TUBE else 21
        assert max((later - earlier).days for earlier, later in pairwise(watered)) <= longest


def test_water_does_not_come_later_than_its_own_forecast(year: Year) -> None:
    for plan, found in everything(year):
        if found.duty is Duty.WATER:
            assert found.earliest <= found.day <= found.latest, plan.colony.name


def test_no_protein_in_the_cold_and_no_food_in_deep_rest(year: Year) -> None:
    # Dossier on feeding 9.6 rule 3 and check 21; common practice.
    for plan in year.plans:
        for found in plan.occurrences:
            span = next((span for rest in plan.rests if (span := rest.span_on(found.day))), None)
            if span is None or span.phase not in COLD:
                continue
            assert found.duty not in {Duty.PROTEIN, Duty.SEEDS, Duty.LEAVES}
            if span.phase is Phase.REST and span.temperature_c.middle <= 12:
                assert found.duty not in FEEDING


def test_every_perishable_meal_is_followed_by_its_leftovers(year: Year) -> None:
    # P4, common practice, no source: within three days, the longest that food keeps.
    for plan in year.plans:
        cleared = days_of(plan, Duty.LEFTOVERS)
        for day in days_of(plan, Duty.PROTEIN):
            if day + timedelta(days=3) < year.end:
                assert any(0 < (later - day).days <= 3 for later in cleared)


def test_a_patient_keeper_is_asked_at_most_five_times_a_week(year: Year) -> None:
    # Judgement. Thirsty nests, leaf cutters and heat alarms ask for more; so does the first week, with its questions.
    for plan in year.plans:
        water = of_duty(plan, Duty.WATER)
        hurried = any((later.day - earlier.day).days <= 2 for earlier, later in pairwise(water))
        hot = any(found.facts["warm_c"] > found.facts["alarm_c"] for found in of_duty(plan, Duty.HEAT_CHECK))  # type: ignore[operator] # both are numbers
        if hurried or hot or Guild.LEAVES in plan.profile.guilds:
            continue
        for phase, first, end in stretches(plan, year.start, year.end):
            days = {found.day for found in plan.occurrences if first <= found.day < end}
            if (end - first).days >= 28:
                most = 2.5 if phase is Phase.REST else 5
                assert len(days) / (end - first).days * 7 <= most, (plan.colony.name, phase)


def test_weekly_chores_stay_weekly(year: Year) -> None:
    for plan in year.plans:
        for phase, first, end in stretches(plan, year.start, year.end):
            days = [day for day in days_of(plan, Duty.OUTSIDE_WIPE) if first <= day < end]
            gaps = [(later - earlier).days for earlier, later in pairwise(days)]
            assert all(6 <= gap <= 9 for gap in gaps), (plan.colony.name, phase)


def test_barriers_are_never_looked_at_much_later_than_their_kind_asks(year: Year) -> None:
    for plan in year.plans:
        checks = of_duty(plan, Duty.BARRIER_CHECK)
        for earlier, later in pairwise(checks):
            wanted = max(float(earlier.facts["check_days"]), float(later.facts["check_days"]))
            assert (later.day - earlier.day).days <= wanted * 1.6 + 0.5


def test_species_that_never_rest_are_never_chilled(year: Year) -> None:
    for plan in year.plans:
        if plan.profile.dormancy in {DormancyClass.HOMO, DormancyClass.REVERSED}:
            assert not [found for found in plan.occurrences if found.duty in REST_STEPS]
            assert all(not rest.phases for rest in plan.rests)


def test_walled_in_queens_are_neither_fed_nor_disturbed(year: Year) -> None:
    # Founding queens of Lasius are kept unfed in laboratories (Szabo 2023); peace is common practice.
    for plan in year.plans:
        if founding_care(plan.colony, plan.profile) is FoundingCare.WATER_ONLY:
            assert not [found for found in plan.occurrences if found.duty in FEEDING | HANDS_ON]
            assert not re.search(r"sugar|protein", " ".join(found.reason for found in plan.occurrences))


def test_what_a_sentence_promises_the_plan_holds(year: Year) -> None:
    for plan in year.plans:
        fed = days_of(plan, Duty.PROTEIN)
        for found in plan.occurrences:
            if found.duty is Duty.SUGAR and "protein the day after" in found.reason:
                assert found.day not in fed, plan.colony.name
            if found.duty is Duty.REST_BEGIN and "a little sugar" in found.reason:
                span = next(span for rest in plan.rests if (span := rest.span_on(found.day)))
                tasted = [day for day in days_of(plan, Duty.SUGAR) if span.start <= day < span.end]
                assert tasted or span.end > year.end, plan.colony.name


def test_hands_stay_off_for_a_week_after_a_move(year: Year) -> None:
    # Common practice, no source.
    for plan in year.plans:
        moves = (plan.colony.arrived, plan.colony.nest.changed)
        quiet_until = max((day for day in moves if day), default=date.min) + timedelta(days=7)
        for found in plan.occurrences:
            if found.duty in {Duty.WASTE, Duty.NEST_CHANGE, Duty.OUTSIDE_WIPE}:
                assert found.day >= quiet_until


def test_nothing_is_planned_for_things_that_are_not_there(year: Year) -> None:
    for plan in year.plans:
        duties = {found.duty for found in plan.occurrences}
        if plan.colony.outworld is None:
            assert not duties & {Duty.BARRIER_CHECK, Duty.BARRIER_RENEW, Duty.OUTSIDE_WIPE, Duty.WASTE}
        if plan.colony.nest.kind is not NestKind.NEST:
            assert Duty.NEST_CHANGE not in duties
        for found in plan.occurrences:
            if found.duty is Duty.HEAT_CHECK and plan.colony.heater is None:
                assert found.facts["warm_c"] > heat_limits(plan.profile).warn_c  # type: ignore[operator] # a number
                assert not {"FIX-01", "FIX-02", "HEAT-EDGE"} & set(found.cautions)


def test_advice_does_not_contradict_its_cautions(year: Year) -> None:
    for plan, found in everything(year):
        if "VINEGAR-LIME" in found.cautions and found.duty is Duty.NEST_CHANGE:
            assert "no vinegar" in found.reason
        if found.duty is Duty.OUTSIDE_WIPE and plan.colony.outworld and plan.colony.outworld.limestone:
            assert "vinegar" not in found.reason
        if found.duty is Duty.WATER and phase_of(plan, found.day) in COLD:
            assert "clean nest" not in found.reason
        if found.duty is Duty.REST_BEGIN and "no food" in found.reason:
            assert "sugar water" not in found.reason


def test_figures_carry_their_unit_and_words_are_known(year: Year) -> None:
    for _, found in everything(year):
        for key, value in found.facts.items():
            if isinstance(value, str):
                assert key in WORDS
            else:
                assert re.search(f"({UNITS})$", key), key


def test_every_id_is_in_the_handbook(year: Year, handbook: Handbook) -> None:
    foods = {food.id for food in handbook.foods.values() if food.kind in FoodKind}
    for _, found in everything(year):
        assert set(found.cautions) <= handbook.cautions.keys()
        assert len(found.cautions) <= 7
        assert len(set(found.cautions)) == len(found.cautions)
        if "food" in found.facts:
            assert found.facts["food"] in foods


def test_days_lie_in_their_band_and_no_duty_comes_twice_on_a_day(year: Year) -> None:
    seen: set[tuple[str, Duty, date]] = set()
    for plan, found in everything(year):
        assert found.earliest <= found.day <= found.latest
        assert year.start <= found.day < year.end
        key = (plan.colony.key, found.duty, found.day)
        assert key not in seen
        seen.add(key)


def test_reasons_are_whole_sentences(year: Year) -> None:
    for _, found in everything(year):
        assert found.reason[0].isupper()
        assert found.reason.endswith((".", "?"))
        assert "  " not in found.reason
        assert len(found.reason) <= 420


def test_every_occurrence_explains_itself(year: Year, handbook: Handbook) -> None:
    for _, found in everything(year):
        why = found.why
        assert why.rule
        assert why.inputs
        assert all(value.label and value.shown for value in why.inputs)
        assert why.evidence.sources
        assert set(why.evidence.sources) <= handbook.sources.keys()
        assert why.would_change


def test_what_the_keeper_never_said_is_marked_as_a_default(years: Mapping[str, Year]) -> None:
    water = of_duty(years["only-name-and-species"].plans[0], Duty.WATER)[0]
    told = {value.label: value.defaulted for value in water.why.inputs}
    assert told["room temperature"]
    assert told["water in the tube"]
    said = of_duty(years["growing-one-colony"].plans[0], Duty.WATER)[0]
    assert not any(value.defaulted for value in said.why.inputs)
