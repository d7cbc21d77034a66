"""Where the counts of a colony point: a straight line through the logarithms of the counts, with an 80 % band.

A count by eye is taken to be 20 % off (judgement).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty
from bot.care.units import Band

COUNT_ERROR = 0.2
"""Standard deviation of the logarithm of a count by eye (judgement)."""
_Z80 = 1.2816
"""Half-width of an 80 % band of the normal distribution, in standard deviations."""
_LAST_COUNTS = 6


class Direction(StrEnum):
    """Where the counts point."""

    GROWING = "growing"
    STEADY = "steady"
    SHRINKING = "shrinking"
    UNKNOWN = "not enough counts"


@dataclass(frozen=True, slots=True)
class Trend:
    """Change in percent per week with its 80 % band, from `counts` counts; unknown is 0 with an open band."""

    direction: Direction
    percent_per_week: float
    band: Band
    counts: int


def known_since(colony: Colony) -> date | None:
    """The day it arrived or was registered, else the first day of its log; `None` where there is no trace yet."""
    return colony.arrived or colony.registered or min((entry.day for entry in colony.log), default=None)


def counts_of(log: Iterable[LogEntry]) -> tuple[tuple[date, int], ...]:
    """The newest counts of workers, oldest first; the last one of a day counts."""
    counted = {
        entry.day: entry.count
        for entry in sorted(log, key=lambda entry: entry.day)
        if entry.duty is Duty.CENSUS and entry.count is not None
    }
    return tuple(counted.items())[-_LAST_COUNTS:]


def trend(counts: Sequence[tuple[date, int]]) -> Trend:
    """The trend of counts on different days. Growth is only claimed where the whole band says so."""
    if len(counts) < 2:
        return Trend(Direction.UNKNOWN, 0.0, Band(-100.0, math.inf), len(counts))
    weeks = [(day - counts[0][0]).days / 7 for day, _ in counts]
    logs = [math.log(count + 1) for _, count in counts]
    middle, level = sum(weeks) / len(weeks), sum(logs) / len(logs)
    spread = sum((week - middle) ** 2 for week in weeks)
    slope = sum((week - middle) * (log - level) for week, log in zip(weeks, logs, strict=True)) / spread
    doubt = _Z80 * COUNT_ERROR / math.sqrt(spread)
    low, high = slope - doubt, slope + doubt
    direction = Direction.GROWING if low > 0 else Direction.SHRINKING if high < 0 else Direction.STEADY
    return Trend(direction, _percent(slope), Band(_percent(low), _percent(high)), len(counts))


def _percent(slope: float) -> float:
    return 100 * math.expm1(min(slope, 50.0))
