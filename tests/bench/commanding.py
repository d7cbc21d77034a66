"""Slash commands among very many colonies, through the real command tree on the simulated platform.

Timed is what the bot does: from the arrival of a command to the end of its callback, answer sent. The network and the
simulator's own work are not in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from time import perf_counter
from typing import Any

import discord
from simcord.env import Env
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.calendar_file import calendar_file
from bot.adapters.chat.client import ChatClient
from bot.adapters.chat.services import ChatServices
from bot.adapters.logger_files.reader import read_logger_file
from bot.adapters.pictures.album import ColonyAlbum
from bot.adapters.pictures.drawings import LightDrawings
from bot.adapters.store.engine import open_engine
from bot.adapters.store.own_data import own_data_unit_maker
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.handbook import Handbook
from bot.services.acknowledgement import Acknowledgement
from bot.services.calendars import Calendars
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies
from bot.services.colony_pictures import ColonyPictures
from bot.services.history import History
from bot.services.keepers import Keepers
from bot.services.loggers import Loggers
from bot.services.own_data import OwnDataUseCases
from bot.services.pictures import Picture
from bot.services.planner import Planner
from bot.services.records import ColonyId, KeeperId
from bot.services.rest import Rest
from tests.bench.figure import Figure, percentile
from tests.bench.stock import NOW, register
from tests.chat.world import MovableClock

PLATFORM_MS = 3000.0
P99_MS = 50.0
COMMANDS: tuple[tuple[str, dict[str, Any]], ...] = (
    ("colony list", {}),
    ("colony show", {"colony": "Colony 1"}),
    ("care due", {}),
    ("care week", {}),
    ("care why", {"colony": "Colony 1", "what": "water"}),
    ("care why", {"colony": "Colony 2", "what": "sugar"}),
    ("rest show", {"colony": "Colony 1"}),
    ("care watered", {"colony": "Colony 2", "found": "about dry"}),
)


async def commands(url: str, book: Handbook, colonies: int, rounds: int) -> list[Figure]:
    """p50 and p99 over all commands, each as often as the others."""
    engine = open_engine(url)
    taken: dict[str, list[float]] = {}
    clock = MovableClock(NOW)
    env = Env(ChatClient(_services(engine, book, clock), shard_count=1), settle_timeout=60)
    await env.start()
    try:
        guild = env.create_guild("Formicarium Hall")
        hall, ada = guild.create_text_channel("hall"), guild.add_member(env.create_user("ada"))
        await register(unit_of_work_maker(engine, TzDatabase()), book, [ada.id])
        assert isinstance(env.bot, ChatClient)
        times = _timed(env.bot)
        for _ in range(rounds):
            for name, options in COMMANDS:
                before = len(times)
                clock.move(seconds=10)  # as people do, and within the allowance
                await ada.slash(hall, name, **options)
                taken.setdefault(name, []).extend(times[before:])
    finally:
        await env.shutdown()
        await engine.dispose()
    every = [each for found in taken.values() for each in found]
    slowest = max(taken, key=lambda name: percentile(taken[name], 0.5))
    where = f"{colonies:,} colonies, {engine.dialect.name}"
    return [
        Figure(
            name=f"a slash command, {label}, {where}"
            + (f" (slowest: /{slowest}, {percentile(taken[slowest], 0.5):.0f} ms)" if label == "p99" else ""),
            ours=percentile(every, share),
            reference=PLATFORM_MS,
            unit="ms",
            target=f"p99 under {P99_MS:.0f} ms",
            met=percentile(every, share) < P99_MS,
        )
        for label, share in (("p50", 0.5), ("p99", 0.99))
    ]


def _timed(bot: ChatClient) -> list[float]:
    """Times of all commands from now on, in milliseconds."""
    times, call = list[float](), bot.tree._call

    async def timed(interaction: discord.Interaction[ChatClient]) -> None:
        begun = perf_counter()
        await call(interaction)
        times.append((perf_counter() - begun) * 1000)

    bot.tree._call = timed  # type: ignore[method-assign] # the library offers no place to listen
    return times


class _NoPictures(ColonyPictures):
    """Pictures follow an answer that was sent already, one at a time: they are no part of what is timed here."""

    async def year(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> Sequence[Picture]:
        """None."""
        return []

    async def waters(self, keeper_id: KeeperId, now: datetime, days: int) -> Sequence[Picture]:
        """None."""
        return []


def _services(engine: AsyncEngine, book: Handbook, clock: MovableClock) -> ChatServices:
    zones = TzDatabase()
    units, planner = unit_of_work_maker(engine, zones), Planner(book)
    colonies = Colonies(units, planner, book)
    return ChatServices(
        keepers=Keepers(units, planner, zones),
        colonies=colonies,
        acknowledgement=Acknowledgement(units, planner),
        care_views=CareViews(units, book),
        rest=Rest(units, colonies, book),
        history=History(units, planner, book),
        loggers=Loggers(units, planner, book, read_logger_file),
        pictures=_NoPictures(units, book, LightDrawings(book)),
        calendars=Calendars(units, book, calendar_file),
        own_data=OwnDataUseCases(own_data_unit_maker(engine, zones), planner, book, zones, ColonyAlbum(book)),
        handbook=book,
        zones=zones,
        clock=clock,
        units=units,
    )
