"""Readings kept as history: extremes stay exact, later files count where both speak, the oldest go first."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.logger.history import joined, newest, since, thinned
from bot.care.logger.readings import Quantity, Reading, Series, evaluate

START = datetime(2027, 1, 10, tzinfo=UTC)


def series(*values: float, start: datetime = START, minutes: int = 10) -> Series:
    step = timedelta(minutes=minutes)
    readings = tuple(Reading(start + step * number, value) for number, value in enumerate(values))
    return Series(Quantity.TEMPERATURE, readings)


@given(st.lists(st.floats(-20, 45), min_size=2, max_size=300), st.integers(1, 90))
def test_of_each_hour_the_lowest_and_the_highest_stay_at_their_own_moments(values: list[float], minutes: int) -> None:
    whole = series(*values, minutes=minutes)
    kept = thinned(whole)
    assert set(kept.readings) <= set(whole.readings)
    assert kept.readings[0] == whole.readings[0]
    assert kept.readings[-1] == whole.readings[-1]
    hours = {reading.at.replace(minute=0) for reading in whole.readings}
    assert len(kept.readings) <= 2 * len(hours) + 2
    zone = ZoneInfo("Europe/Vienna")
    before, after = evaluate(whole, zone), evaluate(kept, zone)
    assert (after.lowest, after.highest) == (before.lowest, before.highest)
    assert thinned(kept).readings == kept.readings


def test_where_files_overlap_the_later_one_counts_alone() -> None:
    earlier = series(1, 1, 1, 1, minutes=60)
    later = series(9, 9, start=START + timedelta(minutes=90), minutes=30)
    found = joined(earlier, later)
    assert [reading.value for reading in found.readings] == [1, 1, 9, 9, 1]
    assert joined(earlier, earlier) == earlier, "the same file once more changes nothing"


def test_an_older_file_may_come_later() -> None:
    summer, winter = series(20, 20, start=START + timedelta(days=200)), series(5, 5)
    assert [reading.value for reading in joined(summer, winter).readings] == [5, 5, 20, 20]


@pytest.mark.parametrize(("most", "left"), [(2, [3, 4]), (4, [1, 2, 3, 4]), (9, [1, 2, 3, 4])])
def test_the_oldest_readings_go_first(most: int, left: list[int]) -> None:
    assert [reading.value for reading in newest(series(1, 2, 3, 4), most).readings] == left


def test_the_last_days() -> None:
    daily = series(1, 2, 3, 4, minutes=24 * 60)
    assert [reading.value for reading in since(daily, 2).readings] == [2, 3, 4]
    assert since(daily, 0) == daily, "fewer than two readings are no series"
