"""Slash commands among very many colonies, through the real command tree on the simulated platform.

Timed is what the bot does: from the arrival of a command to the end of its callback, answer sent. The network and the
simulator's own work are not in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from time import perf_counter
from typing import Any

import discord
from simcord.env import Env

from bot.adapters.chat.client import ChatClient
from bot.adapters.pictures.drawings import LightDrawings
from bot.app import Core, open_core
from bot.care.handbook import Handbook
from bot.services.colony_pictures import ColonyPictures
from bot.services.pictures import Picture
from bot.services.records import ColonyId, KeeperId
from bot.settings import Settings
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
    clock = MovableClock(NOW)
    async with open_core(Settings(database=url), clock) as core:
        unseen = _NoPictures(core.units, core.handbook, LightDrawings(core.handbook))
        services = replace(core.chat_services(), pictures=unseen)
        env = Env(ChatClient(services, shard_count=1), settle_timeout=60)
        await env.start()
        try:
            taken = await _drive(env, core, book, clock, rounds)
        finally:
            await env.shutdown()
    every = [each for found in taken.values() for each in found]
    slowest = max(taken, key=lambda name: percentile(taken[name], 0.5))
    where = f"{colonies:,} colonies, {url.partition(':')[0].partition('+')[0]}"
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


async def _drive(env: Env, core: Core, book: Handbook, clock: MovableClock, rounds: int) -> dict[str, list[float]]:
    """One keeper gives all commands again and again; times in milliseconds by command."""
    guild = env.create_guild("Formicarium Hall")
    hall, ada = guild.create_text_channel("hall"), guild.add_member(env.create_user("ada"))
    await register(core.units, book, [ada.id])
    assert isinstance(env.bot, ChatClient)
    times, taken = _timed(env.bot), dict[str, list[float]]()
    for _ in range(rounds):
        for name, options in COMMANDS:
            before = len(times)
            clock.move(seconds=10)  # as people do, and within the allowance
            await ada.slash(hall, name, **options)
            taken.setdefault(name, []).extend(times[before:])
    return taken


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
