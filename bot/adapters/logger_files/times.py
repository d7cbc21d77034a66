"""Times of a logger: ISO, day-first, month-first, month names, 12-hour clocks, offsets, seconds since 1970.

Which of two numbers is the day is settled by the whole column: an order that makes impossible dates falls out, then
the order whose dates follow each other with the smallest jumps wins; a tie goes by custom and is reported as a doubt.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from itertools import pairwise

DATE = (
    r"(?:(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})"
    r"|(?P<a>\d{1,2})(?P<mark>[-/.])(?P<b>\d{1,2})[-/.](?P<c>\d{4}|\d{2})"
    r"|(?P<d2>\d{1,2})[ .\-]+(?P<name>[A-Za-z]{3,9})[ .,\-]+(?P<y2>\d{4}|\d{2})"
    r"|(?P<name3>[A-Za-z]{3,9})\.? (?P<d3>\d{1,2}),? (?P<y3>\d{4}))"
)
WALL = r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d{1,9})?)?(?:\s?(?P<half>[AaPp])\.?[Mm]\.?)?"
OFFSET = r"(?:Z|(?:UTC|GMT)?(?P<sign>[+\-\u2212])(?P<oh>\d{1,2}):?(?P<om>\d{2})?|UTC|GMT)"
WHOLE = re.compile(rf"{DATE}(?:[T ,]+{WALL})?\s?(?P<offset>{OFFSET})?", re.ASCII)
WALL_ALONE = re.compile(WALL, re.ASCII)
EPOCH = re.compile(r"\d{10}(?:\d{3})?(?:\.\d{1,9})?", re.ASCII)
IN_HEADING = re.compile(rf"(?<![A-Za-z]){OFFSET}(?![A-Za-z])", re.ASCII)
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
FIRST_YEAR, LAST_YEAR = 1990, 2099
MILLISECONDS_FROM = 1e11
Order = tuple[int, int, int]
"""Where year, month and day stand among the three numbers."""
DAY_FIRST: Order = (2, 1, 0)
MONTH_FIRST: Order = (2, 0, 1)
YEAR_FIRST: Order = (0, 1, 2)
ORDER_WORDS = {DAY_FIRST: "day first", MONTH_FIRST: "month first", YEAR_FIRST: "year first, two digits"}


@dataclass(frozen=True, slots=True)
class Written:
    """A time as written: three numbers whose order may be open, the wall time (`None`: none given), an offset."""

    numbers: tuple[int, int, int]
    order: Order | None
    wall: time | None
    offset: timedelta | None
    mark: str = ""
    twelve_hours: bool = False

    def day(self, order: Order) -> date | None:
        """The date in an order; `None` where it cannot be."""
        year, month, day = (self.numbers[place] for place in self.order or order)
        try:
            found = date(year + 2000 if year < 100 else year, month, day)
        except ValueError:
            return None
        return found if FIRST_YEAR <= found.year <= LAST_YEAR else None


def written(text: str) -> Written | None:
    """Take a time apart; `None`: it is none."""
    found = WHOLE.fullmatch(text.strip())
    if found is None:
        return None
    wall = _wall(found)
    if wall is None and found["hour"] is not None:
        return None
    named = found["name"] or found["name3"]
    order: Order | None = YEAR_FIRST
    if named is not None:
        month = MONTHS.index(named[:3].lower()) + 1 if named[:3].lower() in MONTHS else 0
        numbers = (int(found["y2"] or found["y3"]), month, int(found["d2"] or found["d3"]))
    elif found["y"] is not None:
        numbers = (int(found["y"]), int(found["m"]), int(found["d"]))
    else:
        numbers, order = (int(found["a"]), int(found["b"]), int(found["c"])), None
    return Written(numbers, order, wall, _offset(found), found["mark"] or "", bool(found["half"]))


def has_date(text: str) -> bool:
    """Whether a cell is a date, with or without a time."""
    return WHOLE.fullmatch(text.strip()) is not None


def is_wall_time(text: str) -> bool:
    """Whether a cell is a time of day alone."""
    return WALL_ALONE.fullmatch(text.strip()) is not None


def looks_like_epoch(text: str) -> bool:
    """Whether a cell can be seconds or milliseconds since 1970."""
    return EPOCH.fullmatch(text.strip()) is not None


def from_epoch(text: str) -> datetime | None:
    """The moment of seconds or milliseconds since 1970; `None`: it is none, or outside 1990 to 2099."""
    if not looks_like_epoch(text):
        return None
    seconds = float(text)
    found = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(
        seconds=seconds / 1000 if seconds > MILLISECONDS_FROM else seconds
    )
    return found if FIRST_YEAR <= found.year <= LAST_YEAR else None


def zone_in(heading: str) -> tzinfo | None:
    """The offset that a heading names, such as “Time (UTC+01:00)”; `None`: it names none."""
    found = IN_HEADING.search(heading)
    if found is None:
        return None
    offset = _offset_of(found["sign"], found["oh"], found["om"])
    return None if offset is None else timezone(offset)


@dataclass(frozen=True, slots=True)
class Settled:
    """The order of a column, and whether custom alone decided it."""

    order: Order
    by_custom: bool
    open: bool
    """False where every date says its order by itself."""


def settle_order(column: Sequence[Written], *, day_first: bool | None) -> Settled:
    """Decide which number is the day, for the whole column."""
    open_dates = [found for found in column if found.order is None]
    if not open_dates:
        return Settled(YEAR_FIRST, by_custom=False, open=False)
    if day_first is not None:
        return Settled(DAY_FIRST if day_first else MONTH_FIRST, by_custom=False, open=True)
    custom = _custom(open_dates)
    orders = [DAY_FIRST, MONTH_FIRST] if open_dates[0].numbers[2] > 99 else [DAY_FIRST, MONTH_FIRST, YEAR_FIRST]
    orders.sort(key=lambda order: order != custom)
    ranks = {order: _rank(open_dates, order) for order in orders}
    best = min(orders, key=lambda order: ranks[order])
    tied = sum(ranks[order] == ranks[best] for order in orders[:2]) > 1
    return Settled(best, by_custom=tied, open=True)


def on_wall(found: Written, order: Order, zone: tzinfo, after: datetime | None) -> datetime | None:
    """The UTC moment; of an hour that comes twice the first counts, unless it lies not after `after`.

    Returns `None` for a date that cannot be. An hour that the clock skipped comes out as it would on the old offset;
    ask `was_skipped`.
    """
    day = found.day(order)
    if day is None:
        return None
    wall = datetime.combine(day, found.wall or time(0))
    if found.offset is not None:
        return (wall - found.offset).replace(tzinfo=UTC)
    first = wall.replace(tzinfo=zone).astimezone(UTC)
    second = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    return second if after is not None and first <= after < second else first


def was_skipped(found: Written, order: Order, zone: tzinfo) -> bool:
    """Whether the wall time fell into the hour that a clock skips in spring."""
    day = found.day(order)
    if day is None or found.offset is not None:
        return False
    wall = datetime.combine(day, found.wall or time(0))
    return wall.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall


def _wall(found: re.Match[str]) -> time | None:
    if found["hour"] is None:
        return None
    hour, minute, second = int(found["hour"]), int(found["minute"]), int(found["second"] or 0)
    if found["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if found["half"] in "Pp" else 0)
    return time(hour, minute, second) if hour < 24 and minute < 60 and second < 60 else None


def _offset(found: re.Match[str]) -> timedelta | None:
    return None if found["offset"] is None else _offset_of(found["sign"], found["oh"], found["om"])


def _offset_of(sign: str | None, hours: str | None, minutes: str | None) -> timedelta | None:
    if sign is None or hours is None:
        return timedelta(0)
    size = timedelta(hours=int(hours), minutes=int(minutes or 0))
    if size > timedelta(hours=14):
        return None
    return size if sign == "+" else -size


def _custom(dates: Sequence[Written]) -> Order:
    """Dots and 24-hour clocks go with day first, 12-hour clocks with month first."""
    if dates[0].mark == "/" and any(found.twelve_hours for found in dates):
        return MONTH_FIRST
    return DAY_FIRST


def _rank(dates: Sequence[Written], order: Order) -> tuple[int, int]:
    """Impossible dates, then the widest jump in days between neighbours; smaller is better."""
    days = [found.day(order) for found in dates]
    possible = [day for day in days if day is not None]
    return len(days) - len(possible), _widest(possible)


def _widest(days: Iterable[date]) -> int:
    return max((abs((later - earlier).days) for earlier, later in pairwise(days)), default=0)
