"""Which cautions a keeper has seen, for the repeat limits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.reading import Among, table_of
from bot.adapters.store.tables import CautionShownRow
from bot.adapters.store.upsert import put_all
from bot.services.records import KeeperId

_C = table_of(CautionShownRow).c
_KEY = ("keeper_id", "caution_id")
_SHOWN = select(_C.keeper_id, _C.caution_id, _C.day).where(Among(_C.keeper_id))


class SqlCautionsShown:
    """Fulfils `ports.CautionsShown`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def of(self, keeper_id: KeeperId) -> Mapping[str, date]:
        """Caution id -> local day of the last time."""
        return (await self.of_all([keeper_id])).get(keeper_id, {})

    async def of_all(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[str, date]]:
        """As `of`, for several; those who saw none are missing."""
        found: dict[KeeperId, dict[str, date]] = defaultdict(dict)
        for keeper_id, caution_id, day in await self._session.execute(_SHOWN, {"ids": list(keeper_ids)}):
            found[keeper_id][caution_id] = day
        return found

    async def record(self, keeper_id: KeeperId, ids: Collection[str], day: date) -> None:
        """Remember that they were shown."""
        await self.record_all({keeper_id: (ids, day)})

    async def record_all(self, seen: Mapping[KeeperId, tuple[Collection[str], date]]) -> None:
        """Remember who was shown which cautions, and on which of their days."""
        rows = [
            {"keeper_id": keeper_id, "caution_id": caution_id, "day": day}
            for keeper_id, (ids, day) in sorted(seen.items())
            for caution_id in sorted(set(ids))
        ]
        if rows:
            await put_all(self._session, CautionShownRow, rows, key=_KEY)
