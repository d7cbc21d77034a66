"""How the community fares, for its moderators: only members who agreed to be helped are named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from bot.care.duty import REST_STEPS, Duty
from bot.care.localtime import local_day
from bot.services.errors import DeliveryError
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import Door, KeeperId, KeeperRecord
from bot.services.season import set_up
from bot.services.season_hall import HallHealth, SeasonHall, look_kindly
from bot.services.season_records import GuildId, Notice, NoticeState

HELP_WITH = frozenset({Duty.WATER}) | REST_STEPS
LATE_DAYS = 1
"""So many days late, and moderators may lend a hand (judgement)."""
MOST_MEMBERS = 20
"""So many members are named at once; each must be asked for on the platform. The longest overdue come first."""


@dataclass(frozen=True, slots=True)
class Overdue:
    """A water or rest step of a member who agreed to be helped."""

    keeper_id: KeeperId
    colony: str
    duty: Duty
    days_late: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CommunityCheck:
    """What moderators are shown."""

    helped: int
    """Members who agreed to be helped and, as far as is known, are still here."""
    overdue: tuple[Overdue, ...]
    unreachable: tuple[KeeperId, ...]
    """Those among them whose direct messages are closed to the bot."""
    more: int = 0
    """Members of whom something is to be told beyond those who are named."""
    silent: bool = False
    """The platform does not tell who is still here, so nobody is named."""
    paused: tuple[Notice, ...]
    health: HallHealth


@dataclass(frozen=True, slots=True)
class Check:
    """The use case of `/season check`."""

    units: UnitOfWorkMaker
    hall: SeasonHall

    async def community(self, guild_id: GuildId, now: datetime) -> CommunityCheck:
        """How the community fares now. Members who left it are named no more, and their consent ends.

        Raises:
            SeasonError: it has no season.
        """
        async with self.units() as work:
            setup = await set_up(work, guild_id)
            agreed = await work.seasons.helped(guild_id)
            paused = tuple(await work.seasons.notices(guild_id, [NoticeState.PAUSED]))
            members = [keeper for each in agreed if (keeper := await work.keepers.peek(each)) is not None]
            late = [found for keeper in members for found in await _overdue(work, keeper, now)]
        late.sort(key=lambda found: (-found.days_late, found.keeper_id, found.colony))
        closed = [keeper.id for keeper in members if keeper.door in {Door.REFUSED, Door.GONE}]
        concerned = list(dict.fromkeys([*(found.keeper_id for found in late), *closed]))
        here = await self._still_here(guild_id, concerned[:MOST_MEMBERS])
        gone = 0 if here is None else len(concerned[:MOST_MEMBERS]) - len(here)
        return CommunityCheck(
            helped=len(members) - gone,
            overdue=tuple(found for found in late if found.keeper_id in (here or ())),
            unreachable=tuple(keeper_id for keeper_id in closed if keeper_id in (here or ())),
            more=max(0, len(concerned) - MOST_MEMBERS),
            silent=here is None,
            paused=paused,
            health=await look_kindly(self.hall, setup),
        )

    async def _still_here(self, guild_id: GuildId, asked: Sequence[KeeperId]) -> frozenset[KeeperId] | None:
        """Members of the community among these; `None` while the platform does not tell."""
        if not asked:
            return frozenset()
        try:
            here = await self.hall.still_members(guild_id, asked)
        except DeliveryError:
            return None
        async with self.units() as work:
            for keeper_id in asked:
                if keeper_id not in here:
                    consent = await work.seasons.consent(guild_id, keeper_id)
                    await work.seasons.save_consent(replace(consent, counted=False, helped=False, threads=False))
            await work.commit()
        return here


async def _overdue(work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> list[Overdue]:
    today = local_day(now, keeper.settings.zone)
    names = {record.id: record.colony.name for record in await work.colonies.of(keeper.id)}
    return [
        Overdue(keeper.id, names[row.colony_id], row.occurrence.duty, (today - row.occurrence.day).days)
        for row in await work.occurrences.open_of_keeper(keeper.id)
        if row.occurrence.duty in HELP_WITH
        and row.colony_id in names
        and (today - row.occurrence.day).days >= LATE_DAYS
    ]
