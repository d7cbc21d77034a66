"""What a member does with a notice: walk through the rests of their colonies, and say what they see there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.phase import COLD_PHASES, Phase
from bot.services.acknowledgement import Acknowledgement
from bot.services.colonies import Colonies
from bot.services.history import History
from bot.services.keepers import known
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId
from bot.services.rest import Rest, RestView

SHORTEST_WARM_UP = timedelta(days=7)
"""A warm-up goes in steps over one to two weeks (caution REST-WARM-UP); awake after the first, the season begins."""


class Sight(StrEnum):
    """What members tell with a button under a notice."""

    AWAKE = "awake"
    PUPAE = "pupae"


WHEN: Mapping[Sight, frozenset[Phase]] = {
    Sight.AWAKE: COLD_PHASES | {Phase.RESUME},
    Sight.PUPAE: frozenset({Phase.WIND_DOWN, Phase.COOL_DOWN}),
}
"""Phases in which a colony can be told of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonMembers:
    """Use cases behind the buttons of a notice."""

    units: UnitOfWorkMaker
    colonies: Colonies
    rest: Rest
    acknowledgement: Acknowledgement
    history: History

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

    async def candidates(self, keeper_id: KeeperId, sight: Sight, now: datetime) -> Sequence[ColonyRecord]:
        """Colonies of which this can be told now.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            await known(work, keeper_id)
        views = [await self.rest.show(keeper_id, record.id, now) for record in await self.colonies.of(keeper_id)]
        return [view.colony for view in views if view.plan.phase_on(view.today) in WHEN[sight]]

    async def saw(
        self, keeper_id: KeeperId, colony_id: ColonyId, sight: Sight, now: datetime
    ) -> tuple[RestView, RestView]:
        """Write down what was seen; the plan follows. Returns the rest as planned before and after.

        Ants awake a week or more into the warm-up begin the new season; earlier they are an observation, which the
        plan warns of. Pupae hold the cool-down back.

        Raises:
            NotYoursError, NotSetUpError.
        """
        before = await self.rest.show(keeper_id, colony_id, now)
        if sight is Sight.PUPAE:
            entry = LogEntry(day=before.today, duty=Duty.SPACE, outcome=Outcome.PUPAE)
            await self.history.observe(keeper_id, colony_id, entry, now)
        else:
            entry = LogEntry(day=before.today, duty=_awake_duty(before), outcome=Outcome.AWAKE)
            await self.acknowledgement.record(keeper_id, colony_id, entry, now)
        return before, await self.rest.show(keeper_id, colony_id, now)


def _awake_duty(view: RestView) -> Duty:
    warm = next((span.start for span in view.plan.phases if span.phase is Phase.WARM_UP), None)
    late = warm is not None and view.today - warm >= SHORTEST_WARM_UP
    return Duty.REST_END if late and view.plan.phase_on(view.today) is Phase.WARM_UP else Duty.REST_CHECK
