"""The beat: a due-driven loop that asks the database what is due, and a few maintenance jobs on APScheduler.

Neither holds a fact. A missed, late or doubled beat costs nothing, because what is due is a question to the store.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Protocol

import structlog
from apscheduler.schedulers.asyncio import AsyncIOScheduler

LONGEST_SLEEP = timedelta(seconds=60)
BEAT_TIMEOUT = timedelta(minutes=10)
SILENT_AFTER = timedelta(minutes=5)
"""A heartbeat that has not ended a beat for so long is reported."""

log = structlog.get_logger("heartbeat")


class Clock(Protocol):
    """The one clock."""

    def now(self) -> datetime:
        """The current moment, aware, in UTC."""
        ...


@dataclass(slots=True)
class Pulse:
    """What the heartbeat did, for logs, metrics and the watchdog."""

    beats: int = 0
    failures: int = 0
    last_beat: datetime | None = None
    started: datetime | None = None

    def age(self, now: datetime) -> timedelta | None:
        """Since the last beat that ended well, or since the start; `None` before it."""
        since = self.last_beat or self.started
        return None if since is None else now - since

    def silent(self, now: datetime) -> bool:
        """Whether no beat has ended for too long."""
        age = self.age(now)
        return age is not None and age > SILENT_AFTER


@dataclass(slots=True)
class Heartbeat:
    """Beats until told to stop. `deliver` serves what is due; `next_wake` tells the next due moment."""

    clock: Clock
    deliver: Callable[[datetime], Awaitable[object]]
    next_wake: Callable[[], Awaitable[datetime | None]]
    pulse: Pulse = field(default_factory=Pulse)

    async def run(self, stop: asyncio.Event) -> None:
        """Beat, then sleep until the next due moment, at most a minute; a beat that fails is logged and tried again."""
        self.pulse.started = self.clock.now()
        while not stop.is_set():
            await self.beat(self.clock.now())
            try:
                await asyncio.wait_for(stop.wait(), timeout=await self._pause())
            except TimeoutError:
                continue

    async def beat(self, now: datetime) -> None:
        """One beat; never raises but for cancellation."""
        try:
            async with asyncio.timeout(BEAT_TIMEOUT.total_seconds()):
                done = await self.deliver(now)
        except Exception:
            self.pulse.failures += 1
            log.exception("beat_failed", failures=self.pulse.failures)
            return
        self.pulse.beats += 1
        self.pulse.last_beat = now
        log.debug("beat", done=repr(done))

    async def _pause(self) -> float:
        try:
            wake = await self.next_wake()
        except Exception:
            log.exception("next_wake_failed")
            wake = None
        now = self.clock.now()
        pause = LONGEST_SLEEP if wake is None else min(LONGEST_SLEEP, wake - now)
        return max(pause.total_seconds(), 0.05)


Job = Callable[[], Awaitable[None]]


def maintenance(jobs: Mapping[str, tuple[Job, timedelta]]) -> AsyncIOScheduler:
    """A scheduler for a handful of idempotent jobs: name -> (job, interval). Merged when missed, never two at once."""
    scheduler = AsyncIOScheduler(
        timezone="UTC", job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None}
    )
    for name, (job, every) in jobs.items():
        scheduler.add_job(_guarded, "interval", seconds=every.total_seconds(), args=(name, job), id=name)
    return scheduler


async def _guarded(name: str, job: Job) -> None:
    """A job that fails or hangs is logged and comes again."""
    try:
        async with asyncio.timeout(BEAT_TIMEOUT.total_seconds()):
            await job()
    except Exception:
        log.exception("job_failed", job=name)
