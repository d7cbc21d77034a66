"""The plan of one feeder culture: its care at the interval of its kind, and its end where too many died."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.agenda import due_moment
from bot.care.caution_rules import strongest_first
from bot.care.culture import CARED, Culture, CultureEvent
from bot.care.duty import Occurrence
from bot.care.errors import UnknownNameError
from bot.care.feeding.feeders import advise_feeder_care, growth_said, losses, temperature_of
from bot.care.goods import FeederCulture
from bot.care.handbook import Handbook
from bot.care.place import Household, Keeper, Place
from bot.care.situation import Advice


@dataclass(frozen=True, slots=True, kw_only=True)
class CulturePlan:
    """The plan of one culture from a day on; `growth` says when its first animals are grown, or what is missing."""

    culture: Culture
    kind: FeederCulture
    growth: str
    failing: bool
    occurrences: tuple[Occurrence, ...]


def plan_cultures(household: Household, handbook: Handbook, start: date, days: int) -> tuple[CulturePlan, ...]:
    """Plans of all cultures, in the order of the household.

    Raises:
        BadValueError: a culture names a place that does not exist.
        UnknownNameError: a kind that the handbook does not hold.
    """
    return tuple(
        plan_culture(culture, household.keeper, household.place_of(culture), handbook, start, days)
        for culture in household.cultures
    )


def plan_culture(
    culture: Culture, keeper: Keeper, place: Place, handbook: Handbook, start: date, days: int
) -> CulturePlan:
    """The plan for `days` days from `start`, as if it were looked after on every day of care.

    Raises:
        UnknownNameError: a kind that the handbook does not hold.
    """
    kind = handbook.feeders.get(culture.kind)
    if kind is None:
        raise UnknownNameError("feeder insect", culture.kind, tuple(sorted(handbook.feeders)))
    found: list[Occurrence] = []
    for day in _care_days(culture, kind, start, start + timedelta(days=days)):
        last = found[-1].day if found else culture.cared_on(start)
        advice = advise_feeder_care(culture, kind, place, day, keeper.units)
        found.append(_occurrence(culture, advice, day, last, keeper, handbook))
    return CulturePlan(
        culture=culture,
        kind=kind,
        growth=growth_said(culture, kind, temperature_of(culture, place), start, keeper.units),
        failing=losses(culture, start)[1] is True,
        occurrences=tuple(found),
    )


def _care_days(culture: Culture, kind: FeederCulture, start: date, end: date) -> Iterator[date]:
    """One that fails is spoken of at once, unless it was looked after since; a new one waits its first interval."""
    interval = timedelta(days=kind.care_days)
    since = culture.cared_on(start) or culture.registered
    day = start if since is None else max(start, since + interval)
    noted = [entry.event for entry in culture.log if entry.event in CARED | {CultureEvent.DIED} and entry.day <= start]
    if losses(culture, start)[1] and noted[-1] is CultureEvent.DIED:
        day = start
    while day < end:
        yield day
        day += interval


def _occurrence(
    culture: Culture, advice: Advice, day: date, last: date | None, keeper: Keeper, handbook: Handbook
) -> Occurrence:
    band = advice.band_days
    early, late = (day, day) if last is None else (last + timedelta(days=int(side)) for side in (band.low, band.high))
    return Occurrence(
        colony="",
        culture=culture.key,
        duty=advice.duty,
        day=day,
        due_at=due_moment(day, advice.urgency, keeper),
        earliest=min(early, day),
        latest=max(late, day),
        reason=advice.reason,
        why=advice.why,
        urgency=advice.urgency,
        useful_days=advice.useful_days,
        facts=advice.facts,
        cautions=strongest_first(advice.cautions, handbook.cautions),
    )
