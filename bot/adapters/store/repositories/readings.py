"""Readings of loggers as compact documents."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import delete, false, select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.reading_tables import LoggerSeriesRow
from bot.adapters.store.upsert import put
from bot.services.logger_ports import StoredSeries
from bot.services.plain_series import plain_series, series_from
from bot.services.records import ColonyId, KeeperId

_KEY = ["keeper_id", "colony_id", "spot", "quantity", "kept"]


class SqlLoggerSeries:
    """Fulfils `logger_ports.LoggerSeries`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def of(self, keeper_id: KeeperId, colony_id: ColonyId) -> Sequence[StoredSeries]:
        """All of a colony, kept and waiting."""
        mine = select(LoggerSeriesRow).where(
            LoggerSeriesRow.keeper_id == keeper_id, LoggerSeriesRow.colony_id == colony_id
        )
        return [stored_series(row) for row in await self._session.scalars(mine.order_by(LoggerSeriesRow.id))]

    async def put(self, keeper_id: KeeperId, colony_id: ColonyId, stored: StoredSeries) -> None:
        """Insert, or replace the one of the same spot, quantity and state."""
        row = {
            "keeper_id": keeper_id,
            "colony_id": colony_id,
            "spot": stored.spot,
            "quantity": stored.series.quantity,
            "kept": stored.kept,
            "stored_at": stored.stored_at,
            "readings": plain_series(stored.series),
        }
        await put(self._session, LoggerSeriesRow, row, key=_KEY)

    async def forget(self, keeper_id: KeeperId, colony_id: ColonyId, *, kept: bool) -> int:
        """Remove those of a colony that are kept, or those that wait; returns how many."""
        removal = delete(LoggerSeriesRow).where(
            LoggerSeriesRow.keeper_id == keeper_id,
            LoggerSeriesRow.colony_id == colony_id,
            LoggerSeriesRow.kept == kept,
        )
        gone = await self._session.scalars(removal.returning(LoggerSeriesRow.id))
        return len(gone.all())

    async def forget_waiting_before(self, moment: datetime) -> None:
        """Remove what waited in vain, of everybody."""
        old = delete(LoggerSeriesRow).where(LoggerSeriesRow.kept == false(), LoggerSeriesRow.stored_at < moment)
        await self._session.execute(old)


def stored_series(row: LoggerSeriesRow) -> StoredSeries:
    """Readings out of their row."""
    series = series_from(row.quantity, row.readings)
    return StoredSeries(spot=row.spot, series=series, kept=row.kept, stored_at=row.stored_at)
