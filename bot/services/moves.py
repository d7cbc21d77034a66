"""What one look changes in the stored occurrences of a colony or culture. Pure: rows and a plan in, changes out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from bot.care.agenda import due_moment, plan_firsts
from bot.care.culture_agenda import plan_culture
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.handbook import Handbook
from bot.care.place import Place
from bot.services.looks import (
    TICK,
    Look,
    at_once,
    back,
    firsts_of,
    is_held,
    missed_by,
    next_look,
    not_before,
    same_day,
    stands,
    still_right,
    waits_on,
)
from bot.services.records import (
    ColonyRecord,
    CultureRecord,
    KeeperId,
    KeeperRecord,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)

KNOWN_AHEAD_DAYS = 2
"""A plan is made anew so many days before what it does not know yet could be due."""


def place_of(keeper: KeeperRecord, record: ColonyRecord | CultureRecord) -> Place:
    """The place a colony or culture stands on; one that was removed falls back on the first."""
    kept = record.culture if isinstance(record, CultureRecord) else record.colony
    return next((place for place in keeper.places if place.name == kept.place), keeper.places[0])


@dataclass(frozen=True, slots=True)
class Task:
    """One colony or culture to be planned: whose it is, who is reminded of it, and when they are looked at."""

    owner: KeeperRecord
    kept: ColonyRecord | CultureRecord
    reader: KeeperRecord
    look: Look

    @property
    def recipient(self) -> KeeperId | None:
        """The sitter, or nobody beside the keeper."""
        return None if self.reader.id == self.owner.id else self.reader.id

    def day_later(self, found: Occurrence) -> Occurrence:
        """The same a day later, for whoever is reminded."""
        day = found.day + timedelta(days=1)
        at = due_moment(day, found.urgency, self.reader.settings)
        return replace(found, day=day, latest=max(found.latest, day), due_at=at)

    def timed(self, found: Occurrence) -> Occurrence:
        """An occurrence at the hour of whoever is reminded."""
        if self.recipient is None:
            return found
        return replace(found, due_at=due_moment(found.day, found.urgency, self.reader.settings))

    def new(self, found: Occurrence) -> NewOccurrence:
        """What is wanted, as it is stored."""
        colony_id, culture_id = self.kept.subject
        return NewOccurrence(
            colony_id=colony_id,
            culture_id=culture_id,
            keeper_id=self.owner.id,
            occurrence=found,
            recipient_id=self.recipient,
        )

    def plan(self, handbook: Handbook) -> Sequence[Occurrence]:
        """What comes up in the days of the look, until each duty came once that is not held back."""
        settings, look, place = self.owner.settings, self.look, place_of(self.owner, self.kept)
        if isinstance(self.kept, CultureRecord):
            return plan_culture(self.kept.culture, settings, place, handbook, look.today, look.days).occurrences
        colony, start, days = self.kept.colony, look.today, look.days
        return plan_firsts(colony, settings, place, handbook, start, days, self._speaks)

    def _speaks(self, found: Occurrence) -> bool:
        return not is_held(found, self.reader, self.look.today)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """What is to be written: rows that go, rows that get another moment, and what is wanted of each duty."""

    lapsed: Sequence[OccurrenceId]
    superseded: Sequence[OccurrenceId]
    retimed: Sequence[StoredOccurrence]
    wanted: Mapping[Duty, Occurrence]
    """Without what stands in the store already, word for word."""
    holds_until: date
    """The plan stays what it is up to this day, unless something changes: nothing was to be done before it."""


def moves_of(task: Task, open_now: Sequence[StoredOccurrence], handbook: Handbook) -> Moves:
    """Plan a colony or culture anew and compare with what is stored.

    Sent occurrences whose time is over, or lies ahead because a clock was wrong, lapse. What somebody was told who is
    no longer reminded is told anew to whoever is.

    Raises:
        CareError: it cannot be planned, such as one whose species left the handbook.
    """
    look, plan = task.look, task.plan(handbook)
    firsts = firsts_of([task.timed(found) for found in plan], task.reader, look.today)
    sent = [row for row in open_now if row.state is OccurrenceState.SENT]
    over = {row.id for row in sent if not waits_on(row.occurrence, look.today)}
    moved = {row.id for row in sent if row.reader != task.reader.id} - over
    left = [row for row in open_now if row.id not in over | moved]
    stand = {row.id for row in left if stands(row, task.reader) or still_right(row, firsts, look)}
    wanted = _wanted(task, firsts, left, {row.occurrence.duty for row in left if row.id in stand})
    stale = [row.id for row in left if row.id not in stand and not same_day(row, wanted)]
    return Moves(
        lapsed=sorted(over),
        superseded=[*sorted(moved), *stale],
        retimed=[fresh for row in left if row.id in stand and (fresh := _retimed(row, task)) is not row],
        wanted=_unlike(task, wanted, left),
        holds_until=_holds_until(plan, look),
    )


def _holds_until(plan: Sequence[Occurrence], look: Look) -> date:
    """The first day on which the plan takes something for done; before the last days it knows, lest any come late."""
    return min([found.day for found in plan] + [look.today + timedelta(days=look.days - KNOWN_AHEAD_DAYS)])


def _wanted(
    task: Task, firsts: Mapping[Duty, Occurrence], left: Sequence[StoredOccurrence], held: set[Duty]
) -> dict[Duty, Occurrence]:
    """The next occurrence of each duty that no standing row speaks for, not before it may speak up."""
    look, keeper = task.look, task.reader
    planned = {row.occurrence.duty for row in left if row.state is OccurrenceState.PLANNED}
    missed = {row.occurrence.duty for row in left if missed_by(row, look)}
    return {
        duty: not_before(at_once(found, look), look.free)
        if duty in missed
        else not_before(found, look.free_for(duty, keeper, planned=duty in planned))
        for duty, found in firsts.items()
        if duty not in held
    }


def _unlike(
    task: Task, wanted: Mapping[Duty, Occurrence], rows: Sequence[StoredOccurrence]
) -> Mapping[Duty, Occurrence]:
    """What differs from its row: most of a plan is what it was yesterday."""
    there = {
        row.occurrence.duty: row.occurrence
        for row in rows
        if row.state is OccurrenceState.PLANNED and row.recipient_id == task.recipient and same_day(row, wanted)
    }
    return {duty: found for duty, found in wanted.items() if there.get(duty) != found}


def _retimed(row: StoredOccurrence, task: Task) -> StoredOccurrence:
    """Keep a row that the plan leaves alone to the digests and quiet hours of whoever is reminded now.

    What was missed and may be told now is told now.
    """
    if row.state is OccurrenceState.SENT or row.delivery_id is not None:
        return row
    look, found, same = task.look, row.occurrence, row.recipient_id == task.recipient
    earliest = max(found.due_at, back(found, task.reader))
    if same and max(earliest, look.free) <= look.now:
        return row
    at = next_look(task.reader, earliest - TICK, Urgency.ROUTINE if row.snoozed else found.urgency)
    timed = not_before(replace(found, due_at=at), look.free)
    return row if same and timed == found else replace(row, occurrence=timed, recipient_id=task.recipient)


def by_subject(rows: Sequence[StoredOccurrence]) -> Mapping[Subject, list[StoredOccurrence]]:
    """Rows of each colony and culture, in their order."""
    found: dict[Subject, list[StoredOccurrence]] = {}
    for row in rows:
        found.setdefault(row.subject, []).append(row)
    return found
