"""Text that is safe to show: user text without power, limits of the platform, days as a person says them.

Limits: the platform's documentation of messages and components (content 2,000 characters, displayed text of a layout
4,000, label 80, option 100). The limit in bytes is a fault of the platform seen by many: above about 10,170 bytes it
answers with an internal error, so we stay under 9,000.
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time

LAYOUT_TEXT = 3_900
LAYOUT_BYTES = 8_900
LABEL = 80
OPTION = 100
NAME = 40
NOON = time(12, 0, tzinfo=UTC)

_SPECIAL = re.compile(r"([\\*_~`|>#\[\]()<:/.+=-])")


def shown(text: str, limit: int = NAME) -> str:
    """User text on one line, cut to `limit`, with nothing in it that formats, links, mentions or pings."""
    return _SPECIAL.sub(r"\\\1", short(text, limit)).replace("@", "@\u200b")


def short(text: str, limit: int) -> str:
    """Text on one line and within `limit` characters, for labels and options, where markup has no power."""
    line = " ".join(text.split())
    return line if len(line) <= limit else line[: limit - 1].rstrip() + "…"


def fits(*texts: str) -> bool:
    """Whether texts may stand together in one layout."""
    return sum(len(text) for text in texts) <= LAYOUT_TEXT and sum(len(text.encode()) for text in texts) <= LAYOUT_BYTES


def day_name(day: date) -> str:
    """`Thu 3 June`."""
    return f"{day:%a} {day.day} {day:%B}"


def day_said(day: date) -> str:
    """A plain day name, and how far off it is as the reader's own device counts."""
    return f"{day_name(day)} ({stamp(datetime.combine(day, NOON))})"


def stamp(at: datetime) -> str:
    """A moment that the platform shows in the reader's own words, such as “in 3 days”."""
    return f"<t:{int(at.timestamp())}:R>"


def distance(day: date, today: date, earliest: date | None = None, latest: date | None = None) -> str:
    """`today`, `tomorrow`, `in about 6 days (4–9)`; the band is left out where there is none."""
    days = (day - today).days
    if days <= 0:
        return "today" if days == 0 else f"{-days} day{'s' if days < -1 else ''} late"
    low = days if earliest is None else max(0, (earliest - today).days)
    high = days if latest is None else max(days, (latest - today).days)
    if low == high:
        return "tomorrow" if days == 1 else f"in {days} days"
    return f"in about {days} day{'s' if days > 1 else ''} ({low}–{high})"


def number(value: float) -> str:
    """`1,200` or `2.5`."""
    return f"{value:,.0f}" if value == round(value) else f"{value:,.1f}"


def joined(words: list[str] | tuple[str, ...]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
