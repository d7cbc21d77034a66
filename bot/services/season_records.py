"""What is kept of a community's season: its setup, its notices, what members agreed to, and who did what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from typing import NewType

from bot.care.season.community import Half, SeasonStage
from bot.care.units import Units
from bot.services.records import KeeperId

GuildId = NewType("GuildId", int)
"""The platform's id of a community."""
NoticeId = NewType("NoticeId", int)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonSetup:
    """How a community wants its season led."""

    guild_id: GuildId
    channel_id: int
    """Where notices appear."""
    zone_name: str
    """Days and hours of notices are those of this zone."""
    role_id: int | None = None
    """The one role that notices mention."""
    helper_channel_id: int | None = None
    """Where moderators are told what waits for them."""
    leader_role_id: int | None = None
    """A role that may lead the season, beside those who manage the server."""
    units: Units = Units.CELSIUS
    language: str = "en"
    """Code of the language of notices, as in `config/season`."""
    halves: tuple[Half, ...] = (Half.NORTH,)
    post_at: time = time(18, 0)
    lead_days: int = 7
    """A notice goes out so many days before its stage begins; the mid-rest check on its day."""
    prepare_days: int = 28
    """The call to prepare goes out so many days before the first wind-down."""
    draft_days: int = 10
    """A draft is written so many days before it would go out."""
    count: bool = True
    """Whether members who agree are counted."""
    two_approve: bool = False
    """Whether two moderators must approve."""
    thread_channel_id: int | None = None
    """Where members who agreed may be reminded in private threads; without one, nowhere here."""
    thread_told_on: date | None = None
    """Local day on which moderators were last told that such threads cannot be opened."""
    counted_on: date | None = None
    """Local day of the last count; figures change once a day at most."""
    tended_on: date | None = None
    """Local day on which drafts and rights were looked after last."""


class NoticeState(StrEnum):
    """Life of a notice.

    draft -> scheduled -> posting -> posted -> retracted; draft | scheduled | paused -> cancelled;
    posting -> paused (a person has to act) -> scheduled. An edit makes a draft of a scheduled one.
    """

    DRAFT = "draft"
    SCHEDULED = "scheduled"
    POSTING = "posting"
    PAUSED = "paused"
    POSTED = "posted"
    CANCELLED = "cancelled"
    RETRACTED = "retracted"


OPEN = (NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.POSTING, NoticeState.PAUSED)
"""States in which a notice still lies ahead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """One season notice, unique by community, season, stage and half. Its words are frozen when it is written."""

    id: NoticeId
    guild_id: GuildId
    year: int
    stage: SeasonStage
    half: Half
    state: NoticeState = NoticeState.DRAFT
    language: str = "en"
    heading: str
    text: str
    """What moderators may edit."""
    numbers: str
    cautions: tuple[str, ...]
    begins: date
    """First day of the stage."""
    post_day: date
    post_wall: time
    post_at: datetime
    """UTC moment of day and wall time in the community's zone."""
    approved_by: tuple[int, ...] = ()
    amendment: str | None = None
    """New words of a posted notice that wait for a second moderator."""
    amended_by: int | None = None
    nonce: str
    """The same for every try, at most 25 characters."""
    attempts: int = 0
    first_try_at: datetime | None = None
    posted_at: datetime | None = None
    channel_id: int | None = None
    message_id: int | None = None
    problem: str | None = None
    """A sentence for the moderators."""
    lease_until: datetime | None = None
    nudged_on: date | None = None
    """Local day on which moderators were last told that it waits."""
    created_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Consent:
    """What a member agreed to in one community. Nothing is assumed: without a record both are off."""

    guild_id: GuildId
    keeper_id: KeeperId
    counted: bool = False
    """Their colonies count in the anonymous figures."""
    helped: bool = False
    """Moderators may see which water or rest step of theirs is overdue."""
    threads: bool = False
    """They may be reminded in a private thread here while their direct messages are closed."""
    since: datetime | None = None


class Act(StrEnum):
    """What was done, for the log."""

    SET_UP = "set up"
    DRAFTED = "drafted"
    EDITED = "edited"
    APPROVED = "approved"
    SCHEDULED = "scheduled"
    POSTPONED = "postponed"
    CALLED = "called to post now"
    CANCELLED = "cancelled"
    POSTED = "posted"
    PAUSED = "paused"
    PROPOSED = "proposed new words for"
    AMENDED = "amended"
    DROPPED = "dropped the new words of"
    RETRACTED = "retracted"
    LAPSED = "lapsed"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogLine:
    """Who did what, and when. `actor` is the platform's user id, `None` for the bot or a person who left no trace."""

    guild_id: GuildId
    at: datetime
    act: Act
    actor: int | None = None
    notice_id: NoticeId | None = None
    detail: str = ""
