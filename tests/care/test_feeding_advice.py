"""What a keeper is told about sugar, protein, seeds and leaves, from a whole situation."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Amount, Brood, LogEntry
from bot.care.duty import Duty, Outcome, Urgency
from bot.care.feeding import leftovers
from bot.care.feeding.advice import advise_leaves, advise_protein, advise_seeds, advise_sugar
from bot.care.feeding.energy import composition_of
from bot.care.feeding.meals import eaters, nest_c
from bot.care.growth import advice as growth
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.situation import Advice, Situation
from bot.care.species import Founding, Guild, SpeciesProfile
from bot.care.units import Band, Units
from bot.care.water.advice import advise_water
from tests.care import builders

CONFIG = Path(__file__).parents[2] / "config"
DAY = builders.DAY
YESTERDAY = DAY - timedelta(days=1)
FED = {Duty.SUGAR: YESTERDAY, Duty.PROTEIN: YESTERDAY}
HARVESTER = builders.profile(name="Messor", genus="Messor", guilds=(Guild.SEEDS,), worker_mg=5.0, pace=0.6)
LEAF_CUTTER = builders.profile(
    name="Acromyrmex", genus="Acromyrmex", guilds=(Guild.LEAVES,), founding=(Founding.SEMI_CLAUSTRAL,)
)
FEEDING_ADVISERS = (advise_sugar, advise_protein, advise_seeds, advise_leaves)


def _sugar(**changes: Any) -> Advice:
    advice = advise_sugar(builders.situation(**changes))
    assert advice is not None
    return advice


def _protein(**changes: Any) -> Advice:
    advice = advise_protein(builders.situation(**changes))
    assert advice is not None
    return advice


def _profile(**changes: Any) -> SpeciesProfile:
    return builders.profile(**changes)


def test_p01_a_new_colony_gets_sugar_first_and_protein_the_day_after() -> None:
    # Common practice, no source.
    new = builders.colony(arrived=None)
    assert _sugar(colony=new).first_after_days == 0
    assert _sugar(colony=new).urgency is Urgency.SOON
    assert "sugar first" in _sugar(colony=new).reason
    assert _protein(colony=new).first_after_days == 1


def test_p01_protein_does_not_wait_for_ever_where_sugar_is_never_noted() -> None:
    # A colony known for a while, planned anew every night: the wait has an end.
    assert _protein().first_after_days == 0
    old = {Duty.SUGAR: DAY - timedelta(days=12), Duty.PROTEIN: DAY - timedelta(days=12)}
    assert _protein(done=old).interval_days <= 12


def test_p01_a_hungry_colony_gets_sugar_before_protein() -> None:
    # Common practice; starved foragers of Lasius niger lived about ten days (Dussutour et al. 2016).
    done = {Duty.SUGAR: DAY - timedelta(days=11), Duty.PROTEIN: DAY - timedelta(days=11)}
    assert _sugar(done=done).interval_days < 11
    assert _protein(done=done).interval_days == 12


def test_p01_both_kinds_stay_in_the_rhythm_all_season() -> None:
    # Common practice, no source.
    assert _sugar(done=FED).interval_days == 3
    assert _protein(done=FED).interval_days == 3


def test_p02_the_amount_follows_the_whole_colony() -> None:
    # Common practice, no source.
    def drops(workers: int) -> float:
        found = _sugar(colony=builders.colony(workers=workers), done=FED).facts["sugar_drops"]
        assert isinstance(found, float)
        return found

    assert drops(160) == pytest.approx(2 * drops(80), rel=0.01)


def test_p03_small_colonies_get_prey_cut_up_and_counted_in_pieces() -> None:
    # Common practice, no source.
    small = _protein(colony=builders.colony(workers=15), done=FED)
    large = _protein(colony=builders.colony(workers=900), done=FED)
    assert "cut up" in small.reason
    assert "cut up" not in large.reason
    assert small.facts["food"] == "fruit-fly"
    assert large.facts["food"] in {"cricket", "mealworm"}
    for advice in (small, large):
        assert " g" not in advice.reason
        assert not [key for key in advice.facts if key.endswith(("_g", "_mg"))]


def test_p03_the_queen_gets_a_little_protein_without_larvae() -> None:
    # Common practice, no source.
    advice = _protein(colony=builders.colony(brood=Brood(level=Amount.NONE)), done=FED)
    assert "queen" in advice.reason
    assert advice.interval_days > _protein(done=FED).interval_days
    assert "DIET-PROTEIN" in advice.cautions


def test_p04_food_lies_on_something_that_lifts_out() -> None:
    # Common practice, no source.
    assert "foil" in _protein(done=FED).reason
    assert "foil" in _sugar(done=FED).reason


def test_p05_refused_prey_gives_way_to_another_and_less_is_offered() -> None:
    # Common practice; the quarter is judgement.
    def refusals(food: str) -> tuple[LogEntry, ...]:
        days = (DAY - timedelta(days=6), DAY - timedelta(days=3))
        return tuple(LogEntry(day=day, duty=Duty.PROTEIN, outcome=Outcome.REFUSED, food=food) for day in days)

    colony = builders.colony(workers=900, log=refusals("cricket"))
    advice = _protein(colony=colony, done=FED)
    assert advice.facts["food"] == "mealworm"
    assert advice.facts["feedback_factor"] == 0.75


def test_p06_harvesters_get_seeds_and_leaf_cutters_leaves() -> None:
    # Common practice, no source.
    harvest = builders.situation(profile=HARVESTER, colony=builders.colony(workers=500), done=FED)
    leaves = builders.situation(profile=LEAF_CUTTER, done=FED)
    seeds, foliage = advise_seeds(harvest), advise_leaves(leaves)
    assert seeds is not None
    assert foliage is not None
    assert "SEED-DRESSED" in seeds.cautions
    assert "untreated" in seeds.reason
    assert foliage.interval_days <= 2
    assert "PST-06" in foliage.cautions
    assert advise_sugar(leaves) is None
    assert advise_protein(leaves) is None
    assert advise_leaves(harvest) is None
    assert advise_seeds(builders.situation()) is None


def test_value_10_seeds_for_five_hundred_harvesters() -> None:
    # Derived: 2.28 kcal a week at 26 C, 4.5 kcal per g of seed (memory): about half a gram.
    situation = builders.situation(
        profile=HARVESTER, colony=builders.colony(workers=500), place=builders.place(temperature_c=26)
    )
    advice = advise_seeds(situation)
    assert advice is not None
    assert advice.facts["seeds_g"] == pytest.approx(0.51, abs=0.01)


def test_p06_a_refused_plant_is_changed() -> None:
    # Leaf-cutters drop a plant that harmed the fungus for nine weeks and more: Herz et al. 2008.
    log = tuple(
        LogEntry(day=DAY - timedelta(days=days), duty=Duty.LEAVES, outcome=Outcome.REFUSED, food="bramble-leaves")
        for days in (2, 1)
    )
    advice = advise_leaves(builders.situation(profile=LEAF_CUTTER, colony=builders.colony(log=log)))
    assert advice is not None
    assert "another" in advice.reason


def test_p07_the_genus_decides_the_diet() -> None:
    # Common practice, no source.
    generalist = builders.situation(profile=_profile(guilds=(Guild.GENERALIST,)), done=FED)
    harvester = builders.situation(profile=HARVESTER, done=FED)
    assert (advise_seeds(generalist) is None, advise_seeds(harvester) is None) == (True, False)


def test_p09_one_small_colony_lives_off_a_catch_every_few_days() -> None:
    # Common practice, no source.
    advice = _protein(colony=builders.colony(workers=30), done=FED)
    assert 2 <= advice.interval_days <= 5


def test_p13_food_grows_with_the_colony() -> None:
    # Common practice, no source.
    def weekly(workers: int) -> float:
        situation = builders.situation(colony=builders.colony(workers=workers), done=FED)
        advice = advise_protein(situation)
        assert advice is not None
        pieces = advice.facts["pieces"]
        item = situation.handbook.foods[str(advice.facts["food"])].item_g
        assert isinstance(pieces, float)
        assert item is not None
        return pieces * item * 7 / advice.interval_days

    assert weekly(20) < weekly(200) < weekly(2000) < weekly(20_000)


def test_p24_and_rule_01_food_stops_in_deep_rest_but_water_never_does() -> None:
    # Common practice; species outlast weeks to months unfed (Rueppell & Kirkman 2005), not a few days dry.
    for phase in Phase:
        assert advise_water(builders.situation(phase=phase)) is not None
    resting = builders.situation(phase=Phase.REST)
    assert [adviser(resting) for adviser in FEEDING_ADVISERS] == [None] * 4


def test_p24_a_fed_colony_bears_the_longest_interval() -> None:
    # Common practice: four to seven days without food at 20 to 24 C do no visible harm; common practice, no source.
    assert _sugar(place=builders.place(temperature_c=22), done=FED).interval_days <= 7


def test_p25_a_cool_rest_takes_little_food() -> None:
    # Common practice, no source.
    cool = builders.rest_plan(Phase.REST, temperature_c=Band(12, 16))
    advice = _sugar(rest=cool)
    assert advice.interval_days >= 14
    assert "taste" in advice.reason
    assert advise_protein(builders.situation(rest=cool)) is None


@pytest.mark.parametrize("workers", [1, 80, 5000])
def test_rule_03_protein_is_zero_in_rest(workers: int) -> None:
    colony = builders.colony(workers=workers, brood=Brood(level=Amount.MANY, larvae=True))
    assert advise_protein(builders.situation(phase=Phase.REST, colony=colony)) is None


@pytest.mark.parametrize("guild", Guild)
def test_rule_04_protein_is_never_planned_alone_without_larvae(guild: Guild) -> None:
    colony = builders.colony(brood=Brood(level=Amount.NONE))
    situation = builders.situation(colony=colony, profile=_profile(guilds=(guild,)))
    if advise_protein(situation) is not None:
        assert advise_sugar(situation) is not None


@pytest.mark.parametrize(("temperature", "says"), [(5, "plan its rest"), (38, "cool the nest")])
def test_rule_07_outside_10_to_36_degrees_no_amount_is_named(temperature: float, says: str) -> None:
    # Engineering judgement.
    place = builders.place(temperature_c=temperature)
    for advice in (_sugar(place=place), _protein(place=place)):
        assert says in advice.reason
        assert not {"amount", "pieces", "sugar_drops"} & set(advice.facts)
        assert "ESTIMATE" not in advice.cautions


def test_rule_08_unknown_size_names_no_amount_and_an_estimated_one_is_marked() -> None:
    unknown = _sugar(profile=_profile(worker_mg=None, worker_mm=None), done=FED)
    assert "sugar_drops" not in unknown.facts
    estimated = _sugar(profile=_profile(worker_mg=None), done=FED)
    assert any(found.defaulted and found.label == "mass of a worker" for found in estimated.why.inputs)


def test_rule_09_cautions_of_every_feeding() -> None:
    assert {"SUGAR-FRESH", "SUGAR-DROWN", "ESTIMATE"} <= set(_sugar(done=FED).cautions)
    assert {"PREY-POISON", "PREY-FUNGUS", "ESTIMATE"} <= set(_protein(done=FED).cautions)
    assert "PREY-LIVE" in _protein(profile=_profile(guilds=(Guild.PREDATOR,)), done=FED).cautions


def test_value_21_on_the_second_day_after_waking_sugar_only_protein_by_the_fifth() -> None:
    # Common practice, no source.
    def at(phase_day: int) -> Situation:
        plan = builders.rest_plan(Phase.RESUME)  # begun ten days before DAY
        day = DAY - timedelta(days=10 - phase_day)
        log = (LogEntry(day=day - timedelta(days=1), duty=Duty.SUGAR, outcome=Outcome.TAKEN),)
        done = {duty: DAY - timedelta(days=150) for duty in (Duty.SUGAR, Duty.PROTEIN)}
        return builders.situation(day=day, rest=plan, colony=builders.colony(log=log), done=done)

    def is_due(adviser: Callable[[Situation], Advice | None], situation: Situation) -> bool:
        advice = adviser(situation)
        assert advice is not None
        return situation.done[advice.duty] + timedelta(days=advice.interval_days) <= situation.day

    assert (is_due(advise_sugar, at(0)), is_due(advise_protein, at(0))) == (False, False)
    assert (is_due(advise_sugar, at(2)), is_due(advise_protein, at(2))) == (True, False)
    assert (is_due(advise_sugar, at(5)), is_due(advise_protein, at(5))) == (True, True)


def test_a_duty_that_waits_cannot_be_pulled_forward() -> None:
    plan = builders.rest_plan(Phase.RESUME)
    day = DAY - timedelta(days=10)
    done = {Duty.SUGAR: day - timedelta(days=100), Duty.PROTEIN: day - timedelta(days=100)}
    advice = _protein(day=day, rest=plan, done=done, colony=builders.colony(log=()))
    assert advice.interval_days == 104
    assert advice.band_days.low == 104


def _ramp(phase: Phase, *, begun: int, temperature: Band) -> RestPlan:
    """Thirty days of a ramp that began some days before DAY."""
    span = PhaseSpan(phase, DAY - timedelta(days=begun), DAY + timedelta(days=30 - begun), temperature)
    return replace(builders.rest_plan(phase), phases=(span,))


def test_a_cool_down_stops_feeding_before_it_is_too_cold_to_eat() -> None:
    # Common practice: nothing at or below 12 C. Derived: 24 to 6 C in 30 days passes 12 C on day 20.
    def sugar(begun: int) -> Advice | None:
        plan = _ramp(Phase.COOL_DOWN, begun=begun, temperature=Band(6, 24))
        return advise_sugar(builders.situation(rest=plan, done={Duty.SUGAR: DAY}))

    early = sugar(3)
    assert early is not None
    assert early.interval_days < 14
    assert sugar(15) is None
    assert sugar(25) is None


def test_a_warm_up_waits_with_sugar_until_it_is_warm_enough_to_eat() -> None:
    # Derived: 6 to 24 C in 30 days passes 12 C after day 10.
    plan = _ramp(Phase.WARM_UP, begun=0, temperature=Band(6, 24))
    done = {Duty.SUGAR: DAY - timedelta(days=120)}
    advice = _sugar(rest=plan, done=done)
    assert done[Duty.SUGAR] + timedelta(days=advice.interval_days) == DAY + timedelta(days=11)
    assert advise_sugar(builders.situation(rest=_ramp(Phase.WARM_UP, begun=0, temperature=Band(4, 10)))) is None


def test_sugar_and_protein_of_one_pace_come_to_share_a_visit() -> None:
    apart = {Duty.SUGAR: YESTERDAY, Duty.PROTEIN: DAY}
    advice = _protein(done=apart)
    assert advice.interval_days == 2
    assert advice.facts["interval_days"] == 3
    assert _protein(done={Duty.SUGAR: DAY, Duty.PROTEIN: DAY}).interval_days == 3


def test_after_a_move_only_water_and_sugar_for_some_days() -> None:
    # Common practice, no source.
    moved = builders.colony(nest=builders.nest(changed=YESTERDAY))
    assert _sugar(colony=moved, done=FED).interval_days == 3
    assert _protein(colony=moved, done=FED).interval_days == 3
    old = {Duty.SUGAR: YESTERDAY, Duty.PROTEIN: DAY - timedelta(days=9)}
    assert _protein(colony=moved, done=old).interval_days == 11
    assert _protein(colony=builders.colony(arrived=DAY)).first_after_days == 3


def test_walled_in_queens_get_water_alone() -> None:
    # Laboratories feed no Lasius niger queen before her first workers.
    queen = builders.situation(colony=builders.colony(workers=0))
    assert [adviser(queen) for adviser in FEEDING_ADVISERS] == [None] * 4


def test_foraging_queens_are_fed_and_left_in_peace() -> None:
    # Johnson 2002.
    profile = _profile(founding=(Founding.SEMI_CLAUSTRAL,))
    colony = builders.colony(workers=0)
    assert "peace" in _sugar(colony=colony, profile=profile).reason
    advice = _protein(colony=colony, profile=profile)
    assert "pinhead" in advice.reason
    assert "FOUNDING-QUIET" in advice.cautions
    assert "pieces" not in advice.facts


def test_an_unknown_way_of_founding_is_asked_for_and_widens_the_band() -> None:
    profile = _profile(founding=(Founding.CLAUSTRAL, Founding.SEMI_CLAUSTRAL))
    advice = _sugar(colony=builders.colony(workers=0), profile=profile)
    assert "Which is yours?" in advice.reason
    assert advice.band_days == Band(3, 14)


def test_a_parasitic_queen_needs_workers() -> None:
    colony, profile = builders.colony(workers=0), _profile(founding=(Founding.PARASITIC,))
    assert "workers beside her" in _sugar(colony=colony, profile=profile).reason
    assert advise_protein(builders.situation(colony=colony, profile=profile)) is None
    assert "Protein feeds" in _protein(colony=builders.colony(workers=20), profile=profile, done=FED).reason


def test_an_empty_nest_is_not_fed() -> None:
    empty = builders.situation(colony=builders.colony(workers=0, queens=0))
    assert [adviser(empty) for adviser in FEEDING_ADVISERS] == [None] * 4


def test_a_heated_nest_is_taken_halfway_between_both_ends_and_said_in_the_keepers_scale() -> None:
    keeper = builders.keeper(units=Units.FAHRENHEIT)
    advice = _sugar(keeper=keeper, done=FED)
    assert "75 °F" in advice.reason
    assert nest_c(builders.situation()) == 24


def test_a_defaulted_room_is_marked() -> None:
    advice = _sugar(place=builders.place(temperature_c=None), done=FED)
    assert any(found.defaulted and found.label == "nest temperature" for found in advice.why.inputs)


SITUATIONS = st.builds(
    lambda workers, queens, level, larvae, guild, founding, phase, temperature, room, days, size: builders.situation(
        colony=builders.colony(workers=workers, queens=queens, brood=Brood(level=level, larvae=larvae)),
        profile=_profile(guilds=(guild,), founding=founding, worker_mg=size, pace=None),
        rest=builders.rest_plan(phase, temperature_c=temperature),
        place=builders.place(temperature_c=room),
        done={duty: DAY - timedelta(days=ago) for duty, ago in days.items()},
    ),
    workers=st.integers(0, 20_000_000),
    queens=st.integers(0, 3),
    level=st.none() | st.sampled_from(Amount),
    larvae=st.none() | st.booleans(),
    guild=st.sampled_from(Guild),
    founding=st.sampled_from([(), (Founding.CLAUSTRAL,), (Founding.SEMI_CLAUSTRAL,), tuple(Founding)]),
    phase=st.sampled_from(Phase),
    temperature=st.none() | st.floats(-5, 30).map(lambda low: Band(low, low + 4)),
    room=st.none() | st.floats(-20, 45),
    days=st.dictionaries(st.sampled_from([Duty.SUGAR, Duty.PROTEIN, Duty.SEEDS, Duty.LEAVES]), st.integers(0, 300)),
    size=st.none() | st.floats(0.05, 60),
)


@given(SITUATIONS)
def test_advice_is_always_sound(situation: Situation) -> None:
    for adviser in (*FEEDING_ADVISERS, leftovers.advise_leftovers, growth.advise_space, growth.advise_census):
        advice = adviser(situation)
        if advice is None:
            continue
        assert advice.interval_days >= 1
        assert advice.first_after_days >= 0
        assert advice.interval_days in advice.band_days or advice.duty is Duty.LEFTOVERS
        assert all(math.isfinite(value) and value >= 0 for value in advice.facts.values() if not isinstance(value, str))


@given(SITUATIONS)
def test_deep_rest_takes_no_food_whatever_the_colony(situation: Situation) -> None:
    if situation.phase is Phase.REST and situation.room_c <= 12:
        assert [adviser(situation) for adviser in FEEDING_ADVISERS] == [None] * 4


@given(SITUATIONS)
def test_rule_06_a_feeding_never_exceeds_five_times_the_need(situation: Situation) -> None:
    who, advice = eaters(situation), advise_protein(situation)
    if who is None or advice is None or "pieces" not in advice.facts:
        return
    food = situation.handbook.foods[str(advice.facts["food"])]
    pieces, days = advice.facts["pieces"], advice.facts["interval_days"]
    assert isinstance(pieces, float)
    assert isinstance(days, int)
    assert food.item_g is not None
    need = who.weekly_prey_g(composition_of(food)) * days / 7
    assert pieces * food.item_g <= max(0.001, 5 * need) * 1.02  # facts are rounded


def test_every_caution_and_source_named_here_stands_in_config() -> None:
    cautions = {key for path in (CONFIG / "cautions").glob("*.toml") for key in tomllib.loads(path.read_text("utf-8"))}
    sources = {key for path in (CONFIG / "sources").glob("*.toml") for key in tomllib.loads(path.read_text("utf-8"))}
    seen: list[Advice | None] = []
    for phase in Phase:
        for profile in (builders.profile(), HARVESTER, LEAF_CUTTER, _profile(guilds=(Guild.PREDATOR,))):
            for workers, brood in ((0, Brood()), (900, Brood(level=Amount.NONE))):
                colony = builders.colony(workers=workers, brood=brood)
                situation = builders.situation(phase=phase, profile=profile, colony=colony, done={Duty.SUGAR: DAY})
                advisers = (*FEEDING_ADVISERS, leftovers.advise_leftovers, growth.advise_space, growth.advise_census)
                seen += [adviser(situation) for adviser in advisers]
    found = [advice for advice in seen if advice is not None]
    assert len(found) > 20
    assert {name for advice in found for name in advice.cautions} <= cautions
    assert {name for advice in found for name in advice.why.evidence.sources} <= sources
