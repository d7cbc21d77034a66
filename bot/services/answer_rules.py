"""What holds for every answer to a line, be it about a colony or about a feeder culture."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from bot.care.duty import Duty, Outcome, Urgency
from bot.care.errors import BadValueError
from bot.care.localtime import local_day, moment
from bot.services.access import FeederHands, Hands
from bot.services.errors import AlreadyAnsweredError, NoLongerDueError
from bot.services.records import KeeperRecord, OccurrenceState, StoredOccurrence
from bot.services.silence import holds_something

ANSWERED = (OccurrenceState.DONE, OccurrenceState.SKIPPED)
MOST_LATER_DAYS = 30
MOST_LATER_WATER = {Urgency.URGENT: 2, Urgency.SOON: 7, Urgency.ROUTINE: 7}
"""Water is put off by no more days than this: a week holds every next Saturday (judgement)."""


def answered(
    row: StoredOccurrence, hands: Hands | FeederHands, state: OccurrenceState, outcome: Outcome, now: datetime
) -> StoredOccurrence:
    """The row with its answer; it stays with whoever gave it, for a sitter's report."""
    sitter = hands.by.id if hands.sat else None
    return replace(row, state=state, answered_at=now, outcome=outcome, recipient_id=sitter)


def ends_a_silence(hands: Hands | FeederHands) -> bool:
    """Whether this answer is to bring back a whole plan: a silence held some of it back, or a sitter was silent."""
    return holds_something(hands.by.unanswered) or (hands.sat and hands.by.unanswered > 0)


def put_off(row: StoredOccurrence, by: KeeperRecord, until: date, now: datetime) -> StoredOccurrence:
    """The row as it waits for the digest hour of `until` of whoever puts it off; the occurrence stays what it is.

    Raises:
        AlreadyAnsweredError, NoLongerDueError.
        BadValueError: too far; water sooner than anything else.
    """
    check_open(row)
    if row.state is OccurrenceState.SUPERSEDED:
        raise NoLongerDueError
    settings = by.settings
    _check_later(row, (until - local_day(now, settings.zone)).days)
    at = settings.quiet.next_allowed(moment(until, settings.digest_at, settings.zone), settings.zone)
    moved = replace(row.occurrence, due_at=at, latest=max(row.occurrence.latest, until))
    return replace(row, occurrence=moved, state=OccurrenceState.PLANNED, snoozed=True, delivery_id=None)


def _check_later(row: StoredOccurrence, days: int) -> None:
    if not 0 < days <= MOST_LATER_DAYS:
        raise BadValueError("until", f"Later means a day from tomorrow up to {MOST_LATER_DAYS} days ahead.")
    most = MOST_LATER_WATER[row.occurrence.urgency]
    if row.occurrence.duty is Duty.WATER and days > most:
        raise BadValueError("until", f"Water cannot wait that long: choose a day within the next {most} days.")


def check_open(row: StoredOccurrence) -> None:
    """Whether a line still waits for its answer.

    Raises:
        AlreadyAnsweredError.
    """
    if row.state in ANSWERED:
        raise AlreadyAnsweredError(row.outcome)
