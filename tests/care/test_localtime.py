"""Wall time and moments: gaps, overlaps, vanished days, quiet hours."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.localtime import QuietHours, local_day, moment

BERLIN = ZoneInfo("Europe/Berlin")


def test_ordinary_wall_time() -> None:
    assert moment(date(2026, 11, 24), time(18, 0), BERLIN) == datetime(2026, 11, 24, 17, 0, tzinfo=UTC)


def test_a_wall_time_in_the_spring_gap_moves_forward() -> None:
    # EU Directive 2000/84/EC: clocks go forward on the last Sunday of March at 01:00 UTC, so 02:30 is not on the clock.
    found = moment(date(2027, 3, 28), time(2, 30), BERLIN)
    assert found == datetime(2027, 3, 28, 1, 30, tzinfo=UTC)
    assert found.astimezone(BERLIN).time() == time(3, 30)


def test_the_first_of_an_autumn_overlap_counts() -> None:
    # The same directive: back on the last Sunday of October at 01:00 UTC, so 02:30 is on the clock twice.
    assert moment(date(2026, 10, 25), time(2, 30), BERLIN) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


def test_a_midnight_gap_is_not_skipped() -> None:
    # Havana changes at midnight (tz database): 00:15 on the spring day does not exist.
    found = moment(date(2027, 3, 14), time(0, 15), ZoneInfo("America/Havana"))
    assert found.astimezone(ZoneInfo("America/Havana")).time() == time(1, 15)


def test_half_hour_zones() -> None:
    assert moment(date(2026, 1, 1), time(6, 0), ZoneInfo("Asia/Kolkata")).minute == 30
    assert moment(date(2026, 1, 1), time(6, 0), ZoneInfo("Pacific/Chatham")).minute == 15


def test_local_day_differs_from_the_utc_date() -> None:
    late = datetime(2026, 11, 24, 23, 50, tzinfo=UTC)
    assert local_day(late, BERLIN) == date(2026, 11, 25)
    assert local_day(late, ZoneInfo("America/Chicago")) == date(2026, 11, 24)


def test_a_naive_moment_is_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        local_day(datetime(2026, 11, 24), BERLIN)  # noqa: DTZ001 - the point of the test


NIGHT = QuietHours(time(22, 0), time(7, 0))


@pytest.mark.parametrize(
    ("wall", "quiet"), [(time(21, 59), False), (time(22, 0), True), (time(3, 0), True), (time(7, 0), False)]
)
def test_quiet_hours_cross_midnight(wall: time, quiet: bool) -> None:  # noqa: FBT001 - a table of cases
    assert NIGHT.holds(wall) is quiet


def test_equal_ends_mean_no_quiet_hours() -> None:
    assert not QuietHours(time(8, 0), time(8, 0)).holds(time(8, 0))


def test_quiet_hours_shift_and_never_drop() -> None:
    asked = moment(date(2026, 11, 24), time(23, 30), BERLIN)
    assert NIGHT.next_allowed(asked, BERLIN) == moment(date(2026, 11, 25), time(7, 0), BERLIN)


ZONES = st.sampled_from(["Europe/Berlin", "America/Havana", "Africa/Cairo", "Australia/Lord_Howe", "America/Nuuk"])
DAYS = st.dates(date(2020, 1, 1), date(2035, 12, 31))
WALLS = st.times().map(lambda wall: wall.replace(second=0, microsecond=0, fold=0))


@given(day=DAYS, wall=WALLS, zone=ZONES)
def test_each_day_has_exactly_one_moment_within_three_hours(day: date, wall: time, zone: str) -> None:
    rules = ZoneInfo(zone)
    shown = moment(day, wall, rules).astimezone(rules).replace(tzinfo=None)
    assert timedelta(0) <= shown - datetime.combine(day, wall) <= timedelta(hours=3)


@given(day=DAYS, wall=WALLS, zone=ZONES, start=WALLS, end=WALLS)
def test_allowed_moments_are_never_quiet_and_at_most_a_day_off(
    day: date, wall: time, zone: str, start: time, end: time
) -> None:
    rules, quiet = ZoneInfo(zone), QuietHours(start, end)
    asked = moment(day, wall, rules)
    allowed = quiet.next_allowed(asked, rules)
    assert timedelta(0) <= allowed - asked <= timedelta(hours=26)
    assert quiet.next_allowed(allowed, rules) - allowed <= timedelta(hours=3)
