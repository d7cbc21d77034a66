"""Tables of communities and their seasons. What a member agreed to goes with the member; a log outlives both.

Ids of communities, channels, roles and people are the platform's and refer to no table of ours, but for members.
"""

from __future__ import annotations

from datetime import date, datetime, time

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint, false
from sqlalchemy.orm import Mapped, mapped_column

from bot.adapters.store.tables import Base, BigId, Document, KeeperKey, OwnId
from bot.care.season.community import Half, SeasonStage
from bot.care.species import DormancyClass
from bot.care.units import Units
from bot.services.season_records import Act, NoticeState


class SeasonRow(Base):
    """How a community wants its season led."""

    __tablename__ = "season"

    guild_id: Mapped[BigId] = mapped_column(primary_key=True, autoincrement=False)
    channel_id: Mapped[BigId]
    zone_name: Mapped[str]
    role_id: Mapped[BigId | None]
    helper_channel_id: Mapped[BigId | None]
    leader_role_id: Mapped[BigId | None]
    units: Mapped[Units]
    language: Mapped[str] = mapped_column(server_default="en")
    halves: Mapped[Document]
    post_at: Mapped[time]
    lead_days: Mapped[int]
    prepare_days: Mapped[int]
    draft_days: Mapped[int]
    count: Mapped[bool]
    two_approve: Mapped[bool]
    thread_channel_id: Mapped[BigId | None]
    thread_told_on: Mapped[date | None]
    counted_on: Mapped[date | None]
    tended_on: Mapped[date | None]


class NoticeRow(Base):
    """A season notice."""

    __tablename__ = "season_notice"
    __table_args__ = (
        UniqueConstraint("guild_id", "year", "stage", "half"),
        Index(None, "state", "post_at"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[OwnId]
    guild_id: Mapped[BigId] = mapped_column(ForeignKey("season.guild_id", ondelete="CASCADE"))
    year: Mapped[int]
    stage: Mapped[SeasonStage]
    half: Mapped[Half]
    state: Mapped[NoticeState]
    language: Mapped[str] = mapped_column(server_default="en")
    heading: Mapped[str]
    text: Mapped[str]
    numbers: Mapped[str]
    cautions: Mapped[Document]
    begins: Mapped[date]
    post_day: Mapped[date]
    post_wall: Mapped[time]
    post_at: Mapped[datetime]
    approved_by: Mapped[Document]
    amendment: Mapped[str | None]
    amended_by: Mapped[BigId | None]
    nonce: Mapped[str] = mapped_column(String(25), unique=True)
    attempts: Mapped[int]
    first_try_at: Mapped[datetime | None]
    posted_at: Mapped[datetime | None]
    channel_id: Mapped[BigId | None]
    message_id: Mapped[BigId | None]
    problem: Mapped[str | None]
    lease_until: Mapped[datetime | None]
    nudged_on: Mapped[date | None]
    created_at: Mapped[datetime]


class SeasonLogRow(Base):
    """Who did what; `actor` is empty for the bot and for people who had their traces removed."""

    __tablename__ = "season_log"
    __table_args__ = (Index(None, "guild_id", "at"),)

    id: Mapped[OwnId]
    guild_id: Mapped[BigId] = mapped_column(ForeignKey("season.guild_id", ondelete="CASCADE"))
    notice_id: Mapped[BigId | None]
    at: Mapped[datetime]
    actor: Mapped[BigId | None]
    act: Mapped[Act]
    detail: Mapped[str]


class SeasonMemberRow(Base):
    """What a member agreed to in one community."""

    __tablename__ = "season_member"
    __table_args__ = (Index(None, "keeper_id"),)

    guild_id: Mapped[BigId] = mapped_column(ForeignKey("season.guild_id", ondelete="CASCADE"), primary_key=True)
    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    counted: Mapped[bool]
    helped: Mapped[bool]
    threads: Mapped[bool] = mapped_column(server_default=false())
    since: Mapped[datetime | None]


class SeasonGroupRow(Base):
    """Figures of one group as they are shown; an empty document: nothing is shown."""

    __tablename__ = "season_group"

    guild_id: Mapped[BigId] = mapped_column(ForeignKey("season.guild_id", ondelete="CASCADE"), primary_key=True)
    half: Mapped[Half] = mapped_column(primary_key=True)
    dormancy: Mapped[DormancyClass] = mapped_column(primary_key=True)
    year: Mapped[int] = mapped_column(primary_key=True)
    shown: Mapped[Document]


class SeasonCountedRow(Base):
    """Of whom the figures of a group were made, as digests: never shown, gone with the member."""

    __tablename__ = "season_counted"
    __table_args__ = (Index(None, "keeper_id"),)

    guild_id: Mapped[BigId] = mapped_column(ForeignKey("season.guild_id", ondelete="CASCADE"), primary_key=True)
    half: Mapped[Half] = mapped_column(primary_key=True)
    dormancy: Mapped[DormancyClass] = mapped_column(primary_key=True)
    year: Mapped[int] = mapped_column(primary_key=True)
    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    digest: Mapped[str]
