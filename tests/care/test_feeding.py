"""The rhythm of feeding: table, temperature, phases, founding; and what the log teaches."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Colony, LogEntry, Stage
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.care.feeding.portions import most_g, offer_g, prey_portion, prey_that_fit, sugar_portion, worker_mass
from bot.care.feeding.rhythm import (
    Conditions,
    Rhythm,
    leaf_days,
    protein_from_day,
    protein_rhythm,
    sugar_from_day,
    sugar_rhythm,
    temperature_multiplier,
    whole_days,
)
from bot.care.feeding.tastes import feedback_factor, feeding_outcomes, next_food, too_long_the_same
from bot.care.growth.founding import FoundingCare, founding_care, founding_question
from bot.care.phase import Phase
from bot.care.species import Founding, Guild
from bot.care.units import Band
from tests.care import builders

DAY = builders.DAY


def _days(rhythm: Rhythm | None) -> int | None:
    return None if rhythm is None else rhythm.days


@pytest.mark.parametrize(
    ("temperature", "multiplier"),
    [(12, 2.147), (15, 1.8), (18, 1.509), (20, 1.342), (25, 1), (30, 0.745), (35, 0.6), (-20, 2.5)],
)
def test_value_16_temperature_multiplier(temperature: float, multiplier: float) -> None:
    # Derived from Q10 1.8 (Lighton 1988), clamped by judgement to 0.6..2.5.
    assert temperature_multiplier(temperature) == pytest.approx(multiplier, abs=0.001)


def test_value_16_a_hundred_workers_with_larvae_at_twenty_degrees() -> None:
    # 3 days x 1.342 = 4.03.
    assert _days(protein_rhythm(Conditions(workers=100, temperature_c=20, larvae=True))) == 4


@pytest.mark.parametrize(
    ("workers", "larvae", "no_larvae", "sugar"),
    [(1, 4, 7, 4), (10, 4, 7, 4), (11, 3, 7, 3), (51, 3, 6, 3), (201, 2, 5, 2), (1001, 2, 4, 3), (5001, 1, 3, 3)],
)
def test_table_at_25_degrees(workers: int, larvae: int, no_larvae: int, sugar: int) -> None:
    # Common practice, bracketed by published laboratory routines; above 1000 workers sugar is always there, in a
    # closed feeder that is washed on the third day.
    at = Conditions(workers=workers, temperature_c=25)
    assert _days(protein_rhythm(Conditions(workers=workers, temperature_c=25, larvae=True))) == larvae
    assert _days(protein_rhythm(Conditions(workers=workers, temperature_c=25, larvae=False))) == no_larvae
    assert _days(sugar_rhythm(at)) == sugar


def test_unknown_larvae_widen_the_band_to_the_other_column() -> None:
    rhythm = protein_rhythm(Conditions(workers=100, temperature_c=25))
    assert rhythm is not None
    assert rhythm.days == 3
    assert 6 in rhythm.band


@pytest.mark.parametrize(("days", "whole"), [(0.2, 1), (1.5, 1), (2.5, 2), (2.6, 3), (4.03, 4)])
def test_whole_days_round_halves_down_and_start_at_one(days: float, whole: int) -> None:
    assert whole_days(days) == whole


def test_value_21_deep_rest_takes_no_food_even_with_larvae() -> None:
    # Common practice, no source.
    at = Conditions(workers=100, phase=Phase.REST, temperature_c=8, larvae=True)
    assert sugar_rhythm(at) is None
    assert protein_rhythm(at) is None


def test_value_21_waking_begins_with_water_then_sugar_then_protein() -> None:
    # Common practice, no source: water on day 0, sugar from day 1, protein from day 4 to 7.
    larvae = Conditions(workers=100, phase=Phase.RESUME, temperature_c=20, larvae=True)
    foraging = Conditions(workers=100, phase=Phase.RESUME, temperature_c=20, larvae=False, foraging=True)
    still = Conditions(workers=100, phase=Phase.RESUME, temperature_c=20, larvae=False)
    assert sugar_from_day(larvae) == 1
    assert (protein_from_day(larvae), protein_from_day(foraging), protein_from_day(still)) == (4, 4, 7)


@pytest.mark.parametrize("phase", [Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP])
def test_a_cool_rest_takes_a_taste_of_sugar_every_two_to_three_weeks(phase: Phase) -> None:
    # Common practice, no source.
    at = Conditions(workers=100, phase=phase, temperature_c=14, larvae=True)
    rhythm = sugar_rhythm(at)
    assert rhythm is not None
    assert rhythm.tiny
    assert rhythm.band == Band(14, 21)
    assert protein_rhythm(at) is None


def test_wind_down_halves_protein_and_stops_it_without_larvae_or_in_the_cool() -> None:
    # Common practice, no source.
    warm = Conditions(workers=100, phase=Phase.WIND_DOWN, temperature_c=25, larvae=True)
    assert _days(protein_rhythm(warm)) == 6
    assert _days(sugar_rhythm(warm)) == 3
    assert protein_rhythm(Conditions(workers=100, phase=Phase.WIND_DOWN, temperature_c=25, larvae=False)) is None
    assert protein_rhythm(Conditions(workers=100, phase=Phase.WIND_DOWN, temperature_c=14, larvae=True)) is None


def test_p06_rhythm_follows_the_diet() -> None:
    # Common practice, no source: harvesters rarer, hunters more often, fungus farmers neither.
    def protein(guild: Guild) -> int | None:
        return _days(protein_rhythm(Conditions(workers=100, temperature_c=25, larvae=True, guild=guild)))

    assert protein(Guild.GENERALIST) == 3
    assert protein(Guild.SEEDS) == 5
    assert protein(Guild.PREDATOR) == 2
    assert protein(Guild.LEAVES) is None
    assert _days(sugar_rhythm(Conditions(workers=100, guild=Guild.PREDATOR))) == 7
    assert sugar_rhythm(Conditions(workers=100, guild=Guild.FUNGUS)) is None
    assert (leaf_days(100).days, leaf_days(5000).days, leaf_days(5000).band.high) == (1, 2, 2)


def _queen(founding: str | None = None) -> Colony:
    return builders.colony(workers=0, founding=founding, stage=None)


@pytest.mark.parametrize(
    ("told", "modes", "care"),
    [
        (None, (Founding.CLAUSTRAL,), FoundingCare.WATER_ONLY),
        (None, (Founding.SEMI_CLAUSTRAL,), FoundingCare.FED),
        (None, (Founding.CLAUSTRAL, Founding.SEMI_CLAUSTRAL), FoundingCare.FED_AND_ASKED),
        ("claustral", (Founding.CLAUSTRAL, Founding.SEMI_CLAUSTRAL), FoundingCare.WATER_ONLY),
        (None, (Founding.CLAUSTRAL, Founding.BUDDING), FoundingCare.WATER_ONLY),
        (None, (Founding.PARASITIC,), FoundingCare.NEEDS_WORKERS),
        (None, (), FoundingCare.FED_AND_ASKED),
    ],
)
def test_founding_queens(told: str | None, modes: tuple[Founding, ...], care: FoundingCare) -> None:
    # Lasius niger queens found unfed in laboratories; Pogonomyrmex californicus must forage (Johnson 2002).
    assert founding_care(_queen(told), builders.profile(founding=modes)) is care


def test_a_genus_that_founds_in_several_ways_is_asked_about() -> None:
    several = builders.profile(founding=(Founding.CLAUSTRAL, Founding.SEMI_CLAUSTRAL))
    assert "Which is yours?" in (founding_question(_queen(), several) or "")
    assert founding_question(_queen("claustral"), several) is None
    assert "do not know" in (founding_question(_queen(), builders.profile(founding=())) or "")
    assert founding_question(builders.colony(), several) is None


def test_an_unknown_way_of_founding_is_refused() -> None:
    with pytest.raises(BadValueError, match="no way of founding"):
        founding_care(_queen("by parachute"), builders.profile())


def test_semi_claustral_queens_are_fed_every_few_days() -> None:
    # Common practice; fed queens lost half as much mass and raised more workers (Johnson 2002, 2004).
    at = Conditions(workers=0, founding=FoundingCare.FED, temperature_c=25, larvae=True)
    sugar, protein = sugar_rhythm(at), protein_rhythm(at)
    assert sugar is not None
    assert protein is not None
    assert sugar.days == protein.days == 3
    assert 4 in sugar.band


@pytest.mark.parametrize(
    ("outcomes", "factor"),
    [
        ([], 1),
        ([Outcome.REFUSED], 1),
        ([Outcome.REFUSED, Outcome.HALF_TAKEN], 0.75),
        ([Outcome.HALF_TAKEN, Outcome.TAKEN, Outcome.HALF_TAKEN], 1),
        ([Outcome.GONE_QUICKLY] * 2, 1.25),
        ([Outcome.REFUSED] * 4, 0.5625),
        ([Outcome.REFUSED] * 40, 0.25),
        ([Outcome.GONE_QUICKLY] * 40, 4),
    ],
)
def test_feedback_of_a_quarter_after_two_in_a_row(outcomes: list[Outcome], factor: float) -> None:
    # Engineering judgement, clamped to 0.25..4.
    assert feedback_factor(outcomes) == pytest.approx(factor)


def _fed(days_ago: int, food: str | None, outcome: Outcome = Outcome.DONE, duty: Duty = Duty.PROTEIN) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=days_ago), duty=duty, outcome=outcome, food=food)


def test_outcomes_of_leftovers_belong_to_the_feeding_before() -> None:
    log = [
        _fed(6, "mealworm"),
        _fed(5, None, Outcome.HALF_TAKEN, Duty.LEFTOVERS),
        _fed(4, None, Outcome.DONE, Duty.SUGAR),
        _fed(3, None, Outcome.TAKEN, Duty.LEFTOVERS),
        _fed(2, "mealworm", Outcome.REFUSED),
    ]
    assert feeding_outcomes(log, Duty.PROTEIN) == (Outcome.HALF_TAKEN, Outcome.REFUSED)
    assert feeding_outcomes(log, Duty.SUGAR) == (Outcome.TAKEN,)


@given(st.permutations(range(6)))
def test_what_the_log_teaches_does_not_depend_on_its_order(order: list[int]) -> None:
    log = [
        _fed(days, "mealworm" if days % 2 else "cricket", Outcome.REFUSED if days < 4 else Outcome.TAKEN)
        for days in range(6)
    ]
    shuffled = [log[index] for index in order]
    foods = builders.FOODS[2:5]
    assert next_food(foods, shuffled, DAY) == next_food(foods, log, DAY)
    assert feeding_outcomes(shuffled, Duty.PROTEIN) == feeding_outcomes(log, Duty.PROTEIN)
    assert too_long_the_same(shuffled, Duty.PROTEIN, DAY) == too_long_the_same(log, Duty.PROTEIN, DAY)


def test_p05_foods_take_turns_and_refused_ones_rest() -> None:
    # Common practice; alternation and refusal of a food given for weeks: Edwards & Abraham 1990.
    fly, mealworm, cricket = builders.FOODS[2:5]
    prey = [fly, mealworm, cricket]
    assert next_food(prey, [], DAY) == fly
    assert next_food(prey, [_fed(1, "fruit-fly", Outcome.TAKEN)], DAY) == mealworm
    eaten = [_fed(9, "cricket", Outcome.TAKEN), _fed(6, "mealworm", Outcome.TAKEN), _fed(3, "fruit-fly")]
    assert next_food(prey, eaten, DAY) == cricket
    refused = [*eaten, _fed(2, "cricket", Outcome.REFUSED), _fed(1, "cricket", Outcome.REFUSED)]
    assert next_food(prey, refused, DAY) == mealworm
    assert next_food([], eaten, DAY) is None


def test_p05_ants_of_one_prey_keep_it() -> None:
    # Common practice, no source.
    fly, mealworm = builders.FOODS[2:4]
    log = [_fed(5, "mealworm", Outcome.TAKEN), _fed(2, "mealworm", Outcome.TAKEN)]
    assert next_food([fly, mealworm], log, DAY, rotate=False) == mealworm


def test_p05_three_weeks_of_one_prey_are_enough() -> None:
    # Common practice, no source.
    log = [_fed(days, "mealworm") for days in range(1, 25, 3)]
    assert too_long_the_same(log, Duty.PROTEIN, DAY)
    assert not too_long_the_same([*log, _fed(0, "cricket")], Duty.PROTEIN, DAY)
    assert not too_long_the_same([], Duty.PROTEIN, DAY)


def test_value_09_small_colonies_are_offered_pieces_they_can_carry() -> None:
    # A hundred Temnothorax want about 11 fruit flies, or a fortieth of a cricket, a week (derived).
    fly, _, cricket = builders.FOODS[2:5]
    grams = offer_g(0.0107, 4)
    most = most_g(0.0107, 4)
    flies = prey_portion(grams, most, fly.item_g or 0, 0.5)
    crumb = prey_portion(grams, most, cricket.item_g or 0, 0.5)
    assert flies.count == 10
    assert flies.words == "about 10 (5–15)"
    assert crumb.count < 0.125
    assert "crumb" in crumb.words
    assert prey_that_fit(builders.FOODS[2:5], grams) == (fly,)


@pytest.mark.parametrize(
    ("grams", "count", "words"),
    [(0.02, 0.125, "an eighth"), (0.07, 0.25, "a quarter"), (0.14, 0.5, "half"), (0.29, 1, "one"), (0.9, 3, "about 3")],
)
def test_pieces_are_what_a_keeper_can_cut(grams: float, count: float, words: str) -> None:
    portion = prey_portion(grams, 5 * grams, 0.3, 0.25)
    assert portion.count == count
    assert portion.words.startswith(words)


def test_drops_are_said_as_seen() -> None:
    assert "pinhead" in sugar_portion(0.01, 0.5).words
    assert sugar_portion(0.05, 0.5).words == "one drop"
    assert sugar_portion(0.25, 0.5).words == "about 5 drops (2–8)"
    assert sugar_portion(2, 0.5).words == "about 2 ml"


def test_rule_08_an_unknown_mass_is_estimated_and_doubted_by_half() -> None:
    known = worker_mass(builders.profile(worker_mg=2.0, pace=0.6))
    genus = worker_mass(builders.profile(worker_mg=2.0, pace=0.6, rank="genus"))
    estimated = worker_mass(builders.profile(worker_mg=None, worker_mm=Band(3, 5)))
    assert known is not None
    assert genus is not None
    assert estimated is not None
    assert (known.doubt, genus.doubt, estimated.doubt) == (0.25, 0.5, 0.5)
    assert estimated.estimated
    assert estimated.worker_mg == pytest.approx(2)
    assert worker_mass(builders.profile(worker_mg=None, worker_mm=None)) is None


@given(
    weekly=st.floats(0, 1e6),
    days=st.floats(0.5, 60),
    feedback=st.floats(0.25, 4),
    item=st.floats(0.0005, 1),
    doubt=st.floats(0, 0.5),
)
def test_rule_06_offers_stay_between_a_milligram_and_five_times_the_need(
    *, weekly: float, days: float, feedback: float, item: float, doubt: float
) -> None:
    need = weekly * days / 7
    offer = offer_g(weekly, days, feedback)
    most = max(0.001, 5 * need) * (1 + 1e-9)
    if need == 0:
        assert offer == 0
        return
    assert 0.001 <= offer <= most
    portion = prey_portion(offer, most_g(weekly, days), item, doubt)
    assert 0 < portion.grams <= most
    assert 0 <= portion.band.low <= portion.count <= portion.band.high


@given(
    workers=st.integers(1, 20_000_000),
    phase=st.sampled_from(Phase),
    temperature=st.floats(-20, 45),
    guild=st.sampled_from(Guild),
    founding=st.none() | st.sampled_from(FoundingCare),
    larvae=st.none() | st.booleans(),
)
def test_intervals_are_whole_days_of_at_least_one_and_protein_never_comes_alone(
    *,
    workers: int,
    phase: Phase,
    temperature: float,
    guild: Guild,
    founding: FoundingCare | None,
    larvae: bool | None,
) -> None:
    at = Conditions(
        workers=workers, phase=phase, temperature_c=temperature, guild=guild, founding=founding, larvae=larvae
    )
    sugar, protein = sugar_rhythm(at), protein_rhythm(at)
    for rhythm in (sugar, protein):
        if rhythm is not None:
            assert rhythm.days >= 1
            assert rhythm.days in rhythm.band
    if protein is not None:
        assert sugar is not None
    if phase is Phase.REST:
        assert protein is None


@given(workers=st.integers(1, 1_000_000), temperature=st.floats(10, 36), guild=st.sampled_from(Guild))
def test_protein_falls_without_larvae(workers: int, temperature: float, guild: Guild) -> None:
    def protein(*, larvae: bool) -> Rhythm | None:
        return protein_rhythm(Conditions(workers=workers, temperature_c=temperature, guild=guild, larvae=larvae))

    fed, unfed = protein(larvae=True), protein(larvae=False)
    assert (fed is None) == (unfed is None)
    if fed is not None and unfed is not None:
        assert unfed.days >= fed.days


@given(first=st.integers(1, 20_000), more=st.integers(0, 20_000), temperature=st.floats(10, 36))
def test_a_larger_colony_never_waits_longer(first: int, more: int, temperature: float) -> None:
    small = Conditions(workers=first, temperature_c=temperature, larvae=True)
    large = Conditions(workers=first + more, temperature_c=temperature, larvae=True)
    assert (_days(protein_rhythm(large)) or 0) <= (_days(protein_rhythm(small)) or 0)


def test_a_stage_set_by_hand_ends_founding() -> None:
    colony = builders.colony(workers=0, stage=Stage.FIRST_WORKERS)
    assert founding_care(colony, builders.profile()) is None
