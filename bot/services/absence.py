"""Going away and coming back: an absence with its days, and the one step that brings every reminder back."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care.localtime import local_day
from bot.services.keepers import known
from bot.services.planner import Planner
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId, KeeperRecord
from bot.services.silence import ASK_AFTER
from bot.services.sitting import check_days
from bot.services.sitting_end import end_all


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """What a return ended: an absence, a long silence, sittings."""

    keeper: KeeperRecord
    was_away: bool
    was_silent: bool
    sittings: int


@dataclass(frozen=True, slots=True)
class Absence:
    """Use cases around a keeper's absence and silence."""

    units: UnitOfWorkMaker
    planner: Planner

    async def leave(self, keeper_id: KeeperId, days: tuple[date, date], now: datetime) -> KeeperRecord:
        """From `days[0]` until `days[1]` the keeper is reminded of water and the winter rest only.

        Raises:
            NotSetUpError, BadValueError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            check_days(days, local_day(now, keeper.settings.zone))
            away = replace(keeper, away_from=days[0], away_until=days[1])
            away = await self.planner.replan_keeper(work, away, now)
            await work.commit()
        return away

    async def back(self, keeper_id: KeeperId, now: datetime) -> Return:
        """Everything is reminded of again; a sitter's report comes with the next message. Twice changes nothing.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            sittings = await end_all(work, keeper, now)
            today = local_day(now, keeper.settings.zone)
            here = replace(keeper, away_from=None, away_until=None, unanswered=0)
            here = await self.planner.replan_keeper(work, here, now)
            await work.commit()
        return Return(
            keeper=here,
            was_away=keeper.away_until is not None and today < keeper.away_until,
            was_silent=keeper.unanswered >= ASK_AFTER,
            sittings=sittings,
        )
