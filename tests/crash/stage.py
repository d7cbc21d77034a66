"""A stage for the real bot: platform, bots and clock as processes, one database, and a view of what members saw."""

from __future__ import annotations

import asyncio
import atexit
import json
import os
import re
import signal
import subprocess
import sys
from collections import Counter
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import aiohttp
from sqlalchemy import func, select

from bot.adapters.store.tables import KeeperRow
from bot.app import Core, open_core
from bot.care.colony import Amount, Brood, Colony, Nest, NestKind, Outworld
from bot.services.errors import ServiceError
from bot.services.keepers import PlaceChanges
from bot.services.records import KeeperId, OccurrenceId
from bot.settings import Settings
from tests.crash.clock import SharedClock
from tests.crash.handbook import remember_handbook
from tests.crash.platform import FIRST_CHANNEL
from tests.crash.rules import Rule

ROOT = Path(__file__).parents[2]
START = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)
"""A Tuesday in summer."""
ZONES = ("Europe/Vienna", "America/Chicago", "Asia/Kolkata", "Australia/Sydney", "Pacific/Chatham", "UTC")
PATIENCE = 90.0
"""Seconds after which a process that neither ends nor answers fails the test; a loaded machine takes many of them."""
LINE = re.compile(r"wb:a:[a-z]+\d?:(\d+):d\d+")
DELIVERY = re.compile(r":d(\d+)$")


class Nursery:
    """The process that forks bots, started once and used by all stages."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.crash.bot_process"],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._numbers = count(1)
        atexit.register(self.close)

    def ask(self, question: str) -> int:
        """Ask and wait; answers to questions that nobody waits for any more are passed over."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        number = next(self._numbers)
        self._process.stdin.write(f"{number} {question}\n".encode())
        self._process.stdin.flush()
        for line in iter(self._process.stdout.readline, b""):
            answered, value = line.split()
            if int(answered) == number:
                return int(value)
        raise AssertionError("the process that starts bots is gone")

    def close(self) -> None:
        """Let it end."""
        self._process.communicate()


@cache
def nursery() -> Nursery:
    """The one nursery of this test run."""
    return Nursery()


@dataclass
class Stage:
    """Everything a test acts with."""

    core: Core
    clock: SharedClock
    address: str
    database: str
    session: aiohttp.ClientSession
    journal: Path
    """What the bots said, for failures."""
    started: datetime = START
    living: set[int] = field(default_factory=set)

    async def start(self, shards: str = "") -> int:
        """Start a bot, as one of several with `shards` such as `0-1 4`; returns its process id."""
        told = {
            "platform": self.address,
            "clock": str(self.clock.file),
            "database": self.database,
            "journal": str(self.journal),
            "shards": shards,
        }
        process = await asyncio.to_thread(nursery().ask, f"start {json.dumps(told)}")
        self.living.add(process)
        return process

    async def ended(self, process: int) -> int:
        """Wait for the end of a bot; returns its status as `os.waitpid` gives it."""
        status = await asyncio.to_thread(nursery().ask, f"{process}")
        self.living.discard(process)
        return status

    def kill(self, process: int) -> None:
        """End a bot without warning, if it still lives."""
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)

    def said(self) -> str:
        """The last words of the bots."""
        return self.journal.read_text("utf-8")[-3000:]

    async def stop(self, process: int, how: signal.Signals = signal.SIGTERM) -> int:
        """End a bot, politely or not."""
        os.kill(process, how)
        return await self.ended(process)

    async def rules(self, *rules: Rule) -> None:
        """What the platform does wrong from now on."""
        async with self.session.post(f"{self.address}/control/rules", json=[asdict(rule) for rule in rules]) as told:
            assert told.status == 200

    async def say(self, frame: dict[str, Any]) -> None:
        """Send a frame through the gateway."""
        async with self.session.post(f"{self.address}/control/say", json=frame) as told:
            assert await told.json() > 0, "no bot is connected"

    async def seen(self) -> dict[str, Any]:
        """Everything the platform remembers."""
        async with self.session.get(f"{self.address}/control/seen") as told:
            return dict(await told.json())

    async def until(self, condition: Any, seconds: float = PATIENCE) -> dict[str, Any]:
        """Wait until what the platform remembers fulfils a condition."""
        async with asyncio.timeout(seconds):
            while not condition(found := await self.seen()):  # noqa: ASYNC110 - in another process
                await asyncio.sleep(0.02)
        return found

    async def at_rest(self) -> bool:
        """Whether nobody is due and nobody is being served; a lease that a dead bot left counts until it runs out."""
        async with self.core.engine.connect() as connection:
            wake, lease = KeeperRow.next_wake, KeeperRow.lease_until
            now = self.clock.now()
            busy = select(func.count()).where((wake <= now) | (lease > now))
            return await connection.scalar(busy) == 0

    async def rest(self, seconds: float = PATIENCE) -> None:
        """Wait until the running bot has nothing to do."""
        async with asyncio.timeout(seconds):
            while not await self.at_rest():  # noqa: ASYNC110 - in another process
                await asyncio.sleep(0.03)

    async def to_next_wake(self) -> None:
        """Move the clock to the next moment at which somebody is due, unless somebody is by now."""
        wake = await self.core.next_wake()
        if wake is not None and wake > self.clock.now():
            self.clock.set(wake + timedelta(milliseconds=10))


def reminders(seen: dict[str, Any]) -> dict[int, list[set[int]]]:
    """Delivery -> the lines of each message with its buttons or pickers: one message each, if all is well."""
    found: dict[int, list[set[int]]] = {}
    for message in seen["messages"]:
        lines, deliveries = set[int](), set[int]()
        for part in walk(message["components"]):
            identifier = part.get("custom_id", "")
            if match := DELIVERY.search(identifier):
                deliveries.add(int(match[1]))
            if match := LINE.fullmatch(identifier):
                lines.add(int(match[1]))
            lines |= {int(option["value"]) for option in part.get("options", []) if option["value"].isdigit()}
        for delivery in deliveries:
            found.setdefault(delivery, []).append(lines)
    return found


def walk(components: Sequence[dict[str, Any]]) -> Sequence[dict[str, Any]]:
    """All components, nested ones included."""
    return [part for top in components for part in [top, *walk(top.get("components", []))]]


def line_counts(seen: dict[str, Any]) -> Counter[int]:
    """Occurrence -> in how many messages its line stands."""
    return Counter(line for messages in reminders(seen).values() for lines in messages for line in lines)


async def settle(core: Core, keepers: int, colonies: int, *, doors: bool = True, first: int = 100) -> list[KeeperId]:
    """Keepers in many zones with colonies; with `doors` their channels are known already."""
    ids = [KeeperId(first + number) for number in range(keepers)]
    for number, keeper in enumerate(ids):
        place = PlaceChanges(zone_name=ZONES[number % len(ZONES)], temperature_c=24.5, humidity_percent=45)
        await core.keepers.set_place(keeper, place, START)
        for colony in range(colonies):
            await core.colonies.add(keeper, small_colony(f"Colony {colony + 1}", 40 + 150 * colony), START)
        if doors:
            await core.keepers.door_opened(keeper, FIRST_CHANNEL + keeper, START)
    return ids


def small_colony(name: str, workers: int) -> Colony:
    """A colony that has something due on most days."""
    nest = Nest(kind=NestKind.NEST, material="aerated-concrete", water_ml=20, wetted_cm2=60, openness=0.6)
    return Colony(
        key="",
        name=name,
        species="Lasius niger",
        workers=workers,
        brood=Brood(level=Amount.SOME),
        nest=nest,
        outworld=Outworld(barrier="ptfe"),
        founded=(START - timedelta(days=700)).date(),
        arrived=(START - timedelta(days=600)).date(),
    )


async def answer_all(core: Core, keeper: KeeperId, lines: Sequence[int], now: datetime) -> None:
    """The keeper presses Done on every line; what was answered before stays as it is."""
    for line in lines:
        with suppress(ServiceError):
            await core.acknowledgement.done(keeper, OccurrenceId(line), now)


@asynccontextmanager
async def open_stage(folder: Path, url: str) -> AsyncIterator[Stage]:
    """Platform and bots as processes, on a database; they end with the stage."""
    clock = SharedClock(folder / "clock")
    clock.set(START)
    remember_handbook()
    settings = Settings(token=None, database=url)
    platform = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "tests.crash.platform",
        str(clock.file),
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
    )
    assert platform.stdin is not None
    assert platform.stdout is not None
    async with asyncio.timeout(PATIENCE):
        address = (await platform.stdout.readline()).decode().strip()
    try:
        async with open_core(settings, clock) as core, aiohttp.ClientSession() as session:
            stage = Stage(core, clock, address, url, session, folder / "journal")
            yield stage
            for process in stage.living:
                stage.kill(process)
    finally:
        platform.stdin.close()
        await platform.wait()
