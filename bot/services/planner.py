"""Turns plans into stored occurrences: the next one of each duty, and the moment the keeper must be looked at next.

Called after every change of a colony and, through the dispatch loop, once on every local day of a keeper. Doing it
twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.agenda import due_moment, plan_colony
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Household, Place
from bot.services.ports import UnitOfWork
from bot.services.records import ColonyRecord, KeeperRecord, NewOccurrence, OccurrenceState, StoredOccurrence
from bot.services.silence import NEVER_HELD, extra_days, held_back

HORIZON_DAYS = 45
"""How far ahead the next occurrence of a duty is looked for; the daily re-plan carries it on."""
REPEAT_WATER_DAYS = {Urgency.URGENT: 1, Urgency.SOON: 2, Urgency.ROUTINE: 2}
"""Days after which an unanswered water reminder comes again; water is never silent."""


def place_of(keeper: KeeperRecord, colony: ColonyRecord) -> Place:
    """The place a colony stands on; one that was removed falls back on the first."""
    names = {place.name for place in keeper.places}
    known = colony.colony if colony.colony.place in names else replace(colony.colony, place=None)
    return Household(keeper=keeper.settings, places=keeper.places).place_of(known)


@dataclass(frozen=True, slots=True)
class Planner:
    """Writes occurrences inside the caller's unit of work; the caller commits."""

    handbook: Handbook

    async def replan_keeper(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> KeeperRecord:
        """Re-plan every kept colony and set the next wake moment; returns the keeper as saved."""
        for colony in await work.colonies.of(keeper.id):
            await self._replan_colony(work, keeper, colony, now)
        today = local_day(now, keeper.settings.zone)
        return await self._wake(work, replace(keeper, planned_on=today), now)

    async def replan_colony(
        self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime
    ) -> KeeperRecord:
        """Re-plan one colony and set the keeper's next wake moment; returns the keeper as saved."""
        await self._replan_colony(work, keeper, colony, now)
        return await self._wake(work, keeper, now)

    async def forget(self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime) -> KeeperRecord:
        """Nothing more of a colony that is no longer kept; returns the keeper as saved."""
        rows = await work.occurrences.open_of(colony.id)
        await work.occurrences.set_state([row.id for row in rows], OccurrenceState.SUPERSEDED)
        return await self._wake(work, keeper, now)

    async def _replan_colony(self, work: UnitOfWork, keeper: KeeperRecord, colony: ColonyRecord, now: datetime) -> None:
        today = local_day(now, keeper.settings.zone)
        open_now = await self._without_lapsed(work, await work.occurrences.open_of(colony.id), today)
        held = {row.occurrence.duty for row in open_now if _stands(row, keeper)}
        plan = plan_colony(colony.colony, keeper.settings, place_of(keeper, colony), self.handbook, today, HORIZON_DAYS)
        wanted = {
            duty: occurrence
            for duty, occurrence in _firsts(plan.occurrences, keeper, today).items()
            if duty not in held
        }
        stale = [row.id for row in open_now if not _stands(row, keeper) and not _same(row, wanted)]
        await work.occurrences.set_state(stale, OccurrenceState.SUPERSEDED)
        await work.occurrences.plan(
            [NewOccurrence(colony_id=colony.id, keeper_id=keeper.id, occurrence=found) for found in wanted.values()]
        )

    async def _without_lapsed(
        self, work: UnitOfWork, rows: Sequence[StoredOccurrence], today: date
    ) -> list[StoredOccurrence]:
        """Close sent occurrences whose time is over; returns those that still stand."""
        over = [row.id for row in rows if row.state is OccurrenceState.SENT and today > answer_by(row.occurrence)]
        await work.occurrences.set_state(over, OccurrenceState.LAPSED)
        return [row for row in rows if row.id not in over]

    async def _wake(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> KeeperRecord:
        """Set `next_wake` to the earliest due moment or the next regular look, which re-plans the day."""
        wake = None
        if keeper.reminders_on:
            rows = await work.occurrences.open_of_keeper(keeper.id)
            planned = [row.occurrence.due_at for row in rows if row.state is OccurrenceState.PLANNED]
            urgent = any(row.occurrence.urgency is Urgency.URGENT for row in rows if row.state is OccurrenceState.SENT)
            looks = [next_look(keeper, now, urgency) for urgency in ((Urgency.ROUTINE, Urgency.URGENT)[: 1 + urgent])]
            wake = min([*planned, *looks])
        saved = replace(keeper, next_wake=wake)
        await work.keepers.save(saved)
        return saved


def next_look(keeper: KeeperRecord, now: datetime, urgency: Urgency) -> datetime:
    """The first moment after `now` at which occurrences of an urgency speak up, maybe on the same local day. UTC."""
    today = local_day(now, keeper.settings.zone)
    moments = (due_moment(today + timedelta(days=ahead), urgency, keeper.settings) for ahead in range(3))
    return next(at for at in moments if at > now)


def answer_by(occurrence: Occurrence) -> date:
    """The last local day on which a sent occurrence still waits for its answer before it comes again."""
    if occurrence.duty is Duty.WATER:
        return occurrence.day + timedelta(days=REPEAT_WATER_DAYS[occurrence.urgency] - 1)
    return occurrence.day + timedelta(days=occurrence.useful_days)


def _firsts(occurrences: Sequence[Occurrence], keeper: KeeperRecord, today: date) -> Mapping[Duty, Occurrence]:
    """The next occurrence of each duty, held back by an absence or a long silence where that may be."""
    firsts: dict[Duty, Occurrence] = {}
    for found in occurrences:
        if found.duty not in firsts and not _waits(found, keeper, today):
            firsts[found.duty] = found
    return firsts


def _waits(found: Occurrence, keeper: KeeperRecord, today: date) -> bool:
    away = keeper.away_until is not None and found.day < keeper.away_until and found.duty not in NEVER_HELD
    resting = held_back(found.duty, keeper.unanswered)
    slower = found.day < today + timedelta(days=extra_days(found.duty, keeper.unanswered))
    return away or resting or slower


def _stands(row: StoredOccurrence, keeper: KeeperRecord) -> bool:
    """Whether a row is left alone: it waits for an answer, was moved by the keeper, or was slowed down by silence."""
    slowed = extra_days(row.occurrence.duty, keeper.unanswered) > 0
    return row.state is OccurrenceState.SENT or row.snoozed or slowed


def _same(row: StoredOccurrence, wanted: Mapping[Duty, Occurrence]) -> bool:
    found = wanted.get(row.occurrence.duty)
    return found is not None and found.day == row.occurrence.day
