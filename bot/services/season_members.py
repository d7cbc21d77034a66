"""What a member does with a notice: walk through the rests of their colonies, and say that one is awake."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase
from bot.services.acknowledgement import Acknowledgement
from bot.services.colonies import Colonies
from bot.services.keepers import known
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId
from bot.services.rest import Rest, RestView

COLD = frozenset({Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME})


@dataclass(frozen=True, slots=True)
class SeasonMembers:
    """Use cases behind the buttons of a notice."""

    units: UnitOfWorkMaker
    colonies: Colonies
    rest: Rest
    acknowledgement: Acknowledgement

    async def walk(self, keeper_id: KeeperId, number: int, now: datetime) -> tuple[RestView, int] | None:
        """The rest of a member's colony by its number (from 0), and how many there are; `None` beyond the last.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            await known(work, keeper_id)
        mine = await self.colonies.of(keeper_id)
        if not 0 <= number < len(mine):
            return None
        return await self.rest.show(keeper_id, mine[number].id, now), len(mine)

    async def resting(self, keeper_id: KeeperId, now: datetime) -> Sequence[ColonyRecord]:
        """Colonies between cool-down and new season: those that can be seen awake.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            await known(work, keeper_id)
        views = [await self.rest.show(keeper_id, record.id, now) for record in await self.colonies.of(keeper_id)]
        return [view.colony for view in views if view.plan.phase_on(view.today) in COLD]

    async def awake(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> RestView:
        """Write down that ants were seen awake: an observation, which moves no date by itself.

        Raises:
            NotYoursError, NotSetUpError.
        """
        today = (await self.rest.show(keeper_id, colony_id, now)).today
        entry = LogEntry(day=today, duty=Duty.REST_CHECK, outcome=Outcome.AWAKE)
        await self.acknowledgement.record(keeper_id, colony_id, entry, now)
        return await self.rest.show(keeper_id, colony_id, now)
