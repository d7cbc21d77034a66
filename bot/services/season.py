"""A community's setup, and what its members agree to. Who may lead is decided here, from facts the adapter gives."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime, time

from bot.care.errors import BadValueError
from bot.care.localtime import moment
from bot.care.season.community import Half
from bot.care.season.language import Languages
from bot.care.units import Units
from bot.services.keepers import known
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.records import KeeperId
from bot.services.season_errors import SeasonError
from bot.services.season_records import OPEN, Act, Consent, GuildId, LogLine, Notice, NoticeState, SeasonSetup

NOT_SET_UP = "The season of this server is not set up yet: a moderator does that with /season setup."
LOG_LINES = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class SetupChanges:
    """What `/season setup` may change; `None` leaves a value as it is. An id of 0 takes a choice away."""

    channel_id: int | None = None
    role_id: int | None = None
    helper_channel_id: int | None = None
    leader_role_id: int | None = None
    zone_name: str | None = None
    units: Units | None = None
    language: str | None = None
    halves: tuple[Half, ...] | None = None
    post_at: time | None = None
    lead_days: int | None = None
    prepare_days: int | None = None
    draft_days: int | None = None
    count: bool | None = None
    two_approve: bool | None = None
    thread_channel_id: int | None = None


@dataclass(frozen=True, slots=True)
class Season:
    """Use cases of `/season setup`, `share` and `log`."""

    units: UnitOfWorkMaker
    zones: Zones
    languages: Languages

    async def setup(self, guild_id: GuildId) -> SeasonSetup:
        """How the community wants its season led.

        Raises:
            SeasonError: it never said.
        """
        async with self.units() as work:
            return await set_up(work, guild_id)

    async def may_lead(self, guild_id: GuildId, *, manages: bool, roles: Collection[int]) -> bool:
        """Whether somebody may lead the season: who manages the server, and who has the role that it named."""
        if manages:
            return True
        async with self.units() as work:
            setup = await work.seasons.setup(guild_id)
        return setup is not None and setup.leader_role_id is not None and setup.leader_role_id in roles

    async def change(self, guild_id: GuildId, changes: SetupChanges, actor: int, now: datetime) -> SeasonSetup:
        """Set up, or change it; the first time needs a channel and a zone.

        Raises:
            BadValueError, UnknownNameError: a value that cannot be.
            SeasonError: the first time without a channel or a zone.
        """
        async with self.units() as work:
            before = await work.seasons.setup(guild_id)
            after = self._changed(guild_id, before, changes)
            await work.seasons.save_setup(after)
            await self._move(work, after)
            if not after.count:
                await work.seasons.drop_groups(guild_id)
            said = ", ".join(
                field.name.removesuffix("_id").replace("_", " ")
                for field in fields(SetupChanges)
                if getattr(changes, field.name) is not None
            )
            await work.seasons.log(LogLine(guild_id=guild_id, at=now, act=Act.SET_UP, actor=actor, detail=said))
            await work.commit()
        return after

    async def consent(self, guild_id: GuildId, keeper_id: KeeperId) -> Consent:
        """What a member agreed to."""
        async with self.units() as work:
            return await work.seasons.consent(guild_id, keeper_id)

    async def allows_threads(self, guild_id: GuildId) -> bool:
        """Whether moderators named a channel for reminder threads."""
        async with self.units() as work:
            setup = await work.seasons.setup(guild_id)
        return setup is not None and setup.thread_channel_id is not None

    async def agree(
        self,
        guild_id: GuildId,
        keeper_id: KeeperId,
        now: datetime,
        *,
        counted: bool | None = None,
        helped: bool | None = None,
        threads: bool | None = None,
    ) -> Consent:
        """Agree or withdraw; `None` leaves a choice as it is. Withdrawing takes effect with the next count.

        Raises:
            NotSetUpError: the member has no place yet, so there is nothing to count.
            SeasonError: the community has no season.
        """
        async with self.units() as work:
            await set_up(work, guild_id)
            await known(work, keeper_id)
            before = await work.seasons.consent(guild_id, keeper_id)
            after = replace(
                before,
                counted=before.counted if counted is None else counted,
                helped=before.helped if helped is None else helped,
                threads=before.threads if threads is None else threads,
                since=now,
            )
            await work.seasons.save_consent(after)
            await work.commit()
        return after

    async def log(self, guild_id: GuildId) -> Sequence[LogLine]:
        """Who did what, newest first.

        Raises:
            SeasonError: the community has no season.
        """
        async with self.units() as work:
            await set_up(work, guild_id)
            return await work.seasons.log_of(guild_id, LOG_LINES)

    async def notices(self, guild_id: GuildId) -> Sequence[Notice]:
        """All notices that are remembered, in any state, by moment: what the log speaks of."""
        async with self.units() as work:
            return await work.seasons.notices(guild_id, list(NoticeState))

    def _changed(self, guild_id: GuildId, before: SeasonSetup | None, changes: SetupChanges) -> SeasonSetup:
        if before is None:
            if changes.channel_id is None or changes.zone_name is None:
                raise SeasonError(
                    "The first time I need the channel for notices and the server’s time zone: /season setup."
                )
            self.zones.get(changes.zone_name)
            before = SeasonSetup(
                guild_id=guild_id,
                channel_id=changes.channel_id,
                zone_name=changes.zone_name,
                halves=(self._home(changes.zone_name),),
            )
        told = {field.name: value for field in fields(changes) if (value := getattr(changes, field.name)) is not None}
        for name in ("role_id", "helper_channel_id", "leader_role_id", "thread_channel_id"):
            if told.get(name) == 0:
                told[name] = None
        after = replace(before, **told, tended_on=None, thread_told_on=None)
        self._check(after)
        return after if after.count and after.zone_name == before.zone_name else replace(after, counted_on=None)

    def _home(self, zone_name: str) -> Half:
        latitude = self.zones.latitude(zone_name)
        if latitude is not None and abs(latitude) < 23.5:
            return Half.TROPICS
        return Half.SOUTH if latitude is not None and latitude < 0 else Half.NORTH

    def _check(self, setup: SeasonSetup) -> None:
        self.zones.get(setup.zone_name)
        if setup.language not in self.languages:
            known = ", ".join(f"{words.name} ({code})" for code, words in self.languages.items())
            raise BadValueError("language", f"I have no words in “{setup.language[:20]}”. Choose one of {known}.")
        if not setup.halves:
            raise BadValueError("halves", "Choose at least one half of the earth: north, south or tropics.")
        if not 0 <= setup.lead_days <= 28:
            raise BadValueError("lead days", "A notice goes out 0 to 28 days before its stage begins.")
        if not setup.lead_days <= setup.prepare_days <= 90:
            raise BadValueError(
                "prepare days", "The call to prepare goes out no later than other notices, at most 90 days ahead."
            )
        if not 1 <= setup.draft_days <= 28:
            raise BadValueError("draft days", "A draft is written 1 to 28 days before it would go out.")
        if setup.role_id == setup.guild_id:
            raise BadValueError("role", "I never mention everyone. Choose a role that members take themselves.")
        if setup.leader_role_id == setup.guild_id:
            raise BadValueError("role", "Everyone would lead the season. Choose a role that only some members have.")

    async def _move(self, work: UnitOfWork, setup: SeasonSetup) -> None:
        """Notices ahead keep their day and hour on the wall, in the zone as it is now."""
        zone = self.zones.get(setup.zone_name)
        for notice in await work.seasons.notices(setup.guild_id, OPEN):
            post_at = moment(notice.post_day, notice.post_wall, zone)
            if post_at != notice.post_at:
                await work.seasons.save(replace(notice, post_at=post_at))


async def set_up(work: UnitOfWork, guild_id: GuildId) -> SeasonSetup:
    """The setup of a community.

    Raises:
        SeasonError: it has none.
    """
    setup = await work.seasons.setup(guild_id)
    if setup is None:
        raise SeasonError(NOT_SET_UP)
    return setup
