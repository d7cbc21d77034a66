"""A member cares for colonies while their keeper is away: asked, accepted or declined, ended by either side.

The sitter learns names, species, what is due and the cautions; never the place, the notes or the history.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

from bot.care.agenda import plan_colony
from bot.care.caution_rules import for_profile
from bot.care.cautions import Caution, in_order
from bot.care.duty import Duty
from bot.care.errors import BadValueError
from bot.care.goods import FeederCulture
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.sitter_words import instruction
from bot.care.units import Units
from bot.services.colonies import owned
from bot.services.keepers import known
from bot.services.notices import notify
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, ColonyState, KeeperId, KeeperRecord
from bot.services.sitting_end import end_sitting
from bot.services.sitting_errors import AskedOftenError, GoneError, RemindersOffError, SatAlreadyError
from bot.services.sitting_records import NoteKind, Sitting, SittingId, SittingState

MOST_DAYS = 366
"""Nobody sits for longer, or promises it further ahead."""
MOST_ASKED, ASKED_WITHIN = 3, timedelta(days=7)
"""So often one member may ask another within a week (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SatColony:
    """What a sitter is told of one colony: `tasks` are the duties that will come up, each with an instruction."""

    id: ColonyId
    name: str
    species: str
    tasks: tuple[tuple[Duty, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SatFeeder:
    """What a sitter is told of one feeder culture."""

    name: str
    kind: str
    every_days: int
    task: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SittingView:
    """A sitting as either side may see it."""

    sitting: Sitting
    colonies: tuple[SatColony, ...]
    feeders: tuple[SatFeeder, ...] = ()
    cautions: tuple[Caution, ...]
    begun: bool


@dataclass(frozen=True, slots=True)
class Sitters:
    """Use cases of both sides."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook

    async def ask(
        self,
        keeper_id: KeeperId,
        sitter_id: KeeperId,
        colony_ids: Sequence[ColonyId],
        days: tuple[date, date],
        now: datetime,
        *,
        feeders: bool = False,
    ) -> SittingView:
        """Ask a member for the days from `days[0]` until the return on `days[1]`; no colonies named means all.

        Feeder cultures are sat for only where the keeper says so.

        Raises:
            NotSetUpError, NotYoursError, SatAlreadyError, AskedOftenError, BadValueError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            check_days(days, local_day(now, keeper.settings.zone))
            if sitter_id == keeper_id:
                raise BadValueError("sitter", "Name another member as sitter; for yourself you need none.")
            await _check_patience(work, keeper, sitter_id, now)
            if colony_ids:
                records = [await owned(work, keeper_id, colony_id) for colony_id in dict.fromkeys(colony_ids)]
            else:
                records = list(await work.colonies.of(keeper_id))
            if not records:
                raise BadValueError("colony", "You have no colony to be cared for; `/colony add` registers one.")
            await self._check_free(work, keeper_id, records, days)
            sitting = await work.sittings.add(
                Sitting(
                    id=SittingId(0),
                    keeper_id=keeper_id,
                    sitter_id=sitter_id,
                    colony_ids=tuple(record.id for record in records),
                    since=days[0],
                    until=days[1],
                    feeders=feeders and bool(await work.cultures.of(keeper_id)),
                    asked_at=now,
                )
            )
            view = await self._view(work, keeper, sitting, now)
            await work.commit()
        return view

    async def accept(self, sitter_id: KeeperId, sitting_id: SittingId, now: datetime) -> SittingView:
        """The member agrees; from the first day on they are reminded in the keeper's place.

        Raises:
            NotSetUpError, RemindersOffError: the sitter cannot be reminded yet.
            GoneError: taken back, answered before, over, or meant for somebody else.
        """
        async with self.units() as work:
            sitter = await known(work, sitter_id)
            sitting, keeper = await self._asked(work, sitter_id, sitting_id, now)
            if not sitter.reminders_on:
                raise RemindersOffError
            sitting = replace(sitting, state=SittingState.ACCEPTED)
            await work.sittings.save(sitting)
            await notify(work, keeper, NoteKind.ACCEPTED, sitter_id, await _agreed(work, sitting), now)
            await self.planner.replan_keeper(work, keeper, now)
            view = await self._view(work, keeper, sitting, now, sitter.settings.units)
            await work.commit()
        return view

    async def decline(self, sitter_id: KeeperId, sitting_id: SittingId, now: datetime) -> SittingView:
        """The member would rather not; they need not have set anything up.

        Raises:
            GoneError.
        """
        async with self.units() as work:
            await work.keepers.get(sitter_id)
            sitting, keeper = await self._asked(work, sitter_id, sitting_id, now)
            sitting = replace(sitting, state=SittingState.DECLINED, ended_at=now)
            await work.sittings.save(sitting)
            await notify(work, keeper, NoteKind.DECLINED, sitter_id, await _agreed(work, sitting), now)
            view = await self._view(work, keeper, sitting, now)
            await work.commit()
        return view

    async def stop(self, who: KeeperId, sitting_id: SittingId, now: datetime) -> SittingView:
        """Either side ends it, or takes a question back; the keeper is reminded again at once.

        Raises:
            GoneError: over already, or neither side of it.
        """
        async with self.units() as work:
            await work.keepers.get(who)
            sitting = await work.sittings.get(sitting_id)
            keeper = None if sitting is None else await work.keepers.peek(sitting.keeper_id)
            if sitting is None or keeper is None or who not in {sitting.keeper_id, sitting.sitter_id}:
                raise GoneError
            if sitting.state not in {SittingState.ASKED, SittingState.ACCEPTED}:
                raise GoneError
            await end_sitting(work, keeper, sitting, now)
            other = keeper if who == sitting.sitter_id else await work.keepers.peek(sitting.sitter_id)
            if other is not None and sitting.accepted:
                await notify(work, other, NoteKind.STOPPED, who, await _agreed(work, sitting), now)
            await self.planner.replan_keeper(work, keeper, now)
            view = await self._view(work, keeper, sitting, now)
            await work.commit()
        return view

    async def of(self, who: KeeperId, now: datetime) -> Sequence[SittingView]:
        """Open sittings of both kinds: those somebody asked for, and those asked of them."""
        async with self.units() as work:
            views = []
            for sitting in await work.sittings.open_of(who):
                keeper = await work.keepers.peek(sitting.keeper_id)
                if keeper is not None and local_day(now, keeper.settings.zone) < sitting.until:
                    views.append(await self._view(work, keeper, sitting, now))
            return views

    async def _asked(
        self, work: UnitOfWork, sitter_id: KeeperId, sitting_id: SittingId, now: datetime
    ) -> tuple[Sitting, KeeperRecord]:
        sitting = await work.sittings.get(sitting_id)
        if sitting is None or sitting.sitter_id != sitter_id or sitting.state is not SittingState.ASKED:
            raise GoneError
        keeper = await work.keepers.peek(sitting.keeper_id)
        if keeper is None or local_day(now, keeper.settings.zone) >= sitting.until:
            raise GoneError
        return sitting, keeper

    async def _check_free(
        self, work: UnitOfWork, keeper_id: KeeperId, records: Sequence[ColonyRecord], days: tuple[date, date]
    ) -> None:
        """One sitter at a time, asked or accepted."""
        names = {record.id: record.colony.name for record in records}
        for other in await work.sittings.open_of(keeper_id):
            meets = other.since < days[1] and days[0] < other.until
            if other.keeper_id == keeper_id and meets:
                taken = [names[colony_id] for colony_id in other.colony_ids if colony_id in names]
                if taken:
                    raise SatAlreadyError(taken[0])

    async def _view(
        self,
        work: UnitOfWork,
        keeper: KeeperRecord,
        sitting: Sitting,
        now: datetime,
        units: Units = Units.CELSIUS,
    ) -> SittingView:
        """Made fresh for each look: what will come up is planned with the keeper's place and told without it."""
        today = local_day(now, keeper.settings.zone)
        abroad = replace(keeper.settings, country=None)  # where the keeper lives is not told
        told: list[SatColony] = []
        ids: list[str] = []
        for colony_id in sitting.colony_ids:
            record = await work.colonies.get(colony_id)
            if record is None or record.state is ColonyState.CLOSED or record.keeper_id != keeper.id:
                continue
            days = (max(today, sitting.since), sitting.until)
            told.append(self._colony(keeper, record, days, units))
            ids += for_profile(self.handbook.profile(record.colony.species), abroad, self.handbook)
        feeders = await self._feeders(work, keeper, sitting)
        ids += [name for _, kind in feeders for name in kind.cautions]
        return SittingView(
            sitting=sitting,
            colonies=tuple(sorted(told, key=lambda colony: colony.name.casefold())),
            feeders=tuple(self._feeder(name, kind, units) for name, kind in feeders),
            cautions=in_order(ids, self.handbook.cautions),
            begun=sitting.since <= today,
        )

    async def _feeders(
        self, work: UnitOfWork, keeper: KeeperRecord, sitting: Sitting
    ) -> Sequence[tuple[str, FeederCulture]]:
        """Cultures that the keeper trusts the sitter with, by name; kinds that left the handbook are not told."""
        mine = await work.cultures.of(keeper.id) if sitting.feeders else ()
        known_kinds = self.handbook.feeders
        return [(one.culture.name, known_kinds[one.culture.kind]) for one in mine if one.culture.kind in known_kinds]

    def _feeder(self, name: str, kind: FeederCulture, units: Units) -> SatFeeder:
        said = instruction(Duty.FEEDER_CARE, {"feeder": kind.id}, self.handbook, units)
        return SatFeeder(name=name, kind=kind.name, every_days=kind.care_days, task=said)

    def _colony(self, keeper: KeeperRecord, record: ColonyRecord, days: tuple[date, date], units: Units) -> SatColony:
        ahead = max(1, (days[1] - days[0]).days)
        plan = plan_colony(record.colony, keeper.settings, place_of(keeper, record), self.handbook, days[0], ahead)
        tasks: dict[Duty, str] = {}
        for found in plan.occurrences:
            said = instruction(found.duty, found.facts, self.handbook, units)
            tasks.setdefault(found.duty, said)
        return SatColony(
            id=record.id, name=record.colony.name, species=record.colony.species, tasks=tuple(tasks.items())
        )


async def _check_patience(work: UnitOfWork, keeper: KeeperRecord, sitter_id: KeeperId, now: datetime) -> None:
    """Nobody asks the same member again and again.

    Raises:
        AskedOftenError.
    """
    asked = await work.sittings.asked_since(keeper.id, sitter_id, now - ASKED_WITHIN)
    if len(asked) >= MOST_ASKED:
        free = asked[-MOST_ASKED] + ASKED_WITHIN
        raise AskedOftenError(local_day(free, keeper.settings.zone) + timedelta(days=1))


async def _agreed(work: UnitOfWork, sitting: Sitting) -> dict[str, Any]:
    """What an answer was about, as a document: `since`, `until` (ISO days), `colonies` (names)."""
    found = [await work.colonies.get(colony_id) for colony_id in sitting.colony_ids]
    names = sorted((record.colony.name for record in found if record is not None), key=str.casefold)
    return {"since": sitting.since.isoformat(), "until": sitting.until.isoformat(), "colonies": names}


def check_days(days: tuple[date, date], today: date) -> None:
    """First day, and the day of the return.

    Raises:
        BadValueError: in the past, the wrong way round, or too far ahead.
    """
    since, until = days
    if not today <= since < until or (until - today).days > MOST_DAYS:
        raise BadValueError(
            "until", "An absence begins today or later, and ends on a later day within a year, such as 2026-12-24."
        )
