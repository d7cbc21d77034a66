"""Which duties share a visit: what waits for a visit that comes anyway, and what comes a little early to join one.

Water and leftovers are never put off. How long a chore waits and how far anything comes forward is judgement: a
patient keeper's rhythm, inside the bands of the engines, so that nothing drifts.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor

from bot.care.duty import FEEDING, Duty, Urgency
from bot.care.phase import COLD_PHASES, Phase
from bot.care.situation import Advice

CHORES = frozenset(
    {
        Duty.BARRIER_CHECK,
        Duty.BARRIER_RENEW,
        Duty.OUTSIDE_WIPE,
        Duty.WASTE,
        Duty.NEST_CHANGE,
        Duty.SPACE,
        Duty.CENSUS,
        Duty.HEAT_CHECK,
        Duty.REST_CHECK,
    }
)
"""Work that no animal waits for: it shares a visit with feeding or water where it can."""
LOOSE = CHORES - {Duty.REST_CHECK}
"""Chores that make no visit of their own for others to wait for."""
WAIT_DAYS = 2
"""A chore waits so long at most for a visit that comes anyway, and never longer than `WAIT_SHARE` of its interval."""
COLD_WAIT_DAYS = 4
"""The same in a rest, where visits are rare and every one disturbs."""
WAIT_SHARE = 0.5
MEAL_WAIT_DAYS = 1
EARLY_SHARE = 0.15
"""A duty comes forward by at most this share of its interval to join a visit."""
WATER_EARLY_FROM_DAYS = 3
"""Water comes a day early to join a visit, but only where it lasts this long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A duty with its day, the days between which it may move to share a visit, and the day its band begins."""

    day: date
    earliest: date
    latest: date
    advice: Advice


def due_on(advice: Advice, day: date, last: date | None, phase: Phase) -> Due:
    """How far a duty that falls on `day`, and was done on `last`, may move."""
    if last is None:
        slack = _chore_slack(advice, phase) if _waits(advice) and advice.duty in CHORES else 0
        return Due(day=day, earliest=day, latest=day + timedelta(days=slack), advice=advice)
    begins = max(last + timedelta(days=ceil(advice.band_days.low)), day - timedelta(days=_early_days(advice, phase)))
    return Due(day=day, earliest=min(begins, day), latest=_latest(advice, day, last, phase), advice=advice)


def _waits(advice: Advice) -> bool:
    return advice.urgency is Urgency.ROUTINE and advice.duty in CHORES | FEEDING


def _chore_slack(advice: Advice, phase: Phase) -> int:
    most = COLD_WAIT_DAYS if phase in COLD_PHASES else WAIT_DAYS
    return min(most, int(advice.interval_days * WAIT_SHARE))


def _latest(advice: Advice, day: date, last: date, phase: Phase) -> date:
    if not _waits(advice):
        return day
    if advice.duty in CHORES:
        return day + timedelta(days=_chore_slack(advice, phase))
    slack = COLD_WAIT_DAYS if phase in COLD_PHASES else MEAL_WAIT_DAYS
    return max(day, min(day + timedelta(days=slack), last + timedelta(days=floor(advice.band_days.high))))


def _early_days(advice: Advice, phase: Phase) -> int:
    if advice.duty is Duty.LEFTOVERS:
        return int(advice.interval_days)
    if advice.duty is Duty.WATER:
        if advice.interval_days < WATER_EARLY_FROM_DAYS:
            return 0
        return COLD_WAIT_DAYS if phase in COLD_PHASES else 1
    if advice.urgency is not Urgency.ROUTINE:
        return 0
    return min(WAIT_DAYS, int(advice.interval_days * EARLY_SHARE))


def visit_on(day: date, dues: Mapping[Duty, Due], leftovers_on: date) -> tuple[frozenset[Duty], dict[Duty, date]]:
    """What is done on a day, and the new days of what waits for a later visit instead.

    Args:
        day: the day to decide for.
        dues: everything that is planned, by duty.
        leftovers_on: the day on which what is fed on `day` must be taken out.
    """
    due = frozenset(duty for duty, found in dues.items() if found.day <= day)
    if not due:
        return due, {}
    waits = {duty: visit for duty in due if (visit := _next_visit(duty, day, dues, due)) is not None}
    if waits.keys() == due:
        return frozenset(), waits
    ahead = tuple(_visits_ahead(day, dues, due, leftovers_on))
    joining = {duty for duty, found in dues.items() if duty not in due and _joins(found, day, ahead)}
    return due | joining, {}


def _next_visit(duty: Duty, day: date, dues: Mapping[Duty, Due], due: Iterable[Duty]) -> date | None:
    """The next visit that comes anyway while a duty may wait; `None` where it may not, or there is none."""
    coming = [found.day for other, found in dues.items() if other not in due and other not in LOOSE]
    return min((when for when in coming if day < when <= dues[duty].latest), default=None)


def _visits_ahead(
    day: date, dues: Mapping[Duty, Due], due: frozenset[Duty], leftovers_on: date
) -> Iterable[tuple[Duty, date]]:
    """Days after `day` on which somebody comes anyway, and for what, as far as that can be seen."""
    for duty, found in dues.items():
        if duty not in CHORES:
            later = found.day if duty not in due else day + timedelta(days=max(1, round(found.advice.interval_days)))
            yield duty, later
    if due & {Duty.SUGAR, Duty.PROTEIN}:
        yield Duty.LEFTOVERS, leftovers_on


def _joins(found: Due, day: date, ahead: Iterable[tuple[Duty, date]]) -> bool:
    """Whether a later duty comes forward to this visit: it may, and no visit nearer to its day is in sight."""
    if not found.earliest <= day < found.day:
        return False
    return not any(duty is not found.advice.duty and day < when <= found.latest for duty, when in ahead)
