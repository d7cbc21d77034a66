"""What readings of loggers need of the store; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from bot.care.logger.readings import Series
from bot.care.logger.spot import Spot
from bot.services.records import ColonyId, KeeperId


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredSeries:
    """Readings of one quantity at one spot of a colony; `kept` false: they wait for the keeper's yes."""

    spot: Spot
    series: Series
    kept: bool
    stored_at: datetime


class LoggerSeries(Protocol):
    """Readings by keeper and colony: a colony that changes hands takes none of its former keeper's home along."""

    async def of(self, keeper_id: KeeperId, colony_id: ColonyId) -> Sequence[StoredSeries]:
        """All of a colony, kept and waiting."""
        ...

    async def put(self, keeper_id: KeeperId, colony_id: ColonyId, stored: StoredSeries) -> None:
        """Insert, or replace the one of the same spot, quantity and state."""
        ...

    async def forget(self, keeper_id: KeeperId, colony_id: ColonyId, *, kept: bool) -> int:
        """Remove those of a colony that are kept, or those that wait; returns how many."""
        ...

    async def forget_waiting_before(self, moment: datetime) -> None:
        """Remove what waited in vain, of everybody."""
        ...
