"""User text without power, limits, days. Limits: the platform's documentation of messages and components."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.adapters.chat.presenters.text import day_said, distance, fits, joined, number, short, shown, stamp

TODAY = date(2027, 6, 1)
NASTY = (
    "@everyone",
    "<@123456789012345678>",
    "[look](https://example.org)",
    "https://example.org/x",
    "discord.gg/abcdef",
    "**loud** __low__ ~~gone~~ `code` ||spoiler||",
    "# heading",
    "> quote",
    "- item",
    "<t:0:R>",
)


@pytest.mark.parametrize("text", NASTY)
def test_user_text_cannot_ping_link_or_format(text: str) -> None:
    said = shown(text, 100)
    assert "@everyone" not in said
    assert not re.search(r"<[@#!&]+\d", said)
    assert "://" not in said
    assert "discord.gg" not in said
    assert "](" not in said
    for sign in "*_~`|#<>[-":
        assert all(said[at - 1] == "\\" for at, found in enumerate(said) if found == sign and said[at - 1 : at] != "\\")


@given(st.text(max_size=300), st.integers(min_value=2, max_value=100))
def test_short_keeps_the_limit_and_one_line(text: str, limit: int) -> None:
    said = short(text, limit)
    assert len(said) <= limit
    assert "\n" not in said


def test_ten_thousand_characters_become_forty() -> None:
    assert len(short("x" * 10_000, 40)) == 40


def test_a_layout_is_measured_in_characters_and_in_bytes() -> None:
    assert fits("x" * 3_900)
    assert not fits("x" * 3_901)
    assert not fits("蟻" * 3_500), "3,500 signs of three bytes make the platform fail, though they are under 4,000"


def test_days_are_said_plainly_and_with_a_stamp() -> None:
    assert day_said(date(2027, 6, 3)) == "Thu 3 June (<t:1812024000:R>)"
    assert datetime.fromtimestamp(1812024000, UTC) == datetime(2027, 6, 3, 12, tzinfo=UTC)
    assert stamp(datetime(2027, 6, 3, 12, tzinfo=UTC)) == "<t:1812024000:R>"


@pytest.mark.parametrize(
    ("day", "band", "said"),
    [
        (date(2027, 6, 1), None, "today"),
        (date(2027, 6, 2), None, "tomorrow"),
        (date(2027, 6, 7), (date(2027, 6, 5), date(2027, 6, 10)), "in about 6 days (4–9)"),
        (date(2027, 6, 7), (date(2027, 6, 7), date(2027, 6, 7)), "in 6 days"),
        (date(2027, 6, 2), (date(2027, 5, 30), date(2027, 6, 3)), "in about 1 day (0–2)"),
        (date(2027, 5, 31), None, "1 day late"),
        (date(2027, 5, 29), None, "3 days late"),
    ],
)
def test_distance_carries_its_band(day: date, band: tuple[date, date] | None, said: str) -> None:
    assert distance(day, TODAY, *(band or (None, None))) == said


def test_small_words() -> None:
    assert [joined(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert [number(value) for value in (1200, 2.5, 80.0)] == ["1,200", "2.5", "80"]
