"""The repository of communities and their seasons, as a Protocol; the community's channels are in `season_hall`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from bot.care.season.community import Half, SeasonStage
from bot.care.season.figures import GroupKey, GroupState
from bot.services.records import KeeperId
from bot.services.season_records import Consent, GuildId, LogLine, Notice, NoticeId, NoticeState, SeasonSetup


class Seasons(Protocol):
    """Everything kept of communities."""

    async def setup(self, guild_id: GuildId) -> SeasonSetup | None:
        """How a community wants its season led; `None` when it never said."""
        ...

    async def save_setup(self, setup: SeasonSetup) -> None:
        """Insert or replace."""
        ...

    async def guilds_after(self, guild_id: GuildId, limit: int) -> Sequence[SeasonSetup]:
        """Communities above an id, ascending: for walks over all of them in batches."""
        ...

    async def consent(self, guild_id: GuildId, keeper_id: KeeperId) -> Consent:
        """What a member agreed to; without a record, nothing."""
        ...

    async def save_consent(self, consent: Consent) -> None:
        """Insert or replace; the member must be a known keeper."""
        ...

    async def counted_after(self, guild_id: GuildId, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """Members above an id who agreed to be counted, ascending."""
        ...

    async def helped(self, guild_id: GuildId) -> Sequence[KeeperId]:
        """Members who agreed to be helped, ascending."""
        ...

    async def groups(self, guild_id: GuildId) -> Mapping[GroupKey, GroupState]:
        """What is shown of each group, and of whom it was made."""
        ...

    async def save_group(self, guild_id: GuildId, key: GroupKey, state: GroupState) -> None:
        """Insert or replace; members who are erased meanwhile are left out."""
        ...

    async def drop_groups(self, guild_id: GuildId, before: int | None = None) -> None:
        """Forget the figures of a community: all of them, or those of seasons before a year."""
        ...

    async def add(self, notice: Notice) -> Notice | None:
        """Store a new notice, whose id is given here; `None` when its community, season, stage and half have one."""
        ...

    async def notice(self, notice_id: NoticeId) -> Notice | None:
        """One notice; inside this unit of work nobody else changes it."""
        ...

    async def find(self, guild_id: GuildId, year: int, stage: SeasonStage, half: Half) -> Notice | None:
        """The notice of a stage."""
        ...

    async def notices(self, guild_id: GuildId, states: Collection[NoticeState]) -> Sequence[Notice]:
        """Notices in some states, by the moment they are due."""
        ...

    async def save(self, notice: Notice) -> None:
        """Update everything but what makes it unique."""
        ...

    async def due(self, now: datetime, limit: int) -> Sequence[Notice]:
        """Notices to post: scheduled or on their way, their moment come, no lease running; earliest first.

        On PostgreSQL rows that another process holds are stepped over.
        """
        ...

    async def next_due(self) -> datetime | None:
        """The earliest moment at which one must be posted or tried again."""
        ...

    async def log(self, line: LogLine) -> None:
        """Append to the log."""
        ...

    async def log_of(self, guild_id: GuildId, limit: int) -> Sequence[LogLine]:
        """Newest lines first."""
        ...

    async def forget_person(self, person: int) -> None:
        """Take a person's id out of logs and approvals; goes along with erasing a keeper."""
        ...

    async def forget_log_before(self, moment: datetime) -> None:
        """Remove old lines of all logs."""
        ...
