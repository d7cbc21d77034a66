"""What watches the bot from inside: alarms that a person must see, figures for a monitoring system, and health."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import structlog
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.heartbeat import Pulse
from bot.adapters.store.standing import answers, waiting
from bot.services.alarms import Alarm, Alarms, Bell, Trouble
from bot.services.counts import Counts, Standing
from bot.services.ports import Clock, UnitOfWorkMaker

PATIENCE_SECONDS = 5.0
"""A database that takes longer to say anything counts as unreachable."""

log = structlog.get_logger("watch")


class Sender(Protocol):
    """What must be known of sending."""

    @property
    def stopped(self) -> float:
        """Seconds for which nothing is sent because the platform refused too much; 0 when all goes out."""
        ...

    @property
    def doors_stopped(self) -> float:
        """Seconds for which no new direct-message channel is opened; 0 when they are."""
        ...


@dataclass(frozen=True, slots=True)
class Watch:
    """Looks, judges and tells; holds no fact but what was logged already."""

    clock: Clock
    engine: AsyncEngine
    counts: Counts
    pulse: Pulse
    sender: Sender
    alarms: Alarms

    async def look(self) -> None:
        """Once a minute: raise and end alarms, and tell moderators what they do not know yet."""
        now = self.clock.now()
        await self.alarms.judge(self._troubles(), now)
        await self.alarms.tell(now)

    async def standing(self) -> Standing:
        """How things stand now."""
        now = self.clock.now()
        found = await waiting(self.engine, now)
        return Standing(
            due=found.due,
            oldest_due=found.oldest,
            refused=found.refused,
            gone=found.gone,
            beats=self.pulse.beats,
            beat_failures=self.pulse.failures,
            beat_age=self.pulse.age(now),
            stopped=self.sender.stopped,
            doors_stopped=self.sender.doors_stopped,
        )

    async def wrong(self) -> tuple[str, ...]:
        """What makes the bot unhealthy, a sentence each."""
        found = ["the heartbeat is silent"] if self.pulse.silent(self.clock.now()) else []
        try:
            async with asyncio.timeout(PATIENCE_SECONDS):
                await answers(self.engine)
        except Exception as error:  # noqa: BLE001 - whatever it is, the database does not answer
            found.append(f"the database does not answer ({type(error).__name__})")
        return tuple(found)

    def _troubles(self) -> Mapping[Trouble, bool]:
        return {
            Trouble.BEAT: self.pulse.silent(self.clock.now()),
            Trouble.SENDING: self.sender.stopped > 0,
            Trouble.DOORS: self.sender.doors_stopped > 0,
        }


def alarms_of(units: UnitOfWorkMaker, bell: Bell, counts: Counts) -> Alarms:
    """Alarms that are logged with their number, and counted."""

    def raised(alarm: Alarm) -> None:
        counts.alarms[alarm.trouble.value] += 1
        log.error("alarm", trouble=alarm.trouble.value, incident=alarm.incident)

    return Alarms(units, bell, raised)
