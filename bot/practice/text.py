"""The platform's markup as plain blocks that the page can draw without ever trusting it as HTML.

Only what the bot writes is read: headings, small print, list items, quotes, bold, italic, code, links, mentions and
moments. Everything else stays the text it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Any

_INSIDE = r"(?:\\.|[^\\])+?"
_TOKEN = re.compile(
    r"\\(?P<escaped>[^\w\s])"
    rf"|\*\*(?P<strong>{_INSIDE})\*\*"
    r"|`(?P<code>[^`]+)`"
    r"|<t:(?P<moment>-?\d{1,12})(?::(?P<form>[tTdDfFR]))?>"
    r"|<(?P<mention>@!?\d+|\#\d+)>"
    r"|\[(?P<label>[^\]\n]+)\]\((?P<address>https?://[^\s)]+)\)"
    r"|\*(?P<em>[^\s*](?:\\.|[^\\*])*?)\*"
)
_BLOCKS = (
    ("### ", "heading"),
    ("## ", "heading"),
    ("# ", "heading"),
    ("-# ", "small"),
    ("> ", "quote"),
    ("- ", "item"),
)
_LENGTHS = (("year", 365 * 86400), ("month", 30 * 86400), ("day", 86400), ("hour", 3600), ("minute", 60))

Block = dict[str, Any]
Span = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Who reads, and when: names behind mentions, the current moment, the reader's zone."""

    names: Mapping[str, str]
    now: datetime
    zone: tzinfo = UTC


def blocks(text: str, reading: Reading) -> list[Block]:
    """Markup as blocks with `kind` (heading, small, quote, item, line, gap) and `spans` (text and style)."""
    return [_block(line, reading) for line in text.splitlines()]


def _block(line: str, reading: Reading) -> Block:
    if not line.strip():
        return {"kind": "gap", "spans": []}
    for mark, kind in _BLOCKS:
        if line.startswith(mark):
            return {"kind": kind, "spans": list(_spans(line.removeprefix(mark), reading))}
    return {"kind": "line", "spans": list(_spans(line, reading))}


def _spans(text: str, reading: Reading, style: str = "") -> Iterator[Span]:
    at = 0
    for found in _TOKEN.finditer(text):
        yield from _plain(text[at : found.start()], style)
        yield from _special(found, reading, style)
        at = found.end()
    yield from _plain(text[at:], style)


def _plain(text: str, style: str) -> Iterator[Span]:
    if text:
        yield {"text": text, "style": style}


def _special(found: re.Match[str], reading: Reading, style: str) -> Iterator[Span]:
    kind = found.lastgroup if found["moment"] is None else "moment"
    if kind == "escaped":
        yield {"text": found["escaped"], "style": style}
    elif kind in {"strong", "em"}:
        yield from _spans(found[kind], reading, kind)
    elif kind == "moment":
        yield {"text": moment_said(int(found["moment"]), found["form"] or "f", reading), "style": "moment"}
    elif kind == "mention":
        key = found["mention"].replace("!", "")
        yield {"text": reading.names.get(key, key[0] + "unknown"), "style": "mention"}
    elif kind == "address":
        yield {"text": found["label"], "style": "link", "address": found["address"]}
    else:
        yield {"text": found["code"], "style": "code"}


def moment_said(seconds: int, form: str, reading: Reading) -> str:
    """A moment as the reader's device would show it; `form` is the platform's letter."""
    try:
        at = datetime.fromtimestamp(seconds, reading.zone)
    except (OverflowError, ValueError, OSError):
        return "some time"
    if form == "R":
        return distance_said((at - reading.now).total_seconds())
    day, clock = f"{at:%a} {at.day} {at:%B %Y}", f"{at:%H:%M}"
    return {"t": clock, "T": f"{at:%H:%M:%S}", "d": day, "D": day}.get(form, f"{day}, {clock}")


def distance_said(seconds: float) -> str:
    """`in 3 days`, `2 hours ago`, `now`."""
    for word, length in _LENGTHS:
        count = round(abs(seconds) / length)
        if abs(seconds) >= 0.95 * length:
            said = f"{count} {word}{'s' if count > 1 else ''}"
            return f"in {said}" if seconds > 0 else f"{said} ago"
    return "now"
