"""How a colony grows: the trend of its counts, when to count again, and when the first workers may be expected.

The trend is a straight line through the logarithms of the counts; a count by eye is taken to be 20 % off (judgement).
First workers: linear degree-days of the species' profile, or an honest "not known".
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Input, Why
from bot.care.evidence import PRACTICE
from bot.care.founding import is_founding
from bot.care.phase import Phase
from bot.care.situation import Advice, Situation
from bot.care.species import SpeciesProfile
from bot.care.units import Band

COUNT_ERROR = 0.2
"""Standard deviation of the logarithm of a count by eye (judgement)."""
_Z80 = 1.2816
"""Half-width of an 80 % band of the normal distribution, in standard deviations."""
_LAST_COUNTS = 6
_CENSUS_DAYS = 30
_LONGEST_DAYS = 400
_LINEAR_UP_TO_C = 32.0
"""Above this development no longer speeds up in a straight line (fire ant optimum, Porter & Tschinkel 1993)."""


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


@dataclass(frozen=True, slots=True)
class FirstWorkers:
    """When the first workers may be seen; the dates are `None` where it cannot be said, and the sentence says why."""

    sentence: str
    earliest: date | None = None
    expected: date | None = None
    latest: date | None = None


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


def advise_census(situation: Situation) -> Advice | None:
    """Count the workers about monthly; `None` while a queen founds (leave her alone) and outside the active season."""
    colony = situation.colony
    if is_founding(colony) or situation.phase is not Phase.ACTIVE or colony.queens + colony.workers == 0:
        return None
    found = trend(counts_of(colony.log))
    facts: dict[str, float | str] = {"interval_days": _CENSUS_DAYS, "trend": found.direction.value}
    if found.direction is not Direction.UNKNOWN:
        facts["percent_per_week"] = round(found.percent_per_week, 1)
    return Advice(
        duty=Duty.CENSUS,
        interval_days=_CENSUS_DAYS,
        band_days=Band(21, 42),
        reason="Count or estimate the workers about once a month: food, space and water follow their number.",
        why=Why(
            rule="Monthly while active; never while a queen founds or a colony rests, so that nobody is disturbed.",
            inputs=(Input("workers", str(colony.workers)), Input("counts so far", str(found.counts))),
            evidence=PRACTICE,
            would_change=("A rest or a founding stage stops it.",),
        ),
        first_after_days=14,
        useful_days=14,
        facts=facts,
    )


def development_days(temperature_c: float, profile: SpeciesProfile) -> Band | None:
    """Days from egg to worker at a steady temperature, `None` where no figure is known or nothing develops."""
    model = profile.development
    if model is None or not model.threshold_c < temperature_c <= _LINEAR_UP_TO_C:
        return None
    days = model.degree_days / (temperature_c - model.threshold_c)
    if days > _LONGEST_DAYS:
        return None
    return Band(days * (1 - model.spread), days * (1 + model.spread))


def expected_first_workers(eggs_seen: date, temperature_c: float, profile: SpeciesProfile) -> FirstWorkers:
    """When workers from eggs seen on a day may be expected, at the temperature of the brood."""
    band = development_days(temperature_c, profile)
    if band is not None:
        early, middle, late = (eggs_seen + timedelta(days=round(d)) for d in (band.low, band.middle, band.high))
        sentence = f"First workers about {middle.isoformat()}, between {early.isoformat()} and {late.isoformat()}."
        return FirstWorkers(f"{sentence} This is an estimate from warmth alone.", early, middle, late)
    model = profile.development
    if model is None:
        return FirstWorkers(f"I have no figure for how fast {profile.name} brood grows, so I name no date.")
    if temperature_c > _LINEAR_UP_TO_C:
        return FirstWorkers(
            "In such heat brood no longer grows faster and may die, so I name no date: offer a cooler end."
        )
    return FirstWorkers("At this temperature the brood hardly grows or not at all, so I name no date: keep it warmer.")
