"""Turns plans into stored occurrences: the next one of each duty, and the moment the keeper must be looked at next.

Called after every change of a colony or culture and, through the dispatch loop, once on every local day of a keeper.
Doing it twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from bot.care.agenda import due_moment, plan_colony
from bot.care.culture_agenda import plan_culture
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day, moment
from bot.care.place import Place
from bot.services.looks import (
    TICK,
    Look,
    at_once,
    back,
    firsts_of,
    missed_by,
    next_look,
    not_before,
    same_day,
    shut_out,
    stands,
    still_right,
    waits_on,
)
from bot.services.ports import UnitOfWork
from bot.services.readers import feeders_sat_for, readers_of, sat_for
from bot.services.records import (
    ColonyRecord,
    CultureRecord,
    KeeperId,
    KeeperRecord,
    NewOccurrence,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)

HORIZON_DAYS = 45
"""How far ahead the next occurrence of a duty is looked for after a change."""
USED_DAYS = 4
"""A wrong clock or a move across the date line can have used up so many days to come (judgement)."""


def place_of(keeper: KeeperRecord, record: ColonyRecord | CultureRecord) -> Place:
    """The place a colony or culture stands on; one that was removed falls back on the first."""
    kept = record.culture if isinstance(record, CultureRecord) else record.colony
    return next((place for place in keeper.places if place.name == kept.place), keeper.places[0])


@dataclass(frozen=True, slots=True)
class _Task:
    """One colony or culture to be planned: whose it is, who is reminded of it, and when they are looked at."""

    owner: KeeperRecord
    kept: ColonyRecord | CultureRecord
    reader: KeeperRecord
    look: Look
    home: KeeperId
    """The keeper that the unit of work is about."""

    @property
    def recipient(self) -> KeeperId | None:
        """The sitter, or nobody beside the keeper."""
        return None if self.reader.id == self.owner.id else self.reader.id

    def day_later(self, found: Occurrence) -> Occurrence:
        """The same a day later, for whoever is reminded."""
        day = found.day + timedelta(days=1)
        at = due_moment(day, found.urgency, self.reader.settings)
        return replace(found, day=day, latest=max(found.latest, day), due_at=at)

    def new(self, found: Occurrence) -> NewOccurrence:
        """To be stored."""
        colony_id, culture_id = self.kept.subject
        return NewOccurrence(
            colony_id=colony_id,
            culture_id=culture_id,
            keeper_id=self.owner.id,
            occurrence=found,
            recipient_id=self.recipient,
        )

    async def open_rows(self, work: UnitOfWork) -> Sequence[StoredOccurrence]:
        """What is planned or sent of it."""
        if isinstance(self.kept, CultureRecord):
            return await work.occurrences.open_of_culture(self.kept.id)
        return await work.occurrences.open_of(self.kept.id)

    def timed(self, found: Occurrence) -> Occurrence:
        """An occurrence at the hour of whoever is reminded."""
        if self.recipient is None:
            return found
        return replace(found, due_at=due_moment(found.day, found.urgency, self.reader.settings))


def _untold(subject: Subject, problem: CareError) -> None:
    """Nobody asked to be told."""


def _uncounted() -> None:
    """Nobody counts."""


@dataclass(frozen=True, slots=True)
class Planner:
    """Writes occurrences inside the caller's unit of work; the caller commits."""

    handbook: Handbook
    on_unplannable: Callable[[Subject, CareError], None] = _untold
    """Told of what cannot be planned, such as a colony whose species left the handbook; the others are planned."""
    on_replan: Callable[[], None] = _uncounted
    """Told of every re-plan."""

    async def replan_keeper(
        self, work: UnitOfWork, keeper: KeeperRecord, now: datetime, days: int = HORIZON_DAYS
    ) -> KeeperRecord:
        """Re-plan the next days of every kept and every sat colony, and set the next wake moment.

        Returns:
            The keeper as saved.
        """
        self.on_replan()
        own = [(keeper, colony) for colony in await work.colonies.of(keeper.id)]
        feeders = [(keeper, culture) for culture in await work.cultures.of(keeper.id)]
        sat = await sat_for(work, keeper.id, now)
        sat_feeders = await feeders_sat_for(work, keeper.id, now)
        for task in await self._tasks(work, keeper, [*own, *feeders, *sat, *sat_feeders], now, days):
            try:
                await self._replan(work, task)
            except CareError as problem:
                self.on_unplannable(task.kept.subject, problem)
        today = local_day(now, keeper.settings.zone)
        return await self.wake(work, replace(keeper, planned_on=today), now)

    async def replan_colony(
        self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one colony and set the keeper's next wake moment; returns the keeper as saved."""
        for task in await self._tasks(work, keeper, [(keeper, colony)], now, HORIZON_DAYS):
            await self._replan(work, task)
        return await self.wake(work, keeper, now)

    async def replan_culture(
        self, work: UnitOfWork, keeper: KeeperRecord, culture: CultureRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one feeder culture and set the keeper's next wake moment; returns the keeper as saved."""
        for task in await self._tasks(work, keeper, [(keeper, culture)], now, HORIZON_DAYS):
            await self._replan(work, task)
        return await self.wake(work, keeper, now)

    async def forget(self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime) -> KeeperRecord:
        """Nothing more of a colony that is no longer kept; returns the keeper as saved."""
        rows = await work.occurrences.open_of(colony.id)
        await work.occurrences.set_state([row.id for row in rows], OccurrenceState.SUPERSEDED)
        return await self.wake(work, keeper, now)

    async def wake(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> KeeperRecord:
        """Set `next_wake` to the earliest due moment or the next regular look, which re-plans the day; never quiet."""
        wake = None
        if keeper.reminders_on and not shut_out(keeper):
            rows = await work.occurrences.open_of_keeper(keeper.id)
            planned = [row.occurrence.due_at for row in rows if row.state is OccurrenceState.PLANNED]
            told = await work.notes.next_due(keeper.id)
            planned += [] if told is None else [told]
            urgent = any(row.occurrence.urgency is Urgency.URGENT for row in rows if row.state is OccurrenceState.SENT)
            looks = [next_look(keeper, now, urgency) for urgency in ((Urgency.ROUTINE, Urgency.URGENT)[: 1 + urgent])]
            wake = keeper.settings.quiet.next_allowed(max(now, min([*planned, *looks])), keeper.settings.zone)
        saved = replace(keeper, next_wake=wake)
        await work.keepers.save(saved)
        return saved

    async def _tasks(
        self,
        work: UnitOfWork,
        home: KeeperRecord,
        wanted: Sequence[tuple[KeeperRecord, ColonyRecord | CultureRecord]],
        now: datetime,
        days: int,
    ) -> list[_Task]:
        """Who is reminded of each, and the look that goes with them; the days are those of its keeper."""
        readers = {owner.id: await readers_of(work, owner, now, home) for owner, _ in wanted}
        looks: dict[KeeperId, Look] = {}
        tasks: list[_Task] = []
        for owner, kept in wanted:
            reader = readers[owner.id].get(kept.subject, owner)
            if reader.id not in looks:
                looks[reader.id] = await self._look(work, reader, now, days)
            look = replace(looks[reader.id], today=local_day(now, owner.settings.zone))
            tasks.append(_Task(owner, kept, reader, look, home.id))
        return tasks

    async def _look(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime, days: int) -> Look:
        today = local_day(now, keeper.settings.zone)
        free = moment(today, time(0), keeper.settings.zone)
        if await work.deliveries.digest_sent_since(keeper.id, free):
            free = due_moment(today + timedelta(days=1), Urgency.ROUTINE, keeper.settings)
        return Look(now, today, free, days)

    def _planned(self, task: _Task) -> Sequence[Occurrence]:
        settings, look, place = task.owner.settings, task.look, place_of(task.owner, task.kept)
        if isinstance(task.kept, CultureRecord):
            return plan_culture(task.kept.culture, settings, place, self.handbook, look.today, look.days).occurrences
        return plan_colony(task.kept.colony, settings, place, self.handbook, look.today, look.days).occurrences

    async def _replan(self, work: UnitOfWork, task: _Task) -> None:
        keeper, look = task.reader, task.look
        firsts = firsts_of([task.timed(found) for found in self._planned(task)], keeper, look.today)
        open_now = await self._without_lapsed(work, await task.open_rows(work), task)
        stand = [row for row in open_now if stands(row, keeper) or still_right(row, firsts, look)]
        for row in stand:
            await self._retime(work, row, task)
        held = {row.occurrence.duty for row in stand}
        planned = {row.occurrence.duty for row in open_now if row.state is OccurrenceState.PLANNED}
        missed = {row.occurrence.duty for row in open_now if missed_by(row, look)}
        wanted = {
            duty: not_before(at_once(found, look), look.free)
            if duty in missed
            else not_before(found, look.free_for(duty, keeper, planned=duty in planned))
            for duty, found in firsts.items()
            if duty not in held
        }
        stale = [row.id for row in open_now if row not in stand and not same_day(row, wanted)]
        await work.occurrences.set_state(stale, OccurrenceState.SUPERSEDED)
        await self._write(work, task, wanted)
        await self._wake_reader(work, task)

    async def _write(self, work: UnitOfWork, task: _Task, wanted: Mapping[Duty, Occurrence]) -> None:
        """Store what is wanted; where its day was told or answered before a clock or zone went back, a day later."""
        for _ in range(USED_DAYS):
            stored = await work.occurrences.plan([task.new(found) for found in wanted.values()])
            used = {row.occurrence.duty for row in stored if row.state is not OccurrenceState.PLANNED}
            wanted = {duty: task.day_later(wanted[duty]) for duty in used}
            if not wanted:
                return

    async def _without_lapsed(
        self, work: UnitOfWork, rows: Sequence[StoredOccurrence], task: _Task
    ) -> list[StoredOccurrence]:
        """Close sent occurrences whose time is over, or lies ahead because a clock was wrong; returns what stands.

        What somebody was told who is no longer reminded is told anew to whoever is.
        """
        sent = [row for row in rows if row.state is OccurrenceState.SENT]
        over = {row.id for row in sent if not waits_on(row.occurrence, task.look.today)}
        moved = {row.id for row in sent if row.reader != task.reader.id} - over
        await work.occurrences.set_state(sorted(over), OccurrenceState.LAPSED)
        await work.occurrences.set_state(sorted(moved), OccurrenceState.SUPERSEDED)
        return [row for row in rows if row.id not in over | moved]

    async def _wake_reader(self, work: UnitOfWork, task: _Task) -> None:
        """Whoever is reminded beside the keeper of this unit of work is looked at in time."""
        if task.reader.id == task.home:
            return
        rows = await task.open_rows(work)
        planned = [row.occurrence.due_at for row in rows if row.state is OccurrenceState.PLANNED]
        if planned:
            settings = task.reader.settings
            await work.keepers.wake_by(task.reader.id, settings.quiet.next_allowed(min(planned), settings.zone))

    async def _retime(self, work: UnitOfWork, row: StoredOccurrence, task: _Task) -> None:
        """Keep a row that the plan leaves alone to the digests and quiet hours of whoever is reminded now."""
        if row.state is OccurrenceState.SENT or row.delivery_id is not None:
            return
        keeper, look = task.reader, task.look
        found = row.occurrence
        urgency = Urgency.ROUTINE if row.snoozed else found.urgency
        at = next_look(keeper, max(found.due_at, back(found, keeper)) - TICK, urgency)
        timed = not_before(replace(found, due_at=at), look.free)
        if timed != found or row.recipient_id != task.recipient:
            await work.occurrences.save(replace(row, occurrence=timed, recipient_id=task.recipient))
