"""When lines may speak up, which stored rows stand, and which wait in vain: the rules behind every look at a keeper.

Pure. Days of repetition and delay are judgement, except that water is never silent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from bot.care.agenda import due_moment
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.localtime import local_day, moment
from bot.services.records import Door, KeeperRecord, OccurrenceState, StoredOccurrence
from bot.services.silence import MOST_EXTRA_DAYS, NEVER_HELD, extra_days, held_back

LOOK_DAYS = MOST_EXTRA_DAYS + 2
"""How far ahead the daily look re-plans; what was planned for later stays until it comes so near."""
REPEAT_WATER_DAYS = {Urgency.URGENT: 1, Urgency.SOON: 2, Urgency.ROUTINE: 2}
"""Days after which an unanswered water reminder comes again; water is never silent."""
LATE_LOOK = timedelta(hours=3)
"""A daily look up to this late still is the look of that day's digest."""
REFUSALS_UNTIL_PAUSE = 3
"""Refused deliveries in a row after which the bot waits for the keeper."""
TICK = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a keeper: the moment, their local day, from when routine lines may speak up, days ahead."""

    now: datetime
    today: date
    free: datetime
    """Later than now when this local day had its digest already."""
    days: int

    def free_for(self, duty: Duty, keeper: KeeperRecord, *, planned: bool) -> datetime:
        """From when a line that was not missed may speak up: at this digest or the next.

        Nothing comes at once that can wait for the next digest. But what only a daily look brings up joins the digest
        of that look, which may be late by some hours, and what could kill always does.
        """
        found_by_look = self.days == LOOK_DAYS and not planned
        if found_by_look and duty in NEVER_HELD:
            return self.free
        return max(self.free, next_look(keeper, self.now - (LATE_LOOK if found_by_look else TICK), Urgency.ROUTINE))


def shut_out(keeper: KeeperRecord) -> bool:
    """Whether messages cannot reach a keeper until they come back by themselves."""
    return keeper.door is Door.GONE or (keeper.door is Door.REFUSED and keeper.refusals >= REFUSALS_UNTIL_PAUSE)


def next_look(keeper: KeeperRecord, after: datetime, urgency: Urgency) -> datetime:
    """The first moment after another at which occurrences of an urgency speak up, maybe on the same local day. UTC."""
    day = local_day(after, keeper.settings.zone)
    moments = (due_moment(day + timedelta(days=ahead), urgency, keeper.settings) for ahead in range(-1, 4))
    return next(at for at in moments if at > after)


def answer_by(occurrence: Occurrence) -> date:
    """The last local day on which a sent occurrence still waits for its answer before it comes again."""
    if occurrence.duty is Duty.WATER:
        return occurrence.day + timedelta(days=REPEAT_WATER_DAYS[occurrence.urgency] - 1)
    return occurrence.day + timedelta(days=occurrence.useful_days)


def waits_on(occurrence: Occurrence, today: date) -> bool:
    """Whether a sent occurrence still waits; a day further ahead than any zone means that a clock was wrong."""
    return today <= answer_by(occurrence) and occurrence.day <= today + timedelta(days=1)


def firsts_of(occurrences: Sequence[Occurrence], keeper: KeeperRecord, today: date) -> Mapping[Duty, Occurrence]:
    """The next occurrence of each duty, held back by an absence or a long silence where that may be."""
    firsts: dict[Duty, Occurrence] = {}
    for found in occurrences:
        if found.duty not in firsts and not is_held(found, keeper, today):
            firsts[found.duty] = found
    return firsts


def is_held(found: Occurrence, keeper: KeeperRecord, today: date) -> bool:
    """Whether an absence or a long silence holds an occurrence back."""
    away = _away_on(keeper, found.day) and found.duty not in NEVER_HELD
    resting = held_back(found.duty, keeper.unanswered)
    slower = found.day < today + timedelta(days=extra_days(found.duty, keeper.unanswered))
    return away or resting or slower


def back(found: Occurrence, keeper: KeeperRecord) -> datetime:
    """When the keeper is back for a duty that waits for them."""
    if keeper.away_until is None or found.duty in NEVER_HELD:
        return found.due_at
    if not _away_on(keeper, local_day(found.due_at, keeper.settings.zone)):
        return found.due_at
    return moment(keeper.away_until, time(0), keeper.settings.zone)


def _away_on(keeper: KeeperRecord, day: date) -> bool:
    """Whether the keeper is away on a local day."""
    if keeper.away_until is None or day >= keeper.away_until:
        return False
    return keeper.away_from is None or day >= keeper.away_from


def at_once(found: Occurrence, look: Look) -> Occurrence:
    """What an earlier, missed reminder was about waits no longer."""
    return replace(found, due_at=min(found.due_at, look.now)) if found.day == look.today else found


def not_before(found: Occurrence, at: datetime) -> Occurrence:
    """Routine lines wait for their digest, and never make a second one on one local day."""
    return found if found.urgency is Urgency.URGENT else replace(found, due_at=max(found.due_at, at))


def missed_by(row: StoredOccurrence, look: Look) -> bool:
    """Whether its moment came while nothing could be sent."""
    return row.state is OccurrenceState.PLANNED and row.delivery_id is None and row.occurrence.due_at <= look.now


def still_right(row: StoredOccurrence, firsts: Mapping[Duty, Occurrence], look: Look) -> bool:
    """Whether a planned row lies beyond this look, or was missed on an earlier day and still is what must be said.

    What is urgent is said as of today, so that it is not said again an hour later.
    """
    found, wanted = row.occurrence, firsts.get(row.occurrence.duty)
    if wanted is None:
        return found.day >= look.today + timedelta(days=look.days)
    if wanted.day != look.today or wanted.urgency > found.urgency or wanted.urgency is Urgency.URGENT:
        return False
    return missed_by(row, look) and found.day < look.today <= found.day + timedelta(days=found.useful_days)


def stands(row: StoredOccurrence, keeper: KeeperRecord) -> bool:
    """Whether a row is left alone: it is out or on its way, was moved by the keeper, or slowed down by silence."""
    duty, unanswered = row.occurrence.duty, keeper.unanswered
    slowed = extra_days(duty, unanswered) > 0 and not held_back(duty, unanswered)
    return row.state is OccurrenceState.SENT or row.delivery_id is not None or row.snoozed or slowed


def same_day(row: StoredOccurrence, wanted: Mapping[Duty, Occurrence]) -> bool:
    """Whether a row is what is wanted of its duty."""
    found = wanted.get(row.occurrence.duty)
    return found is not None and found.day == row.occurrence.day
