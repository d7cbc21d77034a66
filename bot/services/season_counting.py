"""The figures of a community: members who agreed, counted once a local day, shown by the rules of `season_figures`."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.season.community import Half, Share, season_year, share_of
from bot.care.season.figures import GroupFigures, GroupKey, GroupState, by_group, renew
from bot.services.planner import place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.records import ColonyRecord, KeeperId, KeeperRecord
from bot.services.season_records import GuildId, SeasonSetup

BATCH = 50
"""Members read in one unit of work: the store is free for others in between."""


@dataclass(frozen=True, slots=True)
class Counting:
    """Use cases around figures."""

    units: UnitOfWorkMaker
    handbook: Handbook
    zones: Zones

    async def shown(self, guild_id: GuildId, now: datetime) -> tuple[GroupFigures, ...] | None:
        """What may be shown of a community, as of the last count; `None` where it does not count.

        The first call on a local day counts; all others see the same.
        """
        async with self.units() as work:
            setup = await work.seasons.setup(guild_id)
            states = await work.seasons.groups(guild_id)
        if setup is None or not setup.count:
            return None
        today = local_day(now, self.zones.get(setup.zone_name))
        if setup.counted_on != today:
            states = await self._count(setup, now)
        return tuple(sorted((state.shown for state in states.values() if state.shown), key=lambda shown: shown.key))

    async def _count(self, setup: SeasonSetup, now: datetime) -> dict[GroupKey, GroupState]:
        shares = by_group(await self._shares(setup.guild_id, now))
        today = local_day(now, self.zones.get(setup.zone_name))
        oldest = min(season_year(half, today) for half in Half) - 1
        async with self.units() as work:
            await work.seasons.drop_groups(setup.guild_id, before=oldest)
            before = await work.seasons.groups(setup.guild_id)
            after = {
                key: renew(key, before.get(key, GroupState()), shares.get(key, ()), today)
                for key in {*before, *shares}
                if key.year >= oldest
            }
            for key, state in after.items():
                if state != before.get(key, GroupState()):
                    await work.seasons.save_group(setup.guild_id, key, state)
            fresh = await work.seasons.setup(setup.guild_id) or setup
            await work.seasons.save_setup(replace(fresh, counted_on=today))
            await work.commit()
        return after

    async def _shares(self, guild_id: GuildId, now: datetime) -> Sequence[Share]:
        """What all members who agreed add today. Reads in batches and lets other work in between."""
        shares: list[Share] = []
        last = KeeperId(0)
        while True:
            async with self.units() as work:
                ids = await work.seasons.counted_after(guild_id, last, BATCH)
                members = [found for member in ids if (found := await _member(work, member)) is not None]
            for keeper, colonies in members:
                shares += self._of_member(keeper, colonies, now)
                await asyncio.sleep(0)
            if len(ids) < BATCH:
                return shares
            last = ids[-1]

    def _of_member(self, keeper: KeeperRecord, colonies: Sequence[ColonyRecord], now: datetime) -> list[Share]:
        today = local_day(now, keeper.settings.zone)
        found = (
            share_of(
                str(keeper.id),
                record.colony,
                self.handbook.profile(record.colony.species),
                place_of(keeper, record),
                keeper.settings,
                self.handbook,
                today,
            )
            for record in colonies
        )
        return [share for share in found if share is not None]


async def _member(work: UnitOfWork, keeper_id: KeeperId) -> tuple[KeeperRecord, Sequence[ColonyRecord]] | None:
    keeper = await work.keepers.get(keeper_id)
    return None if keeper is None else (keeper, await work.colonies.of(keeper_id))
