"""Which cautions a keeper has seen, for the repeat limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.tables import CautionShownRow
from bot.adapters.store.upsert import insert_into
from bot.services.records import KeeperId

_KEY = ("keeper_id", "caution_id")


class SqlCautionsShown:
    """Fulfils `ports.CautionsShown`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def of(self, keeper_id: KeeperId) -> Mapping[str, date]:
        """Caution id -> local day of the last time."""
        rows = await self._session.scalars(select(CautionShownRow).where(CautionShownRow.keeper_id == keeper_id))
        return {row.caution_id: row.day for row in rows}

    async def record(self, keeper_id: KeeperId, ids: Sequence[str], day: date) -> None:
        """Remember that they were shown."""
        rows = [{"keeper_id": keeper_id, "caution_id": caution_id, "day": day} for caution_id in sorted(set(ids))]
        if rows:
            seen = insert_into(self._session, CautionShownRow)
            again = seen.on_conflict_do_update(index_elements=list(_KEY), set_={"day": seen.excluded.day})
            await self._session.execute(again, rows)
