"""Typed times, days and numbers."""

from __future__ import annotations

from datetime import date, time

import pytest

from bot.adapters.chat.describing import read_number
from bot.adapters.chat.reading import read_day, read_time
from bot.care.errors import BadValueError

TODAY = date(2027, 6, 1)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("18:30", time(18, 30)),
        ("18.30", time(18, 30)),
        (" 7 ", time(7)),
        ("0:00", time(0)),
        ("6:30 pm", time(18, 30)),
        ("12 am", time(0)),
        ("12pm", time(12)),
    ],
)
def test_times(typed: str, meant: time) -> None:
    assert read_time(typed) == meant


@pytest.mark.parametrize("typed", ["25:00", "18:61", "13 pm", "0 am", "evening", "", "18:3", "1" * 10_000])
def test_no_time(typed: str) -> None:
    with pytest.raises(BadValueError, match=r"18:30"):
        read_time(typed)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2027-07-01", date(2027, 7, 1)),
        ("Today", date(2027, 6, 1)),
        ("tomorrow", date(2027, 6, 2)),
        ("yesterday", date(2027, 5, 31)),
        ("in 3 days", date(2027, 6, 4)),
        ("in  2  weeks", date(2027, 6, 15)),
        ("1 day ago", date(2027, 5, 31)),
        ("2 weeks ago", date(2027, 5, 18)),
    ],
)
def test_days(typed: str, meant: date) -> None:
    assert read_day(typed, TODAY) == meant


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1827-06-01", "wrong century"),
        ("2127-06-01", "wrong century"),
        ("2027-02-30", "no day 2027-02-30"),
        ("06/01/27", "2027-06-01"),
        ("soon", "tomorrow"),
        ("x" * 10_000, "no day I can read"),
    ],
)
def test_no_day(typed: str, said: str) -> None:
    with pytest.raises(BadValueError) as refused:
        read_day(typed, TODAY)
    assert said in str(refused.value)
    assert len(str(refused.value)) < 150


def test_numbers_of_a_form() -> None:
    assert read_number("water", " 2,5 ") == 2.5
    assert read_number("water", "") is None
    for typed in ("much", "nan", "inf", "1e99"):
        with pytest.raises(BadValueError, match=r"2\.5"):
            read_number("water", typed)
