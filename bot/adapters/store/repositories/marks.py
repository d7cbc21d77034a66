"""Small named facts."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.tables import MarkRow
from bot.adapters.store.upsert import put


class SqlMarks:
    """Fulfils `ports.Marks`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def get(self, name: str) -> str | None:
        """The value, or `None`."""
        return await self._session.scalar(select(MarkRow.value).where(MarkRow.name == name))

    async def set(self, name: str, value: str) -> None:
        """Insert or replace."""
        await put(self._session, MarkRow, {"name": name, "value": value}, key=["name"])
