"""What is counted about answers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.feedback_tables import AnswerCountRow
from bot.adapters.store.upsert import insert_into
from bot.services.feedback_ports import AnswerCount, Reception
from bot.services.season_records import GuildId


class SqlAnswerCounts:
    """Fulfils `feedback_ports.AnswerCounts`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def add(self, guild_id: GuildId, month: date, subject: str, reception: Reception) -> None:
        """One more."""
        key = {"guild_id": guild_id, "month": month, "subject": subject, "reception": reception}
        first = insert_into(self._session, AnswerCountRow).values({**key, "count": 1})
        again = first.on_conflict_do_update(index_elements=list(key), set_={"count": AnswerCountRow.count + 1})
        await self._session.execute(again)

    async def of(self, guild_id: GuildId, month: date) -> Sequence[AnswerCount]:
        """All counts of a month, by subject and reception."""
        mine = select(AnswerCountRow).where(AnswerCountRow.guild_id == guild_id, AnswerCountRow.month == month)
        rows = await self._session.scalars(mine.order_by(AnswerCountRow.subject, AnswerCountRow.reception))
        return [AnswerCount(row.subject, row.reception, row.count) for row in rows]
