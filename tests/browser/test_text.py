"""What the bot writes, as blocks for the page. The markup is the platform's (its reference on message formatting)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bot.practice.text import Reading, blocks, distance_said

NOW = datetime(2027, 5, 18, 8, 0, tzinfo=UTC)
READING = Reading(names={"@7": "@Maren", "#9": "#questions"}, now=NOW, zone=ZoneInfo("Europe/Copenhagen"))


def spans(text: str) -> list[tuple[str, str]]:
    (block,) = blocks(text, READING)
    return [(span["text"], span["style"]) for span in block["spans"]]


@pytest.mark.parametrize(
    ("line", "kind", "text"),
    [
        ("### Water", "heading", "Water"),
        ("-# small print", "small", "small print"),
        ("- item", "item", "item"),
        ("> said", "quote", "said"),
        ("plain", "line", "plain"),
        ("#questions", "line", "#questions"),
    ],
)
def test_a_line_knows_what_it_is(line: str, kind: str, text: str) -> None:
    assert blocks(line, READING) == [{"kind": kind, "spans": [{"text": text, "style": ""}]}]


def test_bold_italic_code_and_links() -> None:
    assert spans("**a \\* b** and *c* and `d*`") == [
        ("a ", "strong"),
        ("*", "strong"),
        (" b", "strong"),
        (" and ", ""),
        ("c", "em"),
        (" and ", ""),
        ("d*", "code"),
    ]
    (block,) = blocks("see [here](https://example.org/a?b=1)", READING)
    assert block["spans"][1] == {"text": "here", "style": "link", "address": "https://example.org/a?b=1"}


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "[x](javascript:alert(1))", "<t:x:R>", "2 * 3 * 4", "**"]
)
def test_everything_else_stays_the_text_it_is(text: str) -> None:
    assert "".join(said for said, _ in spans(text)) == text
    assert {style for _, style in spans(text)} == {""}


def test_mentions_become_names() -> None:
    assert spans("<@7> in <#9>, not <@!8>") == [
        ("@Maren", "mention"),
        (" in ", ""),
        ("#questions", "mention"),
        (", not ", ""),
        ("@unknown", "mention"),
    ]


@pytest.mark.parametrize(
    ("form", "said"),
    [("", "Thu 20 May 2027, 10:00"), (":t", "10:00"), (":D", "Thu 20 May 2027"), (":R", "in 2 days")],
)
def test_moments_are_told_by_the_practice_clock_in_the_readers_zone(form: str, said: str) -> None:
    at = int((NOW + timedelta(days=2)).timestamp())
    assert spans(f"<t:{at}{form}>") == [(said, "moment")]


def test_a_moment_beyond_all_calendars_does_no_harm() -> None:
    assert spans("<t:999999999999:F>") == [("some time", "moment")]


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "now"),
        (60, "in 1 minute"),
        (-3600, "1 hour ago"),
        (16.4 * 3600, "in 16 hours"),
        (23.5 * 3600, "in 1 day"),
        (-9 * 86400, "9 days ago"),
        (61 * 86400, "in 2 months"),
        (800 * 86400, "in 2 years"),
    ],
)
def test_distances(seconds: float, said: str) -> None:
    assert distance_said(seconds) == said


def test_an_empty_line_is_a_gap() -> None:
    kinds: list[Any] = [block["kind"] for block in blocks("a\n\nb", READING)]
    assert kinds == ["line", "gap", "line"]
