"""The coming months of a keeper as a calendar file."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.culture_agenda import CulturePlan
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Keeper
from bot.services.cultures import plans_of
from bot.services.keepers import looked_up
from bot.services.planner import place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyRecord, CultureRecord, KeeperId, KeeperRecord

CALENDAR_DAYS = 120
Plans = Sequence[ColonyPlan | CulturePlan]


class CalendarWriter(Protocol):
    """Writes plans into a calendar file."""

    def __call__(self, plans: Plans, keeper: Keeper, handbook: Handbook, scope: str, made_at: datetime) -> bytes:
        """One event for each colony or culture and day; `scope` is the same for every file of one keeper."""
        ...


@dataclass(frozen=True, slots=True)
class Calendars:
    """Use case behind `/care calendar`."""

    units: UnitOfWorkMaker
    handbook: Handbook
    write: CalendarWriter

    async def file(self, keeper_id: KeeperId, now: datetime) -> tuple[bytes, int]:
        """The file, and how many colonies it holds; planning and writing happen off the event loop.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            records = await work.colonies.of(keeper_id)
            cultures = await work.cultures.of(keeper_id)
        return await asyncio.to_thread(self._written, keeper, records, cultures, now), len(records)

    def _written(
        self, keeper: KeeperRecord, records: Sequence[ColonyRecord], cultures: Sequence[CultureRecord], now: datetime
    ) -> bytes:
        settings = keeper.settings
        today = local_day(now, settings.zone)
        plans: list[ColonyPlan | CulturePlan] = [
            plan_colony(record.colony, settings, place_of(keeper, record), self.handbook, today, CALENDAR_DAYS)
            for record in records
        ]
        plans += plans_of(keeper, cultures, self.handbook, today, CALENDAR_DAYS)
        return self.write(plans, settings, self.handbook, str(keeper.id), now)
