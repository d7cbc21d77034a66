"""What a keeper answers to a reminder, or says without one: done, later, not needed, undo; and how it was found.

Every answer is idempotent, is checked for ownership, lands in the colony's log, and moves the plan on.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care.colony import LogEntry, Side
from bot.care.duty import FEEDING, Duty, Outcome
from bot.care.errors import BadValueError
from bot.care.localtime import local_day
from bot.services.access import SAT, Hands, in_hands
from bot.services.answer_rules import ANSWERED, answered, check_open, ends_a_silence, put_off
from bot.services.colonies import owned
from bot.services.errors import AlreadyAnsweredError, NoLongerDueError, NotYoursError
from bot.services.keepers import known
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.quotas import check_room
from bot.services.readers import names_sat_for
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    KeeperId,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
)

WATER_VERDICTS = (Outcome.DAMP, Outcome.ABOUT_DRY, Outcome.BONE_DRY)
FOOD_VERDICTS = (Outcome.TAKEN, Outcome.HALF_TAKEN, Outcome.REFUSED, Outcome.GONE_QUICKLY)
BARRIER_VERDICTS = (Outcome.OK, Outcome.WORN)
Telling = Callable[[Hands], LogEntry]
"""What was done, said of a colony that is only known once it was looked up."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What was written down, and what comes next."""

    colony: ColonyRecord
    duty: Duty
    outcome: Outcome | None
    occurrence_id: OccurrenceId | None = None
    next_day: date | None = None
    """The next planned day of the same duty."""
    ask: tuple[Outcome, ...] = ()
    """Verdicts worth asking for now."""
    leftovers_day: date | None = None
    """When the leftovers of this feeding should come out."""


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """Use cases around answers."""

    units: UnitOfWorkMaker
    planner: Planner

    async def done(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> Recorded:
        """The keeper or sitter did it today; on an old message it also closes a newer occurrence of the same duty.

        Raises:
            NotYoursError, AlreadyAnsweredError.
        """
        return await self._answer(keeper_id, occurrence_id, Outcome.DONE, OccurrenceState.DONE, now)

    async def not_needed(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> Recorded:
        """The keeper looked, and it was not needed; for water this brings a second look soon, not a full interval.

        Raises:
            NotYoursError, AlreadyAnsweredError.
        """
        return await self._answer(keeper_id, occurrence_id, Outcome.SKIPPED, OccurrenceState.SKIPPED, now)

    async def later(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, until: date, now: datetime) -> Recorded:
        """Remind again at the digest hour of `until`; the occurrence stays what it is.

        Raises:
            NotYoursError, AlreadyAnsweredError, NoLongerDueError, BadValueError.
        """
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            await work.occurrences.save(put_off(row, hands.by, until, now))
            await self._returned(work, hands, now)
            await work.commit()
        return Recorded(
            colony=hands.colony, duty=row.occurrence.duty, outcome=None, occurrence_id=row.id, next_day=until
        )

    async def verdict(
        self, keeper_id: KeeperId, occurrence_id: OccurrenceId, outcome: Outcome, now: datetime
    ) -> Recorded:
        """How it was found, after a Done: the drying side of the nest, the leftovers, or the barrier.

        Raises:
            NotYoursError, NoLongerDueError: the occurrence was never done.
        """
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            if row.state is not OccurrenceState.DONE or row.answered_at is None:
                raise NoLongerDueError
            colony = hands.colony
            entry = _verdict_entry(colony, row, outcome, local_day(row.answered_at, hands.owner.settings.zone))
            if not await work.colonies.amend(colony.id, entry):
                await work.colonies.log(colony.id, entry, now, hands.by.id if hands.sat else None)
            await work.occurrences.save(replace(row, outcome=outcome))
            if _gave_nothing(row, outcome) and (side := _side(row)) is not None:
                nest = replace(colony.colony.nest, watered_side=side.other)
                await work.colonies.tend(replace(colony, colony=replace(colony.colony, nest=nest)))
            fresh = await owned(work, hands.owner.id, colony.id)
            recorded = await self._moved_on(work, replace(hands, colony=fresh), entry, now)
            await work.commit()
        return replace(recorded, occurrence_id=row.id, ask=())

    async def undo(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> Recorded:
        """Take back Done or Not needed: the log entry goes, and the occurrence waits for an answer again.

        Raises:
            NotYoursError, NoLongerDueError: there is nothing to take back.
        """
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            if row.state not in ANSWERED or row.answered_at is None:
                raise NoLongerDueError
            day = local_day(row.answered_at, hands.owner.settings.zone)
            await work.colonies.unlog(hands.colony.id, day, row.occurrence.duty)
            await work.occurrences.save(replace(row, state=OccurrenceState.SENT, answered_at=None, outcome=None))
            await self._returned(work, hands, now)
            await work.commit()
        return Recorded(colony=hands.colony, duty=row.occurrence.duty, outcome=None, occurrence_id=row.id)

    async def names(self, keeper_id: KeeperId, now: datetime) -> Mapping[ColonyId, str]:
        """Colonies whose care somebody may write down now: their own, then those they sit for with a mark behind."""
        async with self.units() as work:
            mine = (await work.colonies.names_of([keeper_id])).get(keeper_id, {})
            sat = await names_sat_for(work, keeper_id, now)
        marked = {subject: f"{name} ({SAT})" for subject, name in sat.items()}
        return {colony: name for (colony, _), name in [*mine.items(), *marked.items()] if colony is not None}

    async def record(
        self, keeper_id: KeeperId, colony_id: ColonyId, told: LogEntry | Telling, now: datetime
    ) -> Recorded:
        """Something done without a reminder, or before one came; closes an open occurrence of the same duty.

        Args:
            keeper_id: whoever did it.
            colony_id: of which colony.
            told: what was done; or how to say it of the colony, whose days are those of its keeper.
            now: the moment.

        Raises:
            NotYoursError, NotSetUpError, SittingAheadError, SittingOverError.
            BadValueError: a day in the future or more than a year back, or before the days of a sitter.
        """
        async with self.units() as work:
            hands = await in_hands(work, await known(work, keeper_id), colony_id, now)
            entry = told if isinstance(told, LogEntry) else told(hands)
            _check_day(entry.day, hands, local_day(now, hands.owner.settings.zone))
            check_room(hands.colony.colony, entry)
            closed = await self._close_open(work, hands, entry, now)
            recorded = await self._log(work, hands, entry, now)
            await work.commit()
        return replace(recorded, occurrence_id=closed)

    async def _answer(
        self,
        keeper_id: KeeperId,
        occurrence_id: OccurrenceId,
        outcome: Outcome,
        state: OccurrenceState,
        now: datetime,
    ) -> Recorded:
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            check_open(row)
            await work.occurrences.save(answered(row, hands, state, outcome, now))
            day = local_day(now, hands.owner.settings.zone)
            entry = LogEntry(day=day, duty=row.occurrence.duty, outcome=outcome, side=_side(row), food=_food(row))
            await self._close_open(work, hands, entry, now)
            recorded = await self._log(work, hands, entry, now)
            await work.commit()
        return replace(recorded, occurrence_id=row.id)

    async def _mine(
        self, work: UnitOfWork, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime
    ) -> tuple[Hands, StoredOccurrence]:
        """An occurrence of the keeper's colony, or of a sat one if the sitter was reminded of it."""
        by = await known(work, keeper_id)
        row = await work.occurrences.get(occurrence_id)
        if row is None or row.colony_id is None or keeper_id not in {row.keeper_id, row.recipient_id}:
            raise NotYoursError
        return await in_hands(work, by, row.colony_id, now), row

    async def _close_open(self, work: UnitOfWork, hands: Hands, entry: LogEntry, now: datetime) -> OccurrenceId | None:
        for row in await work.occurrences.open_of(hands.colony.id):
            if row.occurrence.duty is entry.duty and row.occurrence.earliest <= entry.day:
                state = OccurrenceState.SKIPPED if entry.outcome is Outcome.SKIPPED else OccurrenceState.DONE
                await work.occurrences.save(answered(row, hands, state, entry.outcome, now))
                return row.id
        return None

    async def _log(self, work: UnitOfWork, hands: Hands, entry: LogEntry, now: datetime) -> Recorded:
        await work.colonies.log(hands.colony.id, entry, now, hands.by.id if hands.sat else None)
        return await self._moved_on(work, replace(hands, colony=hands.colony.with_entry(entry)), entry, now)

    async def _moved_on(self, work: UnitOfWork, hands: Hands, entry: LogEntry, now: datetime) -> Recorded:
        """What follows from an entry that the colony in `hands` already has."""
        fresh = await self._apply(work, hands.colony, entry)
        await self._returned(work, replace(hands, colony=fresh), now)
        ahead = {row.occurrence.duty: row.occurrence.day for row in await work.occurrences.open_of(fresh.id)}
        return Recorded(
            colony=fresh,
            duty=entry.duty,
            outcome=entry.outcome,
            next_day=ahead.get(entry.duty),
            ask=_worth_asking(entry),
            leftovers_day=ahead.get(Duty.LEFTOVERS) if entry.duty in FEEDING else None,
        )

    async def _apply(self, work: UnitOfWork, record: ColonyRecord, entry: LogEntry) -> ColonyRecord:
        """What an entry changes in the colony itself: the watered side, a renewed barrier, a counted colony."""
        colony = record.colony
        if entry.duty is Duty.WATER and entry.side is not None and entry.outcome is not Outcome.SKIPPED:
            colony = replace(colony, nest=replace(colony.nest, watered_side=entry.side))
        if entry.duty is Duty.BARRIER_RENEW and entry.outcome is Outcome.DONE and colony.outworld is not None:
            colony = replace(colony, outworld=replace(colony.outworld, renewed=entry.day))
        if entry.duty is Duty.CENSUS and entry.count is not None:
            colony = replace(colony, workers=entry.count)
        if colony == record.colony:
            return record
        await work.colonies.tend(replace(record, colony=colony))
        return replace(record, colony=colony, version=record.version + 1)

    async def _returned(self, work: UnitOfWork, hands: Hands, now: datetime) -> None:
        """Any answer ends the silence of whoever gives it: where that held something back, the whole plan comes."""
        here = replace(hands.by, unanswered=0)
        if ends_a_silence(hands):
            await self.planner.replan_keeper(work, here, now)
        else:
            await self.planner.replan_colony(work, hands.owner if hands.sat else here, hands.colony, now)


def _check_day(day: date, hands: Hands, today: date) -> None:
    if hands.since is not None and not hands.since <= day <= today:
        raise BadValueError("day", f"As a sitter you write down days from {hands.since.isoformat()} up to today.")
    if not 0 <= (today - day).days <= 366:
        raise BadValueError("day", f"Give a day from a year ago up to today, {today.isoformat()}.")


def _side(row: StoredOccurrence) -> Side | None:
    side = row.occurrence.facts.get("side")
    return Side(side) if isinstance(side, str) and side in {"A", "B"} else None


def _food(row: StoredOccurrence) -> str | None:
    food = row.occurrence.facts.get("food")
    return food if isinstance(food, str) else None


def _gave_nothing(row: StoredOccurrence, outcome: Outcome) -> bool:
    """In the cold water is given only where a side is nearly dry: a damp one was only looked at."""
    return outcome is Outcome.DAMP and "gives" in row.occurrence.facts


def _worth_asking(entry: LogEntry) -> tuple[Outcome, ...]:
    if entry.outcome is not Outcome.DONE:
        return ()
    if entry.duty is Duty.WATER:
        return WATER_VERDICTS
    if entry.duty is Duty.LEFTOVERS:
        return FOOD_VERDICTS
    return BARRIER_VERDICTS if entry.duty is Duty.BARRIER_CHECK else ()


def _verdict_entry(colony: ColonyRecord, row: StoredOccurrence, outcome: Outcome, day: date) -> LogEntry:
    """The entry that a verdict changes: the Done of that day, or for what was left over, that of the last feeding."""
    duty = row.occurrence.duty
    if outcome not in _worth_asking(LogEntry(day=day, duty=duty, outcome=Outcome.DONE)):
        raise BadValueError("outcome", "That is no answer to this question.")
    if outcome not in FOOD_VERDICTS:
        side = None if _gave_nothing(row, outcome) else _side(row)
        return LogEntry(day=day, duty=duty, outcome=outcome, side=side)
    if row.outcome in FOOD_VERDICTS:
        raise AlreadyAnsweredError(row.outcome)
    fed = [entry for entry in colony.colony.log if entry.duty in FEEDING and entry.outcome is Outcome.DONE]
    if not fed:
        raise NoLongerDueError
    return replace(fed[-1], outcome=outcome)
