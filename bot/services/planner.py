"""Turns plans into stored occurrences: the next one of each duty, and the moment the keeper must be looked at next.

Called after every change of a colony or culture and, through the dispatch loop, once on every local day of a keeper.
Doing it twice changes nothing. Many keepers are looked at together: everything is read and written in a few statements.

A plan takes every duty for done on its day, so until the first of these days it is what any later plan would say. A
look therefore plans anew only where that day is past, or where something changed: the colony or its log (the store
forgets that the plan holds), the keeper's settings, the handbook.
"""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime, time, timedelta

from bot.care.agenda import due_moment
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day, moment
from bot.services.looks import LOOK_DAYS, Look, next_look, shut_out
from bot.services.moves import Moves, Task, by_subject, moves_of, place_of
from bot.services.ports import UnitOfWork
from bot.services.readers import feeders_sat_for, readers_of, sat_for
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    CultureRecord,
    KeeperId,
    KeeperRecord,
    OccurrenceState,
    Standing,
    Subject,
)
from bot.services.reminder_ports import Outlook
from bot.services.silence import SLOWER_AFTER

__all__ = ["HORIZON_DAYS", "Planner", "place_of"]

HORIZON_DAYS = 45
"""How far ahead the next occurrence of a duty is looked for after a change."""
USED_DAYS = 4
"""A wrong clock or a move across the date line can have used up so many days to come (judgement)."""


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
        (saved,) = await self._replan(work, [keeper], now, days)
        return saved

    async def look_at(self, work: UnitOfWork, keepers: Sequence[KeeperRecord], now: datetime) -> Sequence[KeeperRecord]:
        """The regular look at keepers: plans that do not hold any more are made anew, and the next look is set.

        Returns:
            The keepers as saved, in their order.
        """
        return await self._replan(work, keepers, now, LOOK_DAYS, await self._standing(work, keepers, now))

    async def replan_colony(
        self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one colony and set the keeper's next wake moment; returns the keeper as saved.

        Raises:
            CareError: it cannot be planned.
        """
        return await self._replan_one(work, keeper, colony, now)

    async def replan_culture(
        self, work: UnitOfWork, keeper: KeeperRecord, culture: CultureRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one feeder culture and set the keeper's next wake moment; returns the keeper as saved."""
        return await self._replan_one(work, keeper, culture, now)

    async def forget(self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime) -> KeeperRecord:
        """Nothing more of a colony that is no longer kept; returns the keeper as saved."""
        rows = await work.occurrences.open_of(colony.id)
        await work.occurrences.set_state([row.id for row in rows], OccurrenceState.SUPERSEDED)
        return await self.wake(work, keeper, now)

    async def wake(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> KeeperRecord:
        """Set `next_wake` to the earliest due moment or the next regular look, which re-plans the day; never quiet."""
        (saved,) = await self.wake_all(work, [keeper], now)
        return saved

    async def wake_all(
        self, work: UnitOfWork, keepers: Sequence[KeeperRecord], now: datetime
    ) -> Sequence[KeeperRecord]:
        """As `wake`, for several; they come back in their order."""
        ids = [keeper.id for keeper in keepers if _is_woken(keeper)]
        outlooks = await work.occurrences.outlook(ids) if ids else {}
        notes = await work.notes.next_due(ids) if ids else {}
        saved = [
            replace(keeper, next_wake=_wake_of(keeper, outlooks.get(keeper.id, Outlook()), notes.get(keeper.id), now))
            for keeper in keepers
        ]
        await work.keepers.save_all(saved)
        return saved

    async def _standing(self, work: UnitOfWork, keepers: Sequence[KeeperRecord], now: datetime) -> Collection[ColonyId]:
        """Colonies whose stored plan is what planning them anew would say; never those of a sitting."""
        sittings = await work.sittings.open_of_all([keeper.id for keeper in keepers])
        shared = {found for sitting in sittings for found in (sitting.keeper_id, sitting.sitter_id)}
        alone = {keeper.id: keeper for keeper in keepers if keeper.id not in shared}
        found: set[ColonyId] = set()
        for keeper_id, plans in (await work.colonies.standing(sorted(alone))).items() if alone else ():
            keeper = alone[keeper_id]
            today, made_with = local_day(now, keeper.settings.zone), self._inputs(keeper)
            found |= {each for each, plan in plans.items() if today <= plan.until and plan.made_with == made_with}
        return found

    def _inputs(self, keeper: KeeperRecord) -> str:
        """Fingerprint of everything but the colonies that a keeper's plans are made of."""
        settings = [getattr(keeper.settings, each.name) for each in fields(keeper.settings) if each.name != "zone"]
        silence = max(0, keeper.unanswered - SLOWER_AFTER + 1)
        made_of = (*settings, keeper.zone_data, keeper.places, keeper.away_from, keeper.away_until, silence)
        text = repr((self.handbook.fingerprint, made_of))
        return hashlib.blake2b(text.encode(), digest_size=12).hexdigest()

    async def _replan(
        self,
        work: UnitOfWork,
        keepers: Sequence[KeeperRecord],
        now: datetime,
        days: int,
        standing: Collection[ColonyId] = (),
    ) -> Sequence[KeeperRecord]:
        for _ in keepers:
            self.on_replan()
        tasks = await self._tasks(work, keepers, await self._kept(work, keepers, standing, now), now, days)
        planned: list[tuple[Task, Moves]] = []
        rows = by_subject(await work.occurrences.open_of_all([task.kept.subject for task in tasks]))
        for task in tasks:
            try:
                planned.append((task, moves_of(task, rows.get(task.kept.subject, ()), self.handbook)))
            except CareError as problem:
                self.on_unplannable(task.kept.subject, problem)
            await asyncio.sleep(0)  # planning takes a while, and others wait for the loop
        await self._write(work, planned)
        await self._wake_others(work, {keeper.id for keeper in keepers}, tasks)
        looked_at = [replace(keeper, planned_on=local_day(now, keeper.settings.zone)) for keeper in keepers]
        return await self.wake_all(work, looked_at, now)

    async def _replan_one(
        self, work: UnitOfWork, keeper: KeeperRecord, kept: ColonyRecord | CultureRecord, now: datetime
    ) -> KeeperRecord:
        tasks = await self._tasks(work, [keeper], [(keeper, kept)], now, HORIZON_DAYS)
        rows = await work.occurrences.open_of_all([kept.subject])
        await self._write(work, [(task, moves_of(task, rows, self.handbook)) for task in tasks])
        await self._wake_others(work, {keeper.id}, tasks)
        return await self.wake(work, keeper, now)

    async def _kept(
        self, work: UnitOfWork, keepers: Sequence[KeeperRecord], standing: Collection[ColonyId], now: datetime
    ) -> list[tuple[KeeperRecord, ColonyRecord | CultureRecord]]:
        """Everything of which the keepers are reminded, or would be without a sitter, each once; not what stands."""
        owners = {keeper.id: keeper for keeper in keepers}
        ids = sorted(owners)
        own: list[ColonyRecord | CultureRecord] = [
            *await work.colonies.of_all(ids, standing),
            *await work.cultures.of_all(ids),
        ]
        kept = [(owners[record.keeper_id], record) for record in own]
        for sitter_id in sorted({each.sitter_id for each in await work.sittings.open_of_all(ids)} & owners.keys()):
            kept += await sat_for(work, sitter_id, now)
            kept += await feeders_sat_for(work, sitter_id, now)
        return list({record.subject: (owner, record) for owner, record in reversed(kept)}.values())

    async def _tasks(
        self,
        work: UnitOfWork,
        homes: Sequence[KeeperRecord],
        wanted: Sequence[tuple[KeeperRecord, ColonyRecord | CultureRecord]],
        now: datetime,
        days: int,
    ) -> list[Task]:
        """Who is reminded of each, and the look that goes with them; the days are those of its keeper."""
        owners = {owner.id: owner for owner, _ in wanted}
        known = {keeper.id: keeper for keeper in homes}
        readers = await readers_of(work, list(owners.values()), now, known) if owners else {}
        whose = [(owner, kept, readers.get(kept.subject, owner)) for owner, kept in wanted]
        looks = await self._looks(work, {reader.id: reader for _, _, reader in whose}, now, days)
        return [
            Task(owner, kept, reader, replace(looks[reader.id], today=local_day(now, owner.settings.zone)))
            for owner, kept, reader in whose
        ]

    async def _looks(
        self, work: UnitOfWork, readers: Mapping[KeeperId, KeeperRecord], now: datetime, days: int
    ) -> Mapping[KeeperId, Look]:
        """The look at each reader: routine lines speak up from midnight on, or tomorrow if today had its digest."""
        if not readers:
            return {}
        looks: dict[KeeperId, Look] = {}
        for reader in readers.values():
            today = local_day(now, reader.settings.zone)
            looks[reader.id] = Look(now, today, moment(today, time(0), reader.settings.zone), days)
        had = await work.deliveries.last_digests(sorted(readers), min(look.free for look in looks.values()))
        for reader_id, at in had.items():
            look = looks[reader_id]
            if at >= look.free:
                tomorrow = due_moment(look.today + timedelta(days=1), Urgency.ROUTINE, readers[reader_id].settings)
                looks[reader_id] = replace(look, free=tomorrow)
        return looks

    async def _write(self, work: UnitOfWork, planned: Sequence[tuple[Task, Moves]]) -> None:
        """Store the moves; where a day was told or answered before a clock or zone went back, a day later."""
        await work.colonies.plan_stands(
            {
                task.kept.id: Standing(moves.holds_until, self._inputs(task.owner)) if task.recipient is None else None
                for task, moves in planned
                if isinstance(task.kept, ColonyRecord)
            }
        )
        lapsed = [row_id for _, moves in planned for row_id in moves.lapsed]
        await work.occurrences.set_state(lapsed, OccurrenceState.LAPSED)
        superseded = [row_id for _, moves in planned for row_id in moves.superseded]
        await work.occurrences.set_state(superseded, OccurrenceState.SUPERSEDED)
        await work.occurrences.save_all([row for _, moves in planned for row in moves.retimed])
        wanted: list[tuple[Task, Mapping[Duty, Occurrence]]] = [(task, moves.wanted) for task, moves in planned]
        for _ in range(USED_DAYS):
            new = [task.new(found) for task, duties in wanted for found in duties.values()]
            if not new:
                return
            used = {(each.subject, each.occurrence.duty) for each in await work.occurrences.plan(new)}
            wanted = [
                (task, {duty: task.day_later(duties[duty]) for duty in duties if (task.kept.subject, duty) in used})
                for task, duties in wanted
            ]

    async def _wake_others(self, work: UnitOfWork, homes: set[KeeperId], tasks: Sequence[Task]) -> None:
        """Whoever is reminded beside the keepers of this unit of work is looked at in time."""
        others = {task.kept.subject: task.reader for task in tasks if task.reader.id not in homes}
        for row in await work.occurrences.open_of_all(list(others)):
            if row.state is OccurrenceState.PLANNED:
                reader = others[row.subject]
                at = reader.settings.quiet.next_allowed(row.occurrence.due_at, reader.settings.zone)
                await work.keepers.wake_by(reader.id, at)


def _is_woken(keeper: KeeperRecord) -> bool:
    return keeper.reminders_on and not shut_out(keeper)


def _wake_of(keeper: KeeperRecord, ahead: Outlook, told: datetime | None, now: datetime) -> datetime | None:
    if not _is_woken(keeper):
        return None
    urgencies = (Urgency.ROUTINE, Urgency.URGENT)[: 1 + ahead.urgent_out]
    looks = [next_look(keeper, now, urgency) for urgency in urgencies]
    first = min([*looks, *(at for at in (ahead.next_due, told) if at is not None)])
    return keeper.settings.quiet.next_allowed(max(now, first), keeper.settings.zone)
