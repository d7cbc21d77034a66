"""When a winter rest starts: the keeper's own date, a cold spell on record, the light of the place, or custom.

Order of the rules: decision table A.1 of the dossier on dormancy. The day of 11 hours is a calendar convention of ours
(it lands near published laboratory winters and common practice), never a threshold of an ant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.physics.daylight import first_day_at_least, first_day_below
from bot.care.physics.thermal_time import first_run
from bot.care.place import Keeper

HOURS = 11.0
LIGHT_FROM_LATITUDE = 28.0
"""Nearer to the equator the shortest day is too long for the convention."""
TROPIC = 23.5
COLD_MEAN_C = 10.0
COLD_RUN_DAYS = 6
STILL_RESTING_DAYS = 180
"""A rest that began this long before a colony crossed the equator counts as still running then (judgement)."""


@dataclass(frozen=True, slots=True)
class RestStart:
    """First day of one wind-down, the rule behind it in plain words, and the day from which spring light returns.

    `calendar` is what our calendar would have said where the keeper's own date replaced it.
    """

    day: date
    rule: str
    spring: date | None = None
    calendar: date | None = None
    convention: bool = True
    """The date follows from light or custom, not from the keeper or a measurement."""


def rest_starts(
    keeper: Keeper,
    day: date,
    *,
    wished: date | None = None,
    crossed: date | None = None,
    daily_means_c: Mapping[date, float] | None = None,
) -> Iterator[RestStart]:
    """Starts around `day` in order, from one that may still be running; none where calendar and keeper are silent.

    Args:
        keeper: whose latitude counts.
        day: the day to plan around.
        wished: the keeper's own date; it comes back every year from then on.
        crossed: the day the colony crossed the equator.
        daily_means_c: outdoor daily means on record, if any.
    """
    years = range(day.year - 1, day.year + 3)
    calendar = [start for year in years if (start := _calendar(keeper.latitude, year, daily_means_c or {}))]
    if wished is not None:
        yield from _wished(wished, years, keeper.latitude, () if crossed else calendar)
    elif crossed is not None and keeper.latitude is not None:
        yield from _crossed(crossed, keeper.latitude, day, calendar)
    else:
        yield from calendar


def spring_after(latitude: float | None, start: date) -> date | None:
    """The first day of 11 hours in the spring that follows `start`; `None` where the calendar does not tell."""
    if latitude is None or abs(latitude) < LIGHT_FROM_LATITUDE:
        return None
    springs = (first_day_at_least(latitude, year, HOURS) for year in (start.year, start.year + 1))
    return next((spring for spring in springs if spring is not None and spring > start), None)


def calendar_start(latitude: float | None, year: int) -> date | None:
    """Start of the wind-down by light (from 28 degrees) or custom (23.5 to 28 degrees); never inside the tropics."""
    if latitude is None or abs(latitude) < TROPIC:
        return None
    if abs(latitude) >= LIGHT_FROM_LATITUDE:
        return first_day_below(latitude, year, HOURS)
    return date(year, 11, 2) if latitude > 0 else date(year, 5, 3)


def _calendar(latitude: float | None, year: int, means: Mapping[date, float]) -> RestStart | None:
    start = calendar_start(latitude, year)
    if start is None or latitude is None:
        return None
    spring = spring_after(latitude, start)
    cold = _cold_spell(date(year, 7 if latitude >= 0 else 1, 1), start, means)
    if cold is not None:
        return RestStart(cold, "the first six cold days in a row on your outdoor record", spring, convention=False)
    if abs(latitude) >= LIGHT_FROM_LATITUDE:
        return RestStart(start, "our calendar convention from the light of your place", spring)
    return RestStart(start, "custom: seven weeks before the shortest day", spring)


def _cold_spell(begin: date, before: date, means: Mapping[date, float]) -> date | None:
    """First day of a cold run that was complete before the calendar's own date; a gap in the record breaks a run."""
    if not means:
        return None
    days = [begin + timedelta(days=offset) for offset in range((before - begin).days)]
    warmth = [means.get(day, COLD_MEAN_C) for day in days]
    found = first_run(warmth, lambda mean: mean < COLD_MEAN_C, COLD_RUN_DAYS)
    return None if found is None else days[found]


def _wished(
    wished: date, years: range, latitude: float | None, calendar: list[RestStart] | tuple[()]
) -> Iterator[RestStart]:
    """The calendar before the keeper's date, then that date every year."""
    nearby = [calendar_start(latitude, year) for year in (wished.year - 1, wished.year, wished.year + 1)]
    known = [day for day in nearby if day is not None]
    replaced = min(known, key=lambda day: abs((day - wished).days), default=None)
    yield from (start for start in calendar if replaced is not None and start.day < min(replaced, wished))
    for year in years:
        later = year - wished.year
        if later >= 0:
            day = _years_later(wished, later)
            usual = None if replaced is None else _years_later(replaced, later)
            yield RestStart(day, "the date you set", spring_after(latitude, day), usual, convention=False)


def _crossed(crossed: date, latitude: float, day: date, home: list[RestStart]) -> Iterator[RestStart]:
    """The old season until one rest of it ended here, then this hemisphere's; over a year lies between both starts."""
    for year in range(min(day.year, crossed.year) - 1, crossed.year + 2):
        old = _calendar(-latitude, year, {})
        if old is None:
            return
        yield RestStart(old.day, "the season of the hemisphere it came from, kept for the first year", old.spring)
        if (crossed - old.day).days < STILL_RESTING_DAYS:
            yield from (start for start in home if start.day >= old.day + timedelta(days=365))
            return


def _years_later(day: date, years: int) -> date:
    """The same date in a later year; 29 February falls back on the 28th."""
    year = day.year + years
    try:
        return day.replace(year=year)
    except ValueError:
        return day.replace(year=year, day=28)
