"""Counts and their trend, room in the nest, and first workers."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Colony, LogEntry, NestKind, Outworld, Stage
from bot.care.duty import Duty, Outcome, Urgency
from bot.care.growth.advice import advise_census, advise_space, room_of, tube_cm3, worker_cm3
from bot.care.growth.first_workers import brood_days, expected_first_workers
from bot.care.growth.trend import Direction, counts_of, trend
from bot.care.phase import Phase
from bot.care.situation import Advice
from bot.care.species import Development
from bot.care.units import Band
from tests.care import builders

DAY = builders.DAY
ARGENTINE = Development(threshold_c=15.9, degree_days=445, spread=0.3)
"""Linepithema humile, Hartley & Lester 2003."""
GARDEN_ANT = Development(threshold_c=12, degree_days=520, spread=0.2)
"""Lasius niger, derived in the project's dossier from 40 days at 25 C."""


def _count(days_ago: int, workers: int) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=days_ago), duty=Duty.CENSUS, outcome=Outcome.DONE, count=workers)


def _space(**changes: object) -> Advice | None:
    return advise_space(builders.situation(colony=builders.colony(**changes)))


@pytest.mark.parametrize(("temperature", "days"), [(20, 108.5), (26, 44.1), (30, 31.6)])
def test_brood_of_argentine_ants_by_degree_days(temperature: float, days: float) -> None:
    # Derived from 445 degree-days above 15.9 C (Hartley & Lester 2003).
    band = brood_days(temperature, builders.profile(development=ARGENTINE))
    assert band is not None
    assert band.middle == pytest.approx(days, abs=0.1)


def test_first_workers_of_garden_ants_after_about_forty_days() -> None:
    # About 40 days at 25 C and 43 to 51 at 21 to 24 C were published for Lasius niger (second hand).
    found = expected_first_workers(date(2027, 5, 1), 25, builders.profile(development=GARDEN_ANT))
    assert found.expected == date(2027, 6, 10)
    assert (found.earliest, found.latest) == (date(2027, 6, 2), date(2027, 6, 18))
    assert "estimate" in found.sentence
    cooler = brood_days(22.5, builders.profile(development=GARDEN_ANT))
    assert cooler is not None
    assert 43 in cooler
    assert 51 in cooler


@pytest.mark.parametrize(
    ("development", "temperature", "says"),
    [(None, 25, "no figure"), (GARDEN_ANT, 12, "warmer"), (GARDEN_ANT, 12.5, "warmer"), (GARDEN_ANT, 36, "cooler")],
)
def test_no_date_is_named_where_none_can_be_known(
    development: Development | None, temperature: float, says: str
) -> None:
    found = expected_first_workers(DAY, temperature, builders.profile(development=development))
    assert (found.earliest, found.expected, found.latest) == (None, None, None)
    assert says in found.sentence


def test_a_doubling_in_ten_weeks_is_growth() -> None:
    # Derived: ln 2 / 10 weeks = 7.18 % a week.
    found = trend(counts_of([_count(70, 199), _count(35, 282), _count(0, 399)]))
    assert found.direction is Direction.GROWING
    assert found.percent_per_week == pytest.approx(7.18, abs=0.1)
    assert found.percent_per_week in found.band


def test_two_counts_a_week_apart_claim_nothing() -> None:
    assert trend(counts_of([_count(7, 100), _count(0, 120)])).direction is Direction.STEADY
    assert trend(counts_of([_count(0, 120)])).direction is Direction.UNKNOWN
    assert trend(counts_of([_count(70, 400), _count(0, 100)])).direction is Direction.SHRINKING


@given(
    counts=st.dictionaries(st.integers(0, 300), st.integers(0, 20_000_000), max_size=8).flatmap(
        lambda found: st.permutations(list(found.items()))
    )
)
def test_the_trend_does_not_depend_on_the_order_of_the_log(counts: list[tuple[int, int]]) -> None:
    entries = [_count(days, workers) for days, workers in counts]
    assert trend(counts_of(entries)) == trend(counts_of(sorted(entries, key=lambda entry: entry.day)))


def test_census_is_monthly_while_active_and_never_while_founding_or_resting() -> None:
    advice = advise_census(builders.situation())
    assert advice is not None
    assert advice.interval_days == 30
    assert advise_census(builders.situation(colony=builders.colony(workers=0))) is None
    assert advise_census(builders.situation(colony=builders.colony(queens=0, workers=0, stage=Stage.GROWING))) is None
    for phase in set(Phase) - {Phase.ACTIVE}:
        assert advise_census(builders.situation(phase=phase)) is None


def test_the_first_census_waits_two_weeks_from_a_day_that_stays() -> None:
    def wait(colony: Colony) -> float:
        advice = advise_census(builders.situation(colony=colony))
        assert advice is not None
        return advice.first_after_days

    assert wait(builders.colony(arrived=DAY)) == 14
    assert wait(builders.colony(arrived=DAY - timedelta(days=10))) == 4
    assert wait(builders.colony(arrived=DAY - timedelta(days=40))) == 0
    assert wait(builders.colony(arrived=None, log=(_count(12, 40),))) == 2
    assert wait(builders.colony(arrived=None)) == 14


def test_census_shows_the_trend() -> None:
    log = tuple(_count(days, workers) for days, workers in ((70, 40), (35, 56), (0, 80)))
    advice = advise_census(builders.situation(colony=builders.colony(log=log)))
    assert advice is not None
    assert advice.facts["trend"] == "growing"


def test_a_tube_holds_about_twelve_millilitres() -> None:
    # Derived: pi * 8 mm squared * 60 mm.
    assert tube_cm3(None) == pytest.approx(12.06, abs=0.01)
    assert tube_cm3(12) == pytest.approx(6.79, abs=0.01)


def test_p10_the_filling_tube_gets_an_outworld() -> None:
    # Common practice, no source; the share is judgement.
    tube = builders.nest(kind=NestKind.TUBE, volume_cm3=None)
    advice = _space(workers=40, nest=tube, outworld=None)
    assert advice is not None
    assert advice.facts["next_space"] == "outworld"
    assert advice.urgency is Urgency.SOON
    assert _space(workers=10, nest=tube, outworld=None) is None


def test_p13_more_tubes_serve_as_more_chambers() -> None:
    # Common practice, no source.
    tube = builders.nest(kind=NestKind.TUBE, volume_cm3=None)
    advice = _space(workers=62, nest=tube, outworld=Outworld())
    assert advice is not None
    assert advice.facts["next_space"] == "tube"
    assert _space(workers=40, nest=tube, outworld=Outworld()) is None


def test_p14_several_full_tubes_lead_to_a_nest() -> None:
    # Common practice, no source.
    tubes = builders.nest(kind=NestKind.TUBE, volume_cm3=36)
    advice = _space(workers=185, nest=tubes, outworld=Outworld())
    assert advice is not None
    assert advice.facts["next_space"] == "nest"


def test_p17_a_nest_much_too_large_is_closed_off_in_part() -> None:
    # Common practice, no source; the tenth is judgement.
    advice = _space(workers=50, nest=builders.nest(volume_cm3=400))
    assert advice is not None
    assert advice.facts["next_space"] == "less"
    assert "SPACE-LARGE" in advice.cautions
    assert _space(workers=50, nest=builders.nest(kind=NestKind.NATURALISTIC, volume_cm3=4000)) is None


def test_p18_they_move_by_themselves_from_light_and_dry_to_dark_and_moist() -> None:
    # Common practice, no source.
    advice = _space(workers=1050)
    assert advice is not None
    assert advice.facts["next_space"] == "nest"
    for word in ("dark", "moist", "light", "by themselves", "months"):
        assert word in advice.reason
    assert "STRESS-MOVE" in advice.cautions


def test_room_is_prepared_ahead_of_a_growing_colony() -> None:
    log = tuple(_count(days, workers) for days, workers in ((70, 420), (35, 590), (0, 840)))
    assert _space(workers=840) is None
    assert _space(workers=840, log=log) is not None


def test_small_ants_need_little_room_and_most_workers_of_a_mixed_colony_are_small() -> None:
    # Derived from the rule (judgement): 4 mm on 16 mm2, a centimetre high; 3 to 14 mm count as 6.3 mm.
    assert worker_cm3(Band(3, 5)) == pytest.approx(0.16)
    assert worker_cm3(Band(2, 3)) == pytest.approx(2.5**2 * 7.5 / 1000)
    assert worker_cm3(Band(3, 14)) == pytest.approx(6.3**2 * 10 / 1000)


def test_unknown_sizes_lead_to_a_look_not_to_a_guess() -> None:
    situation = builders.situation(profile=builders.profile(worker_mm=None))
    advice = advise_space(situation)
    assert advice is not None
    assert advice.facts["next_space"] == "look"
    assert "filled_percent" not in advice.facts
    assert room_of(situation.colony, situation.profile).share is None


def test_space_leaves_founding_and_resting_colonies_alone() -> None:
    assert _space(workers=0) is None
    assert advise_space(builders.situation(colony=builders.colony(workers=900), phase=Phase.REST)) is None


@given(workers=st.integers(0, 20_000_000), volume=st.none() | st.floats(0.1, 1e6), low=st.floats(0.5, 10))
def test_space_never_fails(workers: int, volume: float | None, low: float) -> None:
    profile = builders.profile(worker_mm=Band(low, low * 2))
    colony = builders.colony(workers=workers, nest=builders.nest(volume_cm3=volume))
    advice = advise_space(builders.situation(colony=colony, profile=profile))
    assert advice is None or advice.interval_days >= 1
