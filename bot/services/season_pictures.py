"""The picture of a season notice: drawn anew each time, within seconds, or left out; nothing waits for it."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from bot.care.localtime import local_day
from bot.care.season.community import SeasonStage
from bot.care.season.figures import GroupFigures
from bot.care.season.language import Languages, SeasonWords, wording
from bot.services.pictures import Picture
from bot.services.ports import Zones
from bot.services.season_counting import Counting
from bot.services.season_records import GuildId, Notice, SeasonSetup

SECONDS = 10
"""Longest wait for a picture; well inside the lease of a notice that is being posted."""

Draw = Callable[[Sequence[GroupFigures], date, SeasonWords], Picture | None]
"""Draws shown figures as of a day, in a language; `None` when no week may be shown."""


@dataclass(frozen=True, slots=True)
class SeasonPictures:
    """Use cases around the picture; without `draw` there is none."""

    zones: Zones
    counting: Counting
    languages: Languages
    draw: Draw | None
    on_failure: Callable[[GuildId, Exception], None]

    async def of(self, setup: SeasonSetup, notice: Notice, now: datetime) -> Picture | None:
        """The weeks of the notice's own half and season; `None` without figures and when it cannot be drawn."""
        if notice.stage is SeasonStage.NOTHING_DUE:
            return None
        return await self._drawn(setup, notice, wording(self.languages, notice.language), now)

    async def ahead(self, setup: SeasonSetup, words: SeasonWords, now: datetime) -> Picture | None:
        """The weeks of all halves and seasons with figures."""
        return await self._drawn(setup, None, words, now)

    async def _drawn(
        self, setup: SeasonSetup, notice: Notice | None, words: SeasonWords, now: datetime
    ) -> Picture | None:
        if self.draw is None:
            return None
        try:
            async with asyncio.timeout(SECONDS):
                figures = await self.counting.shown(setup.guild_id, now) or ()
                wanted = [group for group in figures if notice is None or _belongs(group, notice)]
                today = local_day(now, self.zones.get(setup.zone_name))
                return await asyncio.to_thread(self.draw, wanted, today, words) if wanted else None
        except Exception as trouble:  # noqa: BLE001 - told; a notice goes out without its picture rather than not
            self.on_failure(setup.guild_id, trouble)
            return None


def _belongs(group: GroupFigures, notice: Notice) -> bool:
    return (group.key.half, group.key.year) == (notice.half, notice.year)
