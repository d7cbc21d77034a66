"""Moves the clock the way time passes for the bot: from due moment to due moment, so that nothing arrives late."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.services.ports import Clock

SHORTEST_PAUSE = timedelta(minutes=1)
LONGEST_PAUSE = timedelta(hours=1)
"""A beat that leaves something due behind is tried again after a pause that doubles up to this."""


@dataclass(frozen=True, slots=True)
class Stepper:
    """Steps through time. `next_wake` tells the next due moment, `beat` moves there and serves what is due."""

    clock: Clock
    next_wake: Callable[[], Awaitable[datetime | None]]
    beat: Callable[[datetime], Awaitable[object]]

    async def step_to(self, target: datetime, enough: Callable[[], bool] = lambda: False) -> bool:
        """Beat at every due moment up to `target`, and at `target` itself; true when `enough` ended it before."""
        pause = SHORTEST_PAUSE
        while True:
            now, wake = self.clock.now(), await self.next_wake()
            left_behind = wake is not None and wake <= now
            moment = target if wake is None else now + pause if left_behind else wake
            pause = min(pause * 2, LONGEST_PAUSE) if left_behind else SHORTEST_PAUSE
            if moment > target or now >= target:
                break
            await self.beat(moment)
            if enough():
                return True
        if self.clock.now() < target:
            await self.beat(target)
        return enough()
