"""Learning from waterings, and the choice of the side: worked examples of the model, derived; no published source."""

from __future__ import annotations

from datetime import timedelta
from math import exp, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Amount, Brood, Colony, LearnedDrying, LogEntry, Nest, Side
from bot.care.duty import Duty, Outcome
from bot.care.water.advice import (
    advise_water,
    after_watering,
    drift,
    forecast_drying,
    learn,
    learned_from_log,
    next_side,
    side_states,
    unsettle,
)
from bot.care.water.log import visits
from bot.care.water.nest import FACTOR
from tests.care.builders import DAY, colony, nest, situation


def watering(days_ago: int, outcome: Outcome = Outcome.DONE, side: Side | None = None) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=days_ago), duty=Duty.WATER, outcome=outcome, side=side)


def watered(*entries: LogEntry, **changes: object) -> Colony:
    return colony(log=entries, brood=Brood(level=Amount.NONE), **changes)


def band(learned: LearnedDrying, model_days: float) -> tuple[float, float, float]:
    middle, spread = model_days / exp(learned.mean), sqrt(learned.variance + 0.25**2)
    return middle * exp(-1.2816 * spread), middle, middle * exp(1.2816 * spread)


def test_one_watering_teaches_as_in_the_worked_example() -> None:
    # C32: mean 0, sd 0.6, model 8 days, dry after 6: m' 0.2146, sd' 0.3023, factor 1.239, next 6.45 d (3.9 to 10.7).
    learned = learn(LearnedDrying(), 8, 6, Outcome.ABOUT_DRY)
    assert learned.mean == pytest.approx(0.2146, abs=0.0001)
    assert sqrt(learned.variance) == pytest.approx(0.3023, abs=0.0001)
    assert exp(learned.mean) == pytest.approx(1.239, abs=0.001)
    assert band(learned, 8) == pytest.approx((3.9, 6.45, 10.7), abs=0.05)


def test_a_second_watering_teaches_less() -> None:
    # C33: then model 8 days, dry after 6.8: m 0.192, sd 0.229, next 6.60 d (4.3 to 10.2).
    learned = learn(learn(LearnedDrying(), 8, 6, Outcome.ABOUT_DRY), 8, 6.8, Outcome.ABOUT_DRY)
    assert learned.mean == pytest.approx(0.192, abs=0.0005)
    assert sqrt(learned.variance) == pytest.approx(0.229, abs=0.0005)
    assert band(learned, 8) == pytest.approx((4.3, 6.60, 10.2), abs=0.06)


def test_a_weighed_watering_teaches_most() -> None:
    touched = learn(LearnedDrying(), 8, 6, Outcome.ABOUT_DRY)
    weighed = learn(LearnedDrying(), 8, 6, Outcome.ABOUT_DRY, weighed=True)
    assert weighed.variance < touched.variance
    assert weighed.mean > touched.mean


def test_damp_only_lengthens_and_bone_dry_only_shortens() -> None:
    fresh = LearnedDrying()
    assert learn(fresh, 8, 6, Outcome.DAMP) == fresh, "the forecast said 8 days: damp after 6 is no news"
    assert learn(fresh, 8, 10, Outcome.DAMP).mean < 0
    assert learn(fresh, 8, 10, Outcome.BONE_DRY) == fresh, "dry long after the forecast is no news"
    assert learn(fresh, 8, 6, Outcome.BONE_DRY).mean > 0
    assert learn(fresh, 8, 6, Outcome.DONE) == fresh


def test_a_holiday_is_dropped() -> None:
    assert learn(LearnedDrying(0, 0.04), 7, 60, Outcome.ABOUT_DRY) == LearnedDrying(0, 0.04)


@given(
    mean=st.floats(-1.8, 1.7),
    variance=st.floats(0.001, 0.6),
    model=st.floats(0.5, 60),
    seen=st.floats(0.5, 60),
    outcome=st.sampled_from([Outcome.DAMP, Outcome.ABOUT_DRY, Outcome.BONE_DRY]),
)
def test_learning_moves_towards_what_was_seen_and_stays_inside_its_limits(
    mean: float, variance: float, model: float, seen: float, outcome: Outcome
) -> None:
    before = LearnedDrying(mean, variance)
    after = learn(before, model, seen, outcome)
    predicted, now = model / exp(before.mean), model / exp(after.mean)
    target = {Outcome.DAMP: 1.25, Outcome.ABOUT_DRY: 1, Outcome.BONE_DRY: 0.8}[outcome] * seen
    assert FACTOR.low * 0.999 <= exp(after.mean) <= FACTOR.high * 1.001
    assert 0 < after.variance <= before.variance
    low, high = sorted((predicted, target))
    assert low * 0.999 <= now <= high * 1.001


def test_time_and_a_new_heater_make_it_less_sure() -> None:
    # 0.0007 a day, up to 0.36; judgement.
    known = LearnedDrying(0.2, 0.05)
    assert drift(known, 100) == LearnedDrying(0.2, pytest.approx(0.12))  # type: ignore[arg-type] # compared only
    assert drift(known, 10_000).variance == 0.36
    assert drift(LearnedDrying(0, 0.5625), 100).variance == 0.5625
    assert unsettle(known) == LearnedDrying(0.2, 0.36)


def test_the_log_teaches_what_the_verdicts_say() -> None:
    fast = watered(*(watering(ago, Outcome.ABOUT_DRY) for ago in (20, 16, 12, 8, 4)))
    slow = watered(*(watering(ago, Outcome.ABOUT_DRY) for ago in (60, 48, 36, 24, 12)))
    silent = watered(*(watering(ago) for ago in (12, 8, 4)))
    assert learned_from_log(situation(colony=fast)).mean > 0.3
    assert learned_from_log(situation(colony=slow)).mean < -0.3
    assert learned_from_log(situation(colony=silent)).mean == 0
    usual = advise_water(situation(colony=watered())).interval_days
    assert (
        advise_water(situation(colony=fast)).interval_days < usual < advise_water(situation(colony=slow)).interval_days
    )


def test_a_plan_that_runs_ahead_forgets_no_verdict() -> None:
    home = watered(*(watering(ago, Outcome.ABOUT_DRY) for ago in (16, 12, 8, 4)))
    taught = learned_from_log(situation(colony=home))
    for week in range(50):
        home = after_watering(home, DAY + timedelta(days=7 * week), Side.A if week % 2 else Side.B)
    later = learned_from_log(situation(colony=home, day=DAY + timedelta(days=350)))
    assert later.mean == pytest.approx(taught.mean)
    assert later.variance > taught.variance


def test_what_is_kept_with_the_colony_outranks_the_log() -> None:
    fast = watered(*(watering(ago, Outcome.ABOUT_DRY) for ago in (12, 8, 4)), drying=LearnedDrying(0, 0.01))
    known = forecast_drying(situation(colony=fast), LearnedDrying(0, 0.01))
    assert advise_water(situation(colony=fast)).interval_days == pytest.approx(known.days, abs=0.06)


def test_an_earlier_nest_teaches_nothing_about_this_one() -> None:
    moved = watered(
        *(watering(ago, Outcome.ABOUT_DRY) for ago in (20, 16, 12)), nest=nest(changed=DAY - timedelta(days=5))
    )
    assert learned_from_log(situation(colony=moved)) == LearnedDrying()


def test_sides_follow_from_the_side_watered_last() -> None:
    home = watered(watering(9), watering(6), watering(3, Outcome.DAMP), nest=nest(watered_side=Side.B))
    looks = visits(home)
    assert [look.side for look in looks] == [Side.A, Side.B, Side.B]
    assert [look.watered for look in looks] == [True, True, False]


def test_after_a_damp_look_the_next_one_comes_soon() -> None:
    # Nothing was given, so the wait must not start anew.
    entries = (watering(8, side=Side.A), watering(1, Outcome.DAMP))
    planned = situation(colony=watered(*entries), done={Duty.WATER: DAY - timedelta(days=1)})
    assert advise_water(planned).interval_days < advise_water(situation(colony=watered())).interval_days / 1.5
    given_water = situation(
        colony=watered(watering(8, side=Side.A), watering(1, Outcome.DAMP, Side.B), nest=nest(watered_side=Side.B)),
        done={Duty.WATER: DAY - timedelta(days=1)},
    )
    assert advise_water(given_water).interval_days > 6


def test_p20_the_side_whose_turn_it_is_gets_water() -> None:
    # P20, common practice, no source.
    choice = next_side(situation(colony=watered(watering(14), watering(7))))
    assert choice is not None
    assert (choice.side, choice.share, choice.collided) == (Side.B, 1.0, False)
    assert next_side(situation(colony=colony(nest=Nest()))) is None


def test_a_side_that_was_wet_for_weeks_gets_a_dry_week_first() -> None:
    # Judgement: traces of mould are expected after 15.4 wet days at 25 C; A is dry since yesterday, B is fresh.
    entries = [watering(ago, Outcome.DAMP, Side.A) for ago in range(31, 4, -3)]
    home = watered(*entries, watering(1, Outcome.ABOUT_DRY, Side.B), nest=nest(watered_side=Side.B))
    choice = next_side(situation(colony=home))
    assert choice is not None
    assert choice.states[Side.A].needs_dry
    assert choice.side is Side.B
    assert "needs a dry week" in choice.reason
    assert "MOULD-SPECK" in advise_water(situation(colony=home)).cautions


def test_when_both_sides_mould_the_ants_still_get_water() -> None:
    # P24 before P20, common practice, no source: the better side, half as much, and a clean nest is offered.
    seen = [LogEntry(day=DAY, duty=Duty.WATER, outcome=Outcome.MOULD, side=side) for side in Side]
    home = watered(watering(3, side=Side.B), watering(1, side=Side.A), *seen)
    choice = next_side(situation(colony=home))
    assert choice is not None
    assert choice.collided
    advice = advise_water(situation(colony=home))
    assert advice.facts["water_ml"] == 30
    assert "clean nest" in advice.reason


def test_never_both_sides_dry_with_brood() -> None:
    # P19, common practice, no source: whatever the log says, some side is due by the time the wet one is nearly dry.
    home = colony(log=(watering(10, Outcome.BONE_DRY, Side.A),), brood=Brood(level=Amount.MANY))
    advice = advise_water(situation(colony=home))
    assert (
        advice.interval_days <= forecast_drying(situation(colony=home), learned_from_log(situation(colony=home))).late
    )
    assert advice.facts["side"] in {"A", "B"}


def test_a_plan_that_runs_ahead_changes_sides() -> None:
    here = situation(colony=watered())
    sides = []
    home = here.colony
    for week in range(4):
        choice = next_side(situation(colony=home, day=DAY + timedelta(days=7 * week)))
        assert choice is not None
        sides.append(choice.side)
        home = after_watering(home, DAY + timedelta(days=7 * week), choice.side)
    assert sides == [Side.B, Side.A, Side.B, Side.A]
    assert after_watering(home, DAY, None).nest == home.nest


def test_side_states_tell_how_long_a_side_is_dry() -> None:
    home = watered(watering(14, side=Side.A), watering(7, Outcome.ABOUT_DRY, Side.B), nest=nest(watered_side=Side.B))
    states = side_states(situation(colony=home), LearnedDrying())
    assert states[Side.A].dry_days == pytest.approx(7.1, abs=0.1)
    assert states[Side.B].dry_days < 1
    assert 0 < states[Side.A].index.value < states[Side.A].peak < 1
