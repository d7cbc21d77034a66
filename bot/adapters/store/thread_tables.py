"""Tables of keepers whom direct messages do not reach: reminders in threads, and who was looked for.

All goes with the keeper. Ids of communities, channels, threads and messages are the platform's.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Index, String
from sqlalchemy.orm import Mapped, mapped_column

from bot.adapters.store.tables import Base, BigId, KeeperKey


class ThreadReminderRow(Base):
    """Reminding one keeper in a private thread."""

    __tablename__ = "thread_reminder"
    __table_args__ = (Index(None, "next_at"),)

    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    guild_id: Mapped[BigId]
    channel_id: Mapped[BigId]
    thread_id: Mapped[BigId | None]
    next_at: Mapped[datetime | None]
    told_on: Mapped[date | None]
    nonce: Mapped[str | None] = mapped_column(String(25))
    count: Mapped[int]
    attempts: Mapped[int]
    first_try_at: Mapped[datetime | None]
    message_id: Mapped[BigId | None]
    sent_at: Mapped[datetime | None]
    problem: Mapped[str | None]
    lease_until: Mapped[datetime | None]


class AbsenteeRow(Base):
    """A keeper who was looked for."""

    __tablename__ = "absentee"

    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    since: Mapped[datetime | None]
    checked_at: Mapped[datetime]
