"""Pictures beside an answer: the year of a colony, the water of the coming days, what a logger saw.

Drawing takes a moment, so it happens off the event loop.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Protocol

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.duty import Duty
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Keeper, Place
from bot.services.colonies import owned
from bot.services.keepers import known
from bot.services.loggers import LoggerView
from bot.services.pictures import Picture
from bot.services.planner import place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord

YEAR_DAYS = 365
WATER_DAYS = 30
"""How far a plan reaches behind the picture of its water."""
MOST_WATERS = 4
"""Pictures of water beside one answer; those that are due first."""


class Drawings(Protocol):
    """Draws; called off the event loop."""

    def year(self, plan: ColonyPlan, keeper: Keeper, start: date, days: int) -> Picture:
        """Phases, food, water and daylight."""
        ...

    def water(self, plan: ColonyPlan, keeper: Keeper, place: Place, today: date) -> Picture:
        """How the nest dries, and the next watering."""
        ...

    def logger(self, view: LoggerView) -> Sequence[Picture]:
        """Each quantity of a file against what was wanted."""
        ...


@dataclass(frozen=True, slots=True)
class ColonyPictures:
    """Use cases that only draw."""

    units: UnitOfWorkMaker
    handbook: Handbook
    drawings: Drawings
    _turn: asyncio.Lock = field(default_factory=asyncio.Lock, repr=False)
    """One picture at a time: drawing is heavy, and answers to others come first."""

    async def year(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> Sequence[Picture]:
        """The year ahead of one colony.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
        async with self._turn:
            return await asyncio.to_thread(self._year, keeper, record, now)

    async def waters(self, keeper_id: KeeperId, now: datetime, days: int) -> Sequence[Picture]:
        """The water of all colonies that are watered within `days`, the earliest first, at most `MOST_WATERS`.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            records = await work.colonies.of(keeper_id)
        async with self._turn:
            return await asyncio.to_thread(self._waters, keeper, records, now, days)

    async def logger(self, view: LoggerView) -> Sequence[Picture]:
        """What a logger saw."""
        async with self._turn:
            return await asyncio.to_thread(self.drawings.logger, view)

    def _year(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime) -> Sequence[Picture]:
        plan = self._plan(keeper, record, now, YEAR_DAYS)
        return [self.drawings.year(plan, keeper.settings, local_day(now, keeper.settings.zone), YEAR_DAYS)]

    def _waters(
        self, keeper: KeeperRecord, records: Sequence[ColonyRecord], now: datetime, days: int
    ) -> Sequence[Picture]:
        today = local_day(now, keeper.settings.zone)
        due: list[tuple[date, ColonyPlan, Place]] = []
        for record in records:
            plan = self._plan(keeper, record, now, WATER_DAYS)
            found = plan.first(Duty.WATER)
            if found is not None and (found.day - today).days < days:
                due.append((found.day, plan, place_of(keeper, record)))
        due.sort(key=lambda one: one[0])
        return [self.drawings.water(plan, keeper.settings, place, today) for _, plan, place in due[:MOST_WATERS]]

    def _plan(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime, days: int) -> ColonyPlan:
        today = local_day(now, keeper.settings.zone)
        return plan_colony(record.colony, keeper.settings, place_of(keeper, record), self.handbook, today, days)
