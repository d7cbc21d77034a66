"""Pictures beside an answer or behind a button: year, water, growth and foods of a colony, and what a logger saw.

Drawing takes a moment, so it happens off the event loop.
"""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Protocol

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.colony import Colony
from bot.care.duty import Outcome
from bot.care.growth.first_workers import FirstWorkers, expected_first_workers
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Keeper, Place
from bot.care.situation import DEFAULT_ROOM_C
from bot.services.colonies import owned
from bot.services.errors import NotYoursError
from bot.services.keepers import looked_up
from bot.services.loggers import LoggerView
from bot.services.pictures import Picture
from bot.services.planner import place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord

YEAR_DAYS = 365
WATER_DAYS = 30
"""How far a plan reaches behind the picture of its water."""


class Drawings(Protocol):
    """Draws; called off the event loop."""

    def year(self, plan: ColonyPlan, keeper: Keeper, start: date, days: int) -> Picture:
        """Phases, food, water and daylight."""
        ...

    def water(self, plan: ColonyPlan, keeper: Keeper, place: Place, today: date) -> Picture:
        """How the nest dries, and the next watering."""
        ...

    def logger(self, view: LoggerView) -> Sequence[Picture]:
        """Each quantity of a spot against what was wanted."""
        ...

    def growth(self, colony: Colony, today: date, expected: FirstWorkers | None) -> Picture | None:
        """Counts with their trend; `None` when there is nothing to show."""
        ...

    def foods(self, colony: Colony) -> Picture | None:
        """Foods liked and refused; `None` when there is nothing to show."""
        ...


class Depicted(StrEnum):
    """What a picture of one colony shows."""

    YEAR = "year"
    WATER = "water"
    GROWTH = "growth"
    FOODS = "foods"


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
            keeper = await looked_up(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
        async with self._turn:
            return await asyncio.to_thread(self._year, keeper, record, now)

    async def one(self, keeper_id: KeeperId, colony_id: ColonyId, what: Depicted, now: datetime) -> Picture | None:
        """One picture of a colony, of a closed one too; `None` when there is nothing to show.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            record = await work.colonies.get(colony_id)
        if record is None or record.keeper_id != keeper_id:
            raise NotYoursError
        async with self._turn:
            return await asyncio.to_thread(self._one, keeper, record, what, now)

    async def logger(self, view: LoggerView) -> Sequence[Picture]:
        """What a logger saw."""
        async with self._turn:
            return await asyncio.to_thread(self.drawings.logger, view)

    def _year(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime) -> Sequence[Picture]:
        plan = self._plan(keeper, record, now, YEAR_DAYS)
        return [self.drawings.year(plan, keeper.settings, local_day(now, keeper.settings.zone), YEAR_DAYS)]

    def _one(self, keeper: KeeperRecord, record: ColonyRecord, what: Depicted, now: datetime) -> Picture | None:
        today, place = local_day(now, keeper.settings.zone), place_of(keeper, record)
        if what is Depicted.GROWTH:
            return self.drawings.growth(record.colony, today, self._first_workers(record.colony, place))
        if what is Depicted.FOODS:
            return self.drawings.foods(record.colony)
        if what is Depicted.WATER:
            return self.drawings.water(self._plan(keeper, record, now, WATER_DAYS), keeper.settings, place, today)
        return self.drawings.year(self._plan(keeper, record, now, YEAR_DAYS), keeper.settings, today, YEAR_DAYS)

    def _first_workers(self, colony: Colony, place: Place) -> FirstWorkers | None:
        """When those of a founding queen may come, by the first eggs that were seen."""
        seen = next((entry.day for entry in colony.log if entry.outcome is Outcome.EGGS), None)
        if seen is None or colony.workers:
            return None
        warmth = DEFAULT_ROOM_C if place.temperature_c is None else place.temperature_c
        return expected_first_workers(seen, warmth, self.handbook.profile(colony.species))

    def _plan(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime, days: int) -> ColonyPlan:
        today = local_day(now, keeper.settings.zone)
        return plan_colony(record.colony, keeper.settings, place_of(keeper, record), self.handbook, today, days)
