"""Composition root: the one place that builds everything from Settings and owns start and stop."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache, partial
from pathlib import Path

import structlog
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.calendar_file import calendar_file
from bot.adapters.chat.client import ChatClient
from bot.adapters.chat.services import ChatServices
from bot.adapters.chat.shards import Shards
from bot.adapters.clock import SystemClock
from bot.adapters.handbook.guide import load_guide
from bot.adapters.handbook.loader import load_handbook
from bot.adapters.handbook.season_words import load_languages
from bot.adapters.heartbeat import Heartbeat, Job, maintenance
from bot.adapters.logger_files.reader import read_logger_file
from bot.adapters.logs import configure
from bot.adapters.memory import frozen, settled
from bot.adapters.pictures.drawings import ColonyAlbum, LightDrawings, season_picture
from bot.adapters.store.engine import open_engine, sqlite_file, store_url
from bot.adapters.store.migrate import upgrade
from bot.adapters.store.own_data import own_data_unit_maker
from bot.adapters.store.turn import DeliveryTurn, open_turn
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.answers.guide import Guide
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.season.language import Languages
from bot.services.acknowledgement import Acknowledgement
from bot.services.calendars import Calendars
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies
from bot.services.colony_pictures import ColonyPictures
from bot.services.counts import Counts
from bot.services.delivery import Dispatcher
from bot.services.history import History
from bot.services.keepers import Keepers
from bot.services.leaving import Leaving
from bot.services.loggers import Loggers
from bot.services.own_data import OwnDataUseCases
from bot.services.planner import Planner
from bot.services.ports import Clock, Messenger, UnitOfWorkMaker
from bot.services.records import KeeperId, Subject
from bot.services.rest import Rest
from bot.services.rounds import Rounds
from bot.services.season_posting import SeasonDispatcher
from bot.services.season_records import GuildId
from bot.services.sitting_end import forget_ended
from bot.services.tally import Tally
from bot.services.thread_posting import ThreadDispatcher
from bot.services.upheaval import Upheaval
from bot.settings import Settings
from bot.watch import Watch, alarms_of

HOUR = timedelta(hours=1)
STAND_BY = timedelta(seconds=5)
"""How often a process that does not deliver asks whether it should; well below a lease."""
DRAIN_SECONDS = 10
"""How long sends on their way may take when the bot is told to stop."""

log = structlog.get_logger("app")


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """Everything but the platform: store, handbook and use cases."""

    settings: Settings
    clock: Clock
    zones: TzDatabase
    handbook: Handbook
    languages: Languages
    guide: Callable[[], Guide]
    """Loaded when somebody first asks, then kept: it takes longer than all the rest of a start."""
    engine: AsyncEngine
    units: UnitOfWorkMaker
    planner: Planner
    keepers: Keepers
    colonies: Colonies
    acknowledgement: Acknowledgement
    care_views: CareViews
    rest: Rest
    upheaval: Upheaval
    counts: Counts
    """Since the start, for whoever watches."""

    def chat_services(self) -> ChatServices:
        """What the chat adapter is given."""
        return ChatServices(
            clock=self.clock,
            zones=self.zones,
            handbook=self.handbook,
            guide=self.guide,
            units=self.units,
            keepers=self.keepers,
            colonies=self.colonies,
            acknowledgement=self.acknowledgement,
            care_views=self.care_views,
            rest=self.rest,
            history=History(self.units, self.planner, self.handbook),
            loggers=Loggers(self.units, self.planner, self.handbook, read_logger_file),
            pictures=ColonyPictures(self.units, self.handbook, LightDrawings(self.handbook)),
            calendars=Calendars(self.units, self.handbook, calendar_file),
            own_data=self._own_data(),
            languages=self.languages,
            season_picture=season_picture,
        )

    def _own_data(self) -> OwnDataUseCases:
        return OwnDataUseCases(
            units=own_data_unit_maker(self.engine, self.zones),
            planner=self.planner,
            handbook=self.handbook,
            zones=self.zones,
            album=ColonyAlbum(self.handbook),
        )

    async def next_wake(self) -> datetime | None:
        """The earliest moment at which a keeper must be looked at."""
        async with self.units() as work:
            return await work.keepers.next_wake()

    def dispatcher(self, messenger: Messenger) -> Dispatcher:
        """The use case that delivers reminders."""
        return Dispatcher(self.units, messenger, self.planner, self.handbook, _surprised)

    def rounds(self, client: ChatClient) -> Rounds:
        """What every beat does."""
        return Rounds(
            self.next_wake,
            self.dispatcher(client.messenger),
            ThreadDispatcher(self.units, client.threads, client.hall, self.planner, _surprised),
            SeasonDispatcher(self.units, client.hall, client.season_acts.pictures, _not_posted),
            client.season_acts.drafts.draft_due,
        )


def handbook_of(settings: Settings) -> Handbook:
    """The handbook of `config/` with the community's overlay.

    Raises:
        HandbookError: every file, key and what would be right.
    """
    overlays: tuple[Path, ...] = () if settings.overlay is None else (settings.overlay,)
    return load_handbook(settings.config, *overlays)


def languages_of(settings: Settings, handbook: Handbook) -> Languages:
    """The words of season notices with those of the community's overlay.

    Raises:
        HandbookError: every file, key and what would be right.
    """
    overlays: tuple[Path, ...] = () if settings.overlay is None else (settings.overlay,)
    return load_languages(handbook, settings.config, *overlays)


def guide_of(settings: Settings, handbook: Handbook) -> Guide:
    """The guide cards and their search.

    Raises:
        HandbookError: every file, key and what would be right.
    """
    return settled(load_guide(settings.config, handbook))


@asynccontextmanager
async def open_core(settings: Settings, clock: Clock) -> AsyncIterator[Core]:
    """Load the handbook, bring the store up to date, build the use cases; closes the store at the end.

    Raises:
        HandbookError, StoreError: what is wrong and what would be right.
    """
    zones, handbook = TzDatabase(), handbook_of(settings)
    await upgrade(settings.database)
    engine = open_engine(settings.database)
    units, counts = unit_of_work_maker(engine, zones), Counts()
    planner = Planner(handbook, _unplannable, counts.replanned)
    colonies = Colonies(units, planner, handbook)
    try:
        yield Core(
            settings=settings,
            clock=clock,
            zones=zones,
            handbook=handbook,
            languages=frozen(languages_of(settings, handbook)),
            guide=cache(partial(guide_of, settings, handbook)),
            engine=engine,
            units=units,
            planner=planner,
            keepers=Keepers(units, planner, zones),
            colonies=colonies,
            acknowledgement=Acknowledgement(units, planner),
            care_views=CareViews(units, handbook),
            rest=Rest(units, colonies, handbook),
            upheaval=Upheaval(units, planner, zones),
            counts=counts,
        )
    finally:
        await engine.dispose()


async def run(settings: Settings, clock: Clock | None = None, shards: Shards | None = None) -> None:
    """The bot on the platform, until SIGTERM or Ctrl-C; `clock` stands in for the one of this machine.

    With `shards` it is one of several processes; whichever has the turn delivers reminders for all of them.

    Raises:
        ValueError: no token, or several processes without PostgreSQL.
        HandbookError, StoreError: what is wrong and what would be right.
    """
    if settings.token is None:
        raise ValueError("No token: set WINTERBROOD_TOKEN, or try the bot without one: python -m bot practice")
    if shards is not None and sqlite_file(store_url(settings.database)) is not None:
        raise ValueError("Several processes need PostgreSQL: set WINTERBROOD_DATABASE, or run without --shards.")
    configure(settings.log_level)
    async with open_core(settings, clock or SystemClock()) as core, open_turn(core.engine) as turn:
        await _catch_up(core)
        client = _client(core, shards)
        rounds = core.rounds(client)
        heartbeat = Heartbeat(core.clock, partial(_beat, core, turn, rounds), partial(_next_look, core, turn, rounds))
        stop = asyncio.Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            asyncio.get_running_loop().add_signal_handler(name, stop.set)
        alarms = alarms_of(core.units, client.hall, core.counts)
        watch = Watch(core.clock, core.engine, core.counts, heartbeat.pulse, client.messenger, alarms)
        jobs = maintenance(_jobs(core, client, watch, turn))
        async with client, _watched(core, watch):
            await client.login(settings.token.get_secret_value())
            jobs.start()
            async with asyncio.TaskGroup() as group:
                gateway = group.create_task(_connected(client, stop))
                beating = group.create_task(heartbeat.run(stop))
                await stop.wait()
                jobs.shutdown(wait=False)
                await _drain(beating)
                gateway.cancel()


async def _catch_up(core: Core) -> None:
    """What a start looks at before the first beat: a restored copy, other tz data."""
    now = core.clock.now()
    put_off, moved = await core.upheaval.restored(now), await core.upheaval.zone_data(now)
    log.info("started", put_off_after_restore=put_off, replanned_for_zone_data=moved, zone_data=core.zones.version)


def _client(core: Core, shards: Shards | None) -> ChatClient:
    if shards is None:
        client = ChatClient(core.chat_services())
    else:
        client = ChatClient(core.chat_services(), shard_count=shards.count, shard_ids=shards.ids)
    core.counts.answers = client.answers
    return client


async def _next_look(core: Core, turn: DeliveryTurn, rounds: Rounds) -> datetime | None:
    """When to beat next; whoever waits for the turn asks for it every few seconds."""
    return await rounds.next_due() if turn.is_ours else core.clock.now() + STAND_BY


async def _beat(core: Core, turn: DeliveryTurn, rounds: Rounds, now: datetime) -> Tally:
    """One beat, after a look at the clock; nothing while another process has the turn."""
    if not await turn.take():
        return Tally()
    gone = await core.upheaval.clock(now)
    if gone is not None:
        log.error("clock_set_back" if gone < timedelta(0) else "long_without_a_beat", hours=round(gone / HOUR, 1))
    tally = await rounds.beat(now)
    core.counts.beat(tally)
    return tally


def _jobs(core: Core, client: ChatClient, watch: Watch, turn: DeliveryTurn) -> dict[str, tuple[Job, timedelta]]:
    """The few things that come round by themselves; none of them holds a fact."""

    async def buttons() -> None:
        client.register_items()

    async def gone() -> None:
        if turn.is_ours:
            found = await Leaving(core.units, client.presence).look(core.clock.now())
            core.counts.erased += found.erased
            log.info("looked_for_keepers", checked=found.checked, gone=found.gone, erased=found.erased)

    async def sittings() -> None:
        if turn.is_ours:
            await forget_ended(core.units, core.clock.now())

    minute = timedelta(minutes=1)
    return {
        "watch": (watch.look, minute),
        "buttons": (buttons, 5 * minute),
        "gone": (gone, HOUR),
        "sittings": (sittings, HOUR),
    }


@asynccontextmanager
async def _watched(core: Core, watch: Watch) -> AsyncIterator[None]:
    """Figures and health on a port, where one is set; what that takes is imported only then."""
    port = core.settings.metrics_port
    if port is None:
        yield
        return
    from bot.adapters.metrics import exposition, serve  # noqa: PLC0415 - most processes are not watched

    async def figures() -> bytes:
        return exposition(core.counts, await watch.standing(), core.clock.now())

    async with serve(core.settings.metrics_host, port, figures, watch.wrong):
        log.info("watched", host=core.settings.metrics_host, port=port)
        yield


async def _connected(client: ChatClient, stop: asyncio.Event) -> None:
    """Stay on the gateway; when the platform ends it for good, the process ends too, to be started anew."""
    await client.connect()
    stop.set()


async def _drain(beating: asyncio.Task[None]) -> None:
    """Let the running beat finish; what it cannot finish the next start will."""
    try:
        await asyncio.wait_for(asyncio.shield(beating), DRAIN_SECONDS)
    except TimeoutError:
        beating.cancel()


def _unplannable(subject: Subject, problem: CareError) -> None:
    colony_id, culture_id = subject
    log.error("unplannable", colony=colony_id, culture=culture_id, error=type(problem).__name__)


def _surprised(keeper: KeeperId, surprise: Exception) -> None:
    log.error("delivery_surprise", keeper=int(keeper), exc_info=surprise)


def _not_posted(guild: GuildId, surprise: Exception) -> None:
    log.error("notice_surprise", guild=int(guild), exc_info=surprise)
