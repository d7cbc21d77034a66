"""Starts the real bot as real processes against the loopback platform.

One parent loads the program once and forks a process for every bot, so that a start costs little; each child runs
`bot.app.run` with settings from the environment until it is stopped or killed. Only address of the platform and clock
differ from a start by hand.
"""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import traceback
from pathlib import Path

import discord
import yarl
from discord.gateway import DiscordWebSocket

import bot.app
from bot.adapters.chat.shards import Shards
from bot.settings import read_settings
from tests.crash.clock import SharedClock
from tests.crash.handbook import remember_handbook

TOKEN = "a-token-that-no-log-may-hold"


def aim(address: str) -> None:
    """Point the library at the loopback platform."""
    discord.http.Route.BASE = f"{address}/api/v10"
    DiscordWebSocket.DEFAULT_GATEWAY = yarl.URL(address.replace("http", "ws") + "/gateway")


def one_bot(told: dict[str, str]) -> int:
    """A bot until its end; returns the exit code. What it says goes to the journal."""
    journal = os.open(told["journal"], os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    os.dup2(journal, 1)
    os.dup2(journal, 2)
    os.environ |= {"WINTERBROOD_TOKEN": TOKEN, "WINTERBROOD_DATABASE": told["database"]}
    aim(told["platform"])
    try:
        settings, clock = read_settings(dict(os.environ)), SharedClock(Path(told["clock"]))
        asyncio.run(bot.app.run(settings, clock, shards_of(told["shards"])))
    except BaseException:  # noqa: BLE001 - the journal gets everything, and the exit code says it
        traceback.print_exc()
        return 1
    return 0


def main() -> None:
    """Answer `NUMBER start JSON` with the process id of a new bot, and `NUMBER PROCESS` with its status at its end.

    Each answer begins with the number of the question. Ends with standard input.
    """
    living = set[int]()
    for line in sys.stdin:
        number, asked, *rest = line.split(maxsplit=2)
        if asked == "start":
            child = os.fork()
            if child == 0:
                os._exit(one_bot(json.loads(rest[0])))
            living.add(child)
            say(f"{number} {child}")
        else:
            process, status = os.waitpid(int(asked), 0)
            living.discard(process)
            say(f"{number} {status}")
    for process in living:
        os.kill(process, signal.SIGKILL)


def shards_of(said: str) -> Shards | None:
    """Nothing, or a process's shards and how many there are, such as `0-1 4`."""
    match said.split():
        case [span, count]:
            return Shards.of(span, int(count))
        case _:
            return None


def say(line: str) -> None:
    """One line at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    remember_handbook()
    main()
