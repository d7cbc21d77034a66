"""A small world for use cases: the real store in a temporary file, a hand-made handbook, a messenger with a memory."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.colony import Colony
from bot.care.handbook import Handbook
from bot.services.acknowledgement import Acknowledgement
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies, ColonyView
from bot.services.delivery import Dispatcher
from bot.services.errors import DeliveryError, ServiceError
from bot.services.keepers import Keepers, PlaceChanges
from bot.services.planner import Planner
from bot.services.ports import Digest, Posted, UnitOfWorkMaker
from bot.services.records import KeeperId, OccurrenceId
from tests import shelf
from tests.care import builders

ALMA, BRUNO = KeeperId(1001), KeeperId(2002)
START = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)
"""A Tuesday morning in summer, 08:00 in Vienna."""


class Crash(BaseException):
    """The process dies here; nothing may catch it."""


@dataclass
class Mailbox:
    """The platform's side: folds repeated nonces for a few minutes as the platform does, and can make trouble."""

    now: datetime = START
    seen: list[Digest] = field(default_factory=list)
    """What the member really sees, in order."""
    trouble: list[DeliveryError | Crash] = field(default_factory=list)
    """Raised before anything is sent, one a call."""
    refuse: dict[KeeperId, Exception] = field(default_factory=dict)
    """Raised for every message to these keepers."""
    refuse_doors: DeliveryError | None = None
    hang: set[KeeperId] = field(default_factory=set)
    """Messages to these keepers never come to an end."""
    meanwhile: dict[KeeperId, Callable[[], Awaitable[None]]] = field(default_factory=dict)
    """What happens, once, while a message to this keeper is on its way: stored, not yet answered."""
    tries: int = 0
    crash_after_send: bool = False
    doors: int = 0
    asked_for: int = 0
    """How often the history was searched."""
    forgets_after: timedelta = timedelta(minutes=4)
    _nonces: dict[str, tuple[datetime, int]] = field(default_factory=dict)

    async def open_door(self, keeper_id: KeeperId) -> int:
        self.doors += 1
        if self.refuse_doors is not None:
            raise self.refuse_doors
        self._raise_trouble()
        return 5000 + int(keeper_id)

    async def send_digest(self, channel_id: int, digest: Digest, *, quiet: bool) -> Posted:
        self.tries += 1
        self._raise_trouble()
        if digest.keeper_id in self.refuse:
            raise self.refuse[digest.keeper_id]
        if digest.keeper_id in self.hang:
            await asyncio.Event().wait()
        at, number = self._nonces.get(digest.nonce, (None, 0))
        if at is None or self.now - at > self.forgets_after:
            self.seen.append(digest)
            number = len(self.seen)
            self._nonces[digest.nonce] = (self.now, number)
        if digest.keeper_id in self.meanwhile:
            await self.meanwhile.pop(digest.keeper_id)()
        if self.crash_after_send:
            self.crash_after_send = False
            raise Crash
        return Posted(channel_id, number)

    async def find_digest(self, channel_id: int, digest: Digest) -> Posted | None:
        self.asked_for += 1
        for number, earlier in enumerate(self.seen, start=1):
            if earlier.delivery_id == digest.delivery_id:
                return Posted(channel_id, number)
        return None

    def _raise_trouble(self) -> None:
        if self.trouble:
            raise self.trouble.pop(0)


def _first(trouble: BaseException) -> BaseException:
    """What went wrong first, out of groups within groups."""
    while isinstance(trouble, BaseExceptionGroup):
        trouble = trouble.exceptions[0]
    return trouble


@dataclass
class World:
    """Everything a test acts with."""

    units: UnitOfWorkMaker
    mailbox: Mailbox
    keepers: Keepers
    colonies: Colonies
    answers: Acknowledgement
    views: CareViews
    dispatcher: Dispatcher
    surprises: list[Exception]

    async def settle(self, keeper: KeeperId = ALMA, zone: str = "Europe/Vienna", now: datetime = START) -> None:
        """Give a keeper a place."""
        await self.keepers.set_place(keeper, PlaceChanges(zone_name=zone, temperature_c=24, humidity_percent=50), now)

    async def register(
        self, keeper: KeeperId = ALMA, colony: Colony | None = None, now: datetime = START
    ) -> ColonyView:
        """Register a colony that arrived a while ago, so that nothing is held back for settling in."""
        return await self.colonies.add(keeper, colony or builders.colony(), now)

    async def beat(self, now: datetime) -> list[Digest]:
        """One beat; returns what became visible through it."""
        before = len(self.mailbox.seen)
        self.mailbox.now = now
        try:
            await self.dispatcher.deliver_due(now)
        except BaseExceptionGroup as died:
            raise _first(died) from None
        return self.mailbox.seen[before:]

    async def walk(self, start: datetime, end: datetime, *, answering: bool = False) -> list[tuple[datetime, Digest]]:
        """Beat at every wake moment between two moments; `answering` presses Done on every line."""
        seen: list[tuple[datetime, Digest]] = []
        now = start
        while True:
            async with self.units() as work:
                wake = await work.keepers.next_wake()
            if wake is None or wake >= end:
                return seen
            now = max(now, wake)
            digests = await self.beat(now)
            seen += [(now, digest) for digest in digests]
            now += timedelta(seconds=1)
            for line in [line for digest in digests for line in digest.lines if answering]:
                with suppress(ServiceError):
                    await self.answers.done(digests[0].keeper_id, line.occurrence_id, now)

    async def first_line(self, digest: Digest, duty: str) -> OccurrenceId:
        """The occurrence behind the first line of a duty."""
        return next(line.occurrence_id for line in digest.lines if line.duty == duty)


@cache
def handbook() -> Handbook:
    """The hand-made handbook with the cautions that ship with the bot."""
    return builders.handbook(cautions=shelf.handbook().cautions)


@cache
def zones() -> TzDatabase:
    """The tz data."""
    return TzDatabase()


@asynccontextmanager
async def open_world(folder: Path, template: Path) -> AsyncIterator[World]:
    """A world on a copy of an empty store at the newest revision."""
    shutil.copyfile(template, folder / "store.sqlite3")
    engine = open_engine(f"sqlite+aiosqlite:///{folder / 'store.sqlite3'}")
    try:
        yield world_on(unit_of_work_maker(engine, zones()))
    finally:
        await engine.dispose()


def world_on(units: UnitOfWorkMaker) -> World:
    """The use cases on a store."""
    surprises, planner, mailbox = list[Exception](), Planner(handbook()), Mailbox()
    return World(
        units=units,
        mailbox=mailbox,
        keepers=Keepers(units, planner, zones()),
        colonies=Colonies(units, planner, handbook()),
        answers=Acknowledgement(units, planner),
        views=CareViews(units, handbook()),
        dispatcher=Dispatcher(units, mailbox, planner, handbook(), lambda _, surprise: surprises.append(surprise)),
        surprises=surprises,
    )
