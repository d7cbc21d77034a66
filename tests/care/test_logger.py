"""Logger series against closed integrals, the project's own sine method, and the clocks of real zones.

Degree-days of a full sine day: Baskerville & Emin 1969, through `thermal_time`, which is checked against published
tables elsewhere; the rest is derived by hand and says how.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from math import pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.adapters.zones import TzDatabase
from bot.care.errors import BadValueError
from bot.care.logger.readings import Evaluation, Quantity, Reading, Series, evaluate, recent_mean
from bot.care.physics.thermal_time import degree_days_sine
from bot.care.units import Band

START = datetime(2027, 1, 10, tzinfo=UTC)
HOUR = timedelta(hours=1)
WANTED = Band(5, 8)


def series(*values: float, step: timedelta = HOUR, start: datetime = START, humid: bool = False) -> Series:
    quantity = Quantity.HUMIDITY if humid else Quantity.TEMPERATURE
    return Series(quantity, tuple(Reading(start + step * place, value) for place, value in enumerate(values)))


def wave(middle: float, half: float, hours: int = 24, step_minutes: int = 10) -> Series:
    """A sine of one day's length that begins at its middle, as many hours as wanted."""
    step = timedelta(minutes=step_minutes)
    count = hours * 60 // step_minutes + 1
    return series(*(middle + half * sin(2 * pi * place * step_minutes / 1440) for place in range(count)), step=step)


def within(found: Evaluation) -> float:
    assert found.hours_below is not None
    assert found.hours_above is not None
    return found.hours - found.hours_below - found.hours_above


def test_a_straight_rise_crosses_a_band_in_proportion() -> None:
    # Derived by hand: 0 to 10 in 10 hours is below 5 for 5 h, inside for 3 h, above 8 for 2 h.
    found = evaluate(series(0, 10, step=10 * HOUR), UTC, wanted=lambda _: WANTED)
    assert (found.hours_below, found.hours_above) == pytest.approx((5, 2))
    assert found.mean == pytest.approx(5)


@pytest.mark.parametrize(("middle", "half"), [(12.0, 8.0), (20.0, 5.0), (9.0, 3.0), (5.0, 10.0)])
def test_degree_days_of_a_sine_day_follow_the_published_method(middle: float, half: float) -> None:
    found = evaluate(wave(middle, half), UTC, threshold_c=10)
    assert found.degree_days == pytest.approx(degree_days_sine(middle - half, middle + half, 10), abs=0.02)


def test_a_steady_temperature_earns_its_excess_each_day() -> None:
    # Derived: three days at 15 above a threshold of 10 are 15 degree-days.
    assert evaluate(series(*[15] * 73), UTC, threshold_c=10).degree_days == pytest.approx(15)


def test_degree_days_need_a_threshold_and_a_temperature() -> None:
    assert evaluate(series(20, 20), UTC).degree_days is None
    assert evaluate(series(50, 50, humid=True), UTC, threshold_c=10).degree_days is None
    assert evaluate(series(50, 50, humid=True), UTC).rest_days is None


def test_rest_days_count_whole_days_by_their_mean() -> None:
    # One day each at 5 (one), 10 (a half), 15 (none), and six hours at 5 that stand for no day.
    values = [5.0] * 24 + [10.0] * 24 + [15.0] * 24 + [5.0] * 6
    steps = tuple(Reading(START + HOUR * place, value) for place, value in enumerate(values))
    found = evaluate(Series(Quantity.TEMPERATURE, steps), UTC)
    assert found.rest_days == pytest.approx(1.5)
    assert [day.whole for day in found.days] == [True, True, True, False]


def test_a_gap_is_named_and_nothing_is_said_about_it() -> None:
    before = [Reading(START + HOUR * place, 6.0) for place in range(5)]
    after = [Reading(START + HOUR * (place + 24), 30.0) for place in range(5)]
    found = evaluate(Series(Quantity.TEMPERATURE, (*before, *after)), UTC, wanted=lambda _: WANTED)
    assert [(gap.start, gap.end) for gap in found.gaps] == [(START + 4 * HOUR, START + 24 * HOUR)]
    assert found.hours == pytest.approx(8)
    assert (found.hours_below, found.hours_above) == pytest.approx((0, 4))


def test_a_pause_of_three_usual_steps_is_no_gap() -> None:
    moments = (0, 1, 2, 3, 6, 7)
    readings = tuple(Reading(START + HOUR * hour, 6.0) for hour in moments)
    assert evaluate(Series(Quantity.TEMPERATURE, readings), UTC).gaps == ()


def test_the_worst_swing_is_the_widest_whole_day() -> None:
    quiet, wild = [20.0] * 24, [18.0] * 12 + [27.0] * 12
    found = evaluate(series(*quiet, *wild, *[18.0] * 3), UTC)
    assert found.worst_swing is not None
    assert found.worst_swing.day == date(2027, 1, 11)
    assert found.worst_swing.swing == pytest.approx(9)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("Europe/Vienna", date(2027, 3, 28), 23),
        ("Europe/Vienna", date(2027, 10, 31), 25),
        ("Australia/Lord_Howe", date(2027, 4, 4), 24.5),
        ("America/Santiago", date(2027, 9, 5), 23),  # midnight itself does not exist there
    ],
)
def test_days_are_those_of_the_wall_clock(zone: str, day: date, hours: float) -> None:
    # The dates of clock changes are those of the tz database (2026 release), from memory, checked by the run.
    start = datetime(day.year, day.month, day.day, tzinfo=UTC) - timedelta(days=2)
    found = evaluate(series(*[20.0] * 145, start=start), TzDatabase().get(zone))
    assert next(seen.hours for seen in found.days if seen.day == day) == pytest.approx(hours)


@pytest.mark.parametrize(
    "readings",
    [
        (),
        (Reading(START, 1.0),),
        (Reading(START, 1.0), Reading(START, 2.0)),
        (Reading(START + HOUR, 1.0), Reading(START, 2.0)),
    ],
)
def test_a_series_is_at_least_two_readings_in_order(readings: tuple[Reading, ...]) -> None:
    with pytest.raises(BadValueError):
        Series(Quantity.TEMPERATURE, readings)


def test_the_newest_whole_days_speak_for_a_room() -> None:
    # Derived: of 20 days, 6 at 10 and 14 at 21, only the newest 14 count; of those that may count, only the cold ones.
    found = evaluate(series(*[10.0] * 144, *[21.0] * 336), UTC)
    assert recent_mean(found) == pytest.approx(21)
    assert recent_mean(found, lambda day: day < date(2027, 1, 14)) == pytest.approx(10)
    assert recent_mean(evaluate(series(20, 20), UTC)) is None


values = st.lists(st.floats(-40, 60), min_size=2, max_size=60)
steps = st.lists(st.integers(1, 3000), min_size=60, max_size=60)


def uneven(readings: list[float], minutes: list[int]) -> Series:
    at, found = START, list[Reading]()
    for value, minute in zip(readings, minutes, strict=False):
        found.append(Reading(at, value))
        at += timedelta(minutes=minute)
    return Series(Quantity.TEMPERATURE, tuple(found))


@given(readings=values, minutes=steps, low=st.floats(-30, 30), width=st.floats(0, 20))
def test_hours_add_up_whatever_the_series(readings: list[float], minutes: list[int], low: float, width: float) -> None:
    made = uneven(readings, minutes)
    found = evaluate(made, UTC, wanted=lambda _: Band(low, low + width), threshold_c=low)
    seen = (made.readings[-1].at - made.readings[0].at) / HOUR
    lost = sum(((gap.end - gap.start) / HOUR for gap in found.gaps), 0.0)
    assert found.hours == pytest.approx(seen - lost)
    assert sum(day.hours for day in found.days) == pytest.approx(found.hours)
    assert within(found) >= -1e-6
    assert found.lowest.value <= found.mean + 1e-9
    assert found.mean <= found.highest.value + 1e-9
    assert found.degree_days is not None
    assert found.degree_days >= 0
    assert all(day.hours <= 24 + 1e-6 for day in found.days)


@given(readings=values, minutes=steps, cut=st.integers(1, 58))
def test_a_wider_band_never_holds_fewer_hours(readings: list[float], minutes: list[int], cut: int) -> None:
    made = uneven(readings, minutes)
    narrow: Callable[[date], Band] = lambda _: Band(0, 10)  # noqa: E731 - a band for every day
    wide: Callable[[date], Band] = lambda _: Band(-cut, 10 + cut)  # noqa: E731 - as above
    assert within(evaluate(made, UTC, wanted=wide)) >= within(evaluate(made, UTC, wanted=narrow)) - 1e-6
