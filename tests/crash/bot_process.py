"""Starts the real bot as real processes against the loopback platform.

One parent loads the program once and forks a process for every line it reads, so that a start costs little; each
child runs `bot.app.run` with settings from the environment until it is stopped or killed. Only the platform's address
and the clock differ from a start by hand.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import traceback
from functools import cache
from pathlib import Path

import discord
import yarl
from discord.gateway import DiscordWebSocket

import bot.app
from bot.adapters.chat.shards import Shards
from bot.settings import read_settings
from tests.crash.clock import SharedClock


def aim(address: str) -> None:
    """Point the library at the loopback platform."""
    discord.http.Route.BASE = f"{address}/api/v10"
    DiscordWebSocket.DEFAULT_GATEWAY = yarl.URL(address.replace("http", "ws") + "/gateway")


def one_bot(clock: SharedClock, shards: Shards | None) -> int:
    """A bot until its end; returns the exit code."""
    try:
        asyncio.run(bot.app.run(read_settings(dict(os.environ)), clock, shards))
    except BaseException:  # noqa: BLE001 - the journal gets everything, and the exit code says it
        traceback.print_exc()
        return 1
    return 0


def main() -> None:
    """Fork a bot for each `start` or `start SHARDS COUNT` read; tell its number, and its exit when it ends.

    Ends with standard input.
    """
    aim(os.environ["CRASH_PLATFORM"])
    clock = SharedClock(Path(os.environ["CRASH_CLOCK"]))
    bot.app.handbook_of = cache(bot.app.handbook_of)
    load = bot.app.handbook_of  # loaded once, before the first fork
    load(read_settings(dict(os.environ)))
    say("loaded")
    living = set[int]()
    for line in sys.stdin:
        if line.startswith("start"):
            child = os.fork()
            if child == 0:
                os.dup2(2, 1)  # what the bot says belongs in the journal
                os._exit(one_bot(clock, shards_of(line)))
            living.add(child)
            say(f"{child}")
        else:
            process, status = os.waitpid(int(line), 0)
            living.discard(process)
            say(f"{status}")
    for process in living:
        os.kill(process, signal.SIGKILL)


def shards_of(line: str) -> Shards | None:
    """What follows `start`: nothing, or this process's shards and how many there are."""
    match line.split():
        case ["start", span, count]:
            return Shards.of(span, int(count))
        case _:
            return None


def say(line: str) -> None:
    """One line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
