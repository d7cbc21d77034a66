"""Turns plans into stored occurrences: the next one of each duty, and the moment the keeper must be looked at next.

Called after every change of a colony and, through the dispatch loop, once on every local day of a keeper. Doing it
twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from bot.care.agenda import due_moment, plan_colony
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day, moment
from bot.care.place import Household, Place
from bot.services.ports import UnitOfWork
from bot.services.readers import readers_of, sat_for
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    Door,
    KeeperId,
    KeeperRecord,
    NewOccurrence,
    OccurrenceState,
    StoredOccurrence,
)
from bot.services.silence import MOST_EXTRA_DAYS, NEVER_HELD, extra_days, held_back

HORIZON_DAYS = 45
"""How far ahead the next occurrence of a duty is looked for after a change."""
LOOK_DAYS = MOST_EXTRA_DAYS + 2
"""How far ahead the daily look re-plans; what was planned for later stays until it comes so near."""
REPEAT_WATER_DAYS = {Urgency.URGENT: 1, Urgency.SOON: 2, Urgency.ROUTINE: 2}
"""Days after which an unanswered water reminder comes again; water is never silent."""
LATE_LOOK = timedelta(hours=3)
"""A daily look up to this late still is the look of that day's digest."""
REFUSALS_UNTIL_PAUSE = 3
"""Refused deliveries in a row after which the bot waits for the keeper."""
TICK = timedelta(microseconds=1)


def place_of(keeper: KeeperRecord, colony: ColonyRecord) -> Place:
    """The place a colony stands on; one that was removed falls back on the first."""
    names = {place.name for place in keeper.places}
    known = colony.colony if colony.colony.place in names else replace(colony.colony, place=None)
    return Household(keeper=keeper.settings, places=keeper.places).place_of(known)


@dataclass(frozen=True, slots=True)
class _Look:
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


@dataclass(frozen=True, slots=True)
class _Task:
    """One colony to be planned: whose it is, who is reminded of it, and when they are looked at."""

    owner: KeeperRecord
    colony: ColonyRecord
    reader: KeeperRecord
    look: _Look
    home: KeeperId
    """The keeper that the unit of work is about."""

    @property
    def recipient(self) -> KeeperId | None:
        """The sitter, or nobody beside the keeper."""
        return None if self.reader.id == self.owner.id else self.reader.id

    def timed(self, found: Occurrence) -> Occurrence:
        """An occurrence at the hour of whoever is reminded."""
        if self.recipient is None:
            return found
        return replace(found, due_at=due_moment(found.day, found.urgency, self.reader.settings))


def _untold(colony_id: ColonyId, problem: CareError) -> None:
    """Nobody asked to be told."""


@dataclass(frozen=True, slots=True)
class Planner:
    """Writes occurrences inside the caller's unit of work; the caller commits."""

    handbook: Handbook
    on_unplannable: Callable[[ColonyId, CareError], None] = _untold
    """Told of a colony that cannot be planned, such as one whose species left the handbook; the others are planned."""

    async def replan_keeper(
        self, work: UnitOfWork, keeper: KeeperRecord, now: datetime, days: int = HORIZON_DAYS
    ) -> KeeperRecord:
        """Re-plan the next days of every kept and every sat colony, and set the next wake moment.

        Returns:
            The keeper as saved.
        """
        own = [(keeper, colony) for colony in await work.colonies.of(keeper.id)]
        sat = await sat_for(work, keeper.id, now)
        for task in await self._tasks(work, keeper, [*own, *sat], now, days):
            try:
                await self._replan_colony(work, task)
            except CareError as problem:
                self.on_unplannable(task.colony.id, problem)
        today = local_day(now, keeper.settings.zone)
        return await self.wake(work, replace(keeper, planned_on=today), now)

    async def replan_colony(
        self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one colony and set the keeper's next wake moment; returns the keeper as saved."""
        for task in await self._tasks(work, keeper, [(keeper, colony)], now, HORIZON_DAYS):
            await self._replan_colony(work, task)
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
        colonies: Sequence[tuple[KeeperRecord, ColonyRecord]],
        now: datetime,
        days: int,
    ) -> list[_Task]:
        """Who is reminded of each colony, and the look that goes with them; the days are those of its keeper."""
        readers = {owner.id: await readers_of(work, owner, now, home) for owner, _ in colonies}
        looks: dict[KeeperId, _Look] = {}
        tasks: list[_Task] = []
        for owner, colony in colonies:
            reader = readers[owner.id].get(colony.id, owner)
            if reader.id not in looks:
                looks[reader.id] = await self._look(work, reader, now, days)
            look = replace(looks[reader.id], today=local_day(now, owner.settings.zone))
            tasks.append(_Task(owner, colony, reader, look, home.id))
        return tasks

    async def _look(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime, days: int) -> _Look:
        today = local_day(now, keeper.settings.zone)
        free = moment(today, time(0), keeper.settings.zone)
        if await work.deliveries.digest_sent_since(keeper.id, free):
            free = due_moment(today + timedelta(days=1), Urgency.ROUTINE, keeper.settings)
        return _Look(now, today, free, days)

    async def _replan_colony(self, work: UnitOfWork, task: _Task) -> None:
        owner, colony, keeper, look = task.owner, task.colony, task.reader, task.look
        plan = plan_colony(colony.colony, owner.settings, place_of(owner, colony), self.handbook, look.today, look.days)
        firsts = _firsts([task.timed(found) for found in plan.occurrences], keeper, look.today)
        open_now = await self._without_lapsed(work, await work.occurrences.open_of(colony.id), task)
        stand = [row for row in open_now if _stands(row, keeper) or _still_right(row, firsts, look)]
        for row in stand:
            await self._retime(work, row, task)
        held = {row.occurrence.duty for row in stand}
        planned = {row.occurrence.duty for row in open_now if row.state is OccurrenceState.PLANNED}
        missed = {row.occurrence.duty for row in open_now if _missed(row, look)}
        wanted = {
            duty: _not_before(_at_once(found, look), look.free)
            if duty in missed
            else _not_before(found, look.free_for(duty, keeper, planned=duty in planned))
            for duty, found in firsts.items()
            if duty not in held
        }
        stale = [row.id for row in open_now if row not in stand and not _same(row, wanted)]
        await work.occurrences.set_state(stale, OccurrenceState.SUPERSEDED)
        await work.occurrences.plan(
            [
                NewOccurrence(colony_id=colony.id, keeper_id=owner.id, occurrence=found, recipient_id=task.recipient)
                for found in wanted.values()
            ]
        )
        await self._wake_reader(work, task)

    async def _without_lapsed(
        self, work: UnitOfWork, rows: Sequence[StoredOccurrence], task: _Task
    ) -> list[StoredOccurrence]:
        """Close sent occurrences whose time is over, or lies ahead because a clock was wrong; returns what stands.

        What somebody was told who is no longer reminded is told anew to whoever is.
        """
        sent = [row for row in rows if row.state is OccurrenceState.SENT]
        over = {row.id for row in sent if not _waits_on(row.occurrence, task.look.today)}
        moved = {row.id for row in sent if row.reader != task.reader.id} - over
        await work.occurrences.set_state(sorted(over), OccurrenceState.LAPSED)
        await work.occurrences.set_state(sorted(moved), OccurrenceState.SUPERSEDED)
        return [row for row in rows if row.id not in over | moved]

    async def _wake_reader(self, work: UnitOfWork, task: _Task) -> None:
        """Whoever is reminded beside the keeper of this unit of work is looked at in time."""
        if task.reader.id == task.home:
            return
        rows = await work.occurrences.open_of(task.colony.id)
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
        at = next_look(keeper, max(found.due_at, _back(found, keeper)) - TICK, urgency)
        timed = _not_before(replace(found, due_at=at), look.free)
        if timed != found or row.recipient_id != task.recipient:
            await work.occurrences.save(replace(row, occurrence=timed, recipient_id=task.recipient))


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


def _waits_on(occurrence: Occurrence, today: date) -> bool:
    """Whether a sent occurrence still waits; a day further ahead than any zone means that a clock was wrong."""
    return today <= answer_by(occurrence) and occurrence.day <= today + timedelta(days=1)


def _firsts(occurrences: Sequence[Occurrence], keeper: KeeperRecord, today: date) -> Mapping[Duty, Occurrence]:
    """The next occurrence of each duty, held back by an absence or a long silence where that may be."""
    firsts: dict[Duty, Occurrence] = {}
    for found in occurrences:
        if found.duty not in firsts and not _waits(found, keeper, today):
            firsts[found.duty] = found
    return firsts


def _waits(found: Occurrence, keeper: KeeperRecord, today: date) -> bool:
    away = _away_on(keeper, found.day) and found.duty not in NEVER_HELD
    resting = held_back(found.duty, keeper.unanswered)
    slower = found.day < today + timedelta(days=extra_days(found.duty, keeper.unanswered))
    return away or resting or slower


def _back(found: Occurrence, keeper: KeeperRecord) -> datetime:
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


def _at_once(found: Occurrence, look: _Look) -> Occurrence:
    """What an earlier, missed reminder was about waits no longer."""
    return replace(found, due_at=min(found.due_at, look.now)) if found.day == look.today else found


def _not_before(found: Occurrence, at: datetime) -> Occurrence:
    """Routine lines wait for their digest, and never make a second one on one local day."""
    return found if found.urgency is Urgency.URGENT else replace(found, due_at=max(found.due_at, at))


def _missed(row: StoredOccurrence, look: _Look) -> bool:
    """Whether its moment came while nothing could be sent."""
    return row.state is OccurrenceState.PLANNED and row.delivery_id is None and row.occurrence.due_at <= look.now


def _still_right(row: StoredOccurrence, firsts: Mapping[Duty, Occurrence], look: _Look) -> bool:
    """Whether a planned row lies beyond this look, or was missed on an earlier day and still is what must be said."""
    found, wanted = row.occurrence, firsts.get(row.occurrence.duty)
    if wanted is None:
        return found.day >= look.today + timedelta(days=look.days)
    if wanted.day != look.today or wanted.urgency > found.urgency:
        return False
    return _missed(row, look) and found.day < look.today <= found.day + timedelta(days=found.useful_days)


def _stands(row: StoredOccurrence, keeper: KeeperRecord) -> bool:
    """Whether a row is left alone: it is out or on its way, was moved by the keeper, or slowed down by silence."""
    duty, unanswered = row.occurrence.duty, keeper.unanswered
    slowed = extra_days(duty, unanswered) > 0 and not held_back(duty, unanswered)
    return row.state is OccurrenceState.SENT or row.delivery_id is not None or row.snoozed or slowed


def _same(row: StoredOccurrence, wanted: Mapping[Duty, Occurrence]) -> bool:
    found = wanted.get(row.occurrence.duty)
    return found is not None and found.day == row.occurrence.day
