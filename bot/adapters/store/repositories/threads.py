"""Reminders in threads, and keepers who were looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime

from sqlalchemy import and_, bindparam, delete, func, or_, select
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.season_mapping import setup_from
from bot.adapters.store.season_tables import SeasonMemberRow, SeasonRow
from bot.adapters.store.tables import KeeperRow
from bot.adapters.store.thread_tables import AbsenteeRow, ThreadReminderRow
from bot.adapters.store.upsert import put
from bot.services.absentee_ports import Absentee
from bot.services.records import Door, KeeperId
from bot.services.season_records import GuildId, SeasonSetup
from bot.services.thread_records import ThreadReminder

_MET = (
    select(KeeperRow.door, AbsenteeRow.keeper_id.label("missed"))
    .outerjoin(AbsenteeRow, AbsenteeRow.keeper_id == KeeperRow.id)
    .where(KeeperRow.id == bindparam("keeper"))
)


class SqlThreadReminders:
    """Fulfils `thread_ports.ThreadReminders`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def get(self, keeper_id: KeeperId) -> ThreadReminder | None:
        """The keeper's, if there is one."""
        wanted = select(ThreadReminderRow).where(ThreadReminderRow.keeper_id == keeper_id)
        row = (await self._session.scalars(wanted)).first()
        return None if row is None else _reminder_from(row)

    async def save(self, reminder: ThreadReminder) -> None:
        """Insert or replace."""
        row = {field.name: getattr(reminder, field.name) for field in fields(ThreadReminder)}
        await put(self._session, ThreadReminderRow, row, key=["keeper_id"])

    async def ways(self, keeper_id: KeeperId) -> Sequence[SeasonSetup]:
        """Communities whose moderators allow threads and in which the keeper agreed to them, by id."""
        agreed = and_(SeasonMemberRow.guild_id == SeasonRow.guild_id, SeasonMemberRow.threads)
        wanted = select(SeasonRow).join(SeasonMemberRow, agreed).where(SeasonMemberRow.keeper_id == keeper_id)
        allowed = wanted.where(SeasonRow.thread_channel_id.is_not(None)).order_by(SeasonRow.guild_id)
        return [setup_from(row) for row in await self._session.scalars(allowed)]

    async def due(self, now: datetime, limit: int) -> Sequence[ThreadReminder]:
        """Those whose moment has come and that nobody holds, earliest first; locked rows are stepped over."""
        free = or_(ThreadReminderRow.lease_until.is_(None), ThreadReminderRow.lease_until <= now)
        wanted = select(ThreadReminderRow).where(ThreadReminderRow.next_at <= now, free)
        order = wanted.order_by(ThreadReminderRow.next_at, ThreadReminderRow.keeper_id).limit(limit)
        return [_reminder_from(row) for row in await self._session.scalars(order.with_for_update(skip_locked=True))]

    async def next_due(self) -> datetime | None:
        """The earliest moment at which one must be looked at or tried again."""
        lease, planned_at = ThreadReminderRow.lease_until, ThreadReminderRow.next_at
        held = select(func.min(lease)).where(and_(lease.is_not(None), lease > planned_at))
        planned = select(func.min(planned_at)).where(or_(lease.is_(None), lease <= planned_at))
        moments = [await self._session.scalar(wanted) for wanted in (held, planned)]
        return min((moment for moment in moments if moment is not None), default=None)


class SqlAbsentees:
    """Fulfils `absentee_ports.Absentees`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def get(self, keeper_id: KeeperId) -> Absentee | None:
        """What is known, if somebody ever looked."""
        row = (await self._session.scalars(select(AbsenteeRow).where(AbsenteeRow.keeper_id == keeper_id))).first()
        return None if row is None else Absentee(keeper_id=keeper_id, since=row.since, checked_at=row.checked_at)

    async def met(self, keeper_id: KeeperId) -> tuple[Door, bool] | None:
        """The door of a keeper who is here, and whether somebody looked for them; `None` for a stranger.

        Asked at every command: one statement.
        """
        found = (await self._session.execute(_MET, {"keeper": keeper_id})).first()
        return None if found is None else (found.door, found.missed is not None)

    async def save(self, absentee: Absentee) -> None:
        """Insert or replace."""
        row = {field.name: getattr(absentee, field.name) for field in fields(Absentee)}
        await put(self._session, AbsenteeRow, row, key=["keeper_id"])

    async def forget(self, keeper_id: KeeperId) -> None:
        """The keeper is here."""
        await self._session.execute(delete(AbsenteeRow).where(AbsenteeRow.keeper_id == keeper_id))

    async def to_check(self, before: datetime, unanswered: int, limit: int) -> Sequence[KeeperId]:
        """Keepers nobody heard of who were not looked for since `before`, the longest ago first."""
        unheard = or_(
            KeeperRow.door.in_([Door.REFUSED, Door.GONE]), ~KeeperRow.reminders_on, KeeperRow.unanswered >= unanswered
        )
        open_now = or_(AbsenteeRow.checked_at.is_(None), AbsenteeRow.checked_at < before)
        wanted = select(KeeperRow.id).outerjoin(AbsenteeRow, AbsenteeRow.keeper_id == KeeperRow.id)
        order = (AbsenteeRow.checked_at.asc().nulls_first(), KeeperRow.id)
        found = await self._session.scalars(wanted.where(unheard, open_now).order_by(*order).limit(limit))
        return [KeeperId(keeper_id) for keeper_id in found]


def _reminder_from(row: ThreadReminderRow) -> ThreadReminder:
    values = {field.name: getattr(row, field.name) for field in fields(ThreadReminder)}
    return ThreadReminder(**{**values, "keeper_id": KeeperId(row.keeper_id), "guild_id": GuildId(row.guild_id)})
