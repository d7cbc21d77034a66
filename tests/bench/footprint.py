"""What a process needs: seconds from its start until it could log in, and memory after some work.

Each measurement is a process of its own, `python -m tests.bench.footprint URL BEGUN`: it opens the store, looks after a
start as `run` does, builds client and commands, beats once, then delivers to 20 keepers, shows 60 others what is due
and answers one question, for which all words and the encoder of sentences are loaded.
"""

from __future__ import annotations

import gc

if __name__ == "__main__":
    gc.disable()  # as `python -m bot` does

import asyncio
import json
import subprocess
import sys
from pathlib import Path
from time import perf_counter

from bot.adapters.chat.client import ChatClient
from bot.adapters.chat.commands import build_commands
from bot.adapters.clock import SystemClock
from bot.app import open_core
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId
from bot.settings import Settings
from tests.bench.figure import Figure
from tests.bench.peak import peak_mb
from tests.bench.sending import Counter
from tests.bench.stock import FIRST, NOW, due

ROOT = Path(__file__).parents[2]
READY_SECONDS, MEMORY_MB, GROWTH = 3.0, 200.0, 1.10
DELIVERED, ASKED = 20, 60


def footprint(many_url: str, few_url: str, many: int, few: int) -> list[Figure]:
    """Memory and start among very many colonies, beside the same among few."""
    kind = many_url.partition("+")[0].partition(":")[0]
    (many_ready, many_mb), (few_ready, few_mb) = (measure(url) for url in (many_url, few_url))
    return [
        Figure(
            name=f"peak memory of the process with {many:,} colonies stored against {few:,}, {kind}",
            ours=many_mb,
            reference=few_mb,
            unit="MB",
            target=f"under {MEMORY_MB:.0f} MB, grows by less than 10 %",
            met=many_mb < MEMORY_MB and many_mb < GROWTH * few_mb,
        ),
        Figure(
            name=f"start until ready to log in, {many:,} colonies stored against {few:,}, {kind}",
            ours=many_ready,
            reference=few_ready,
            unit="s",
            target=f"{READY_SECONDS:.0f} s",
            met=many_ready <= READY_SECONDS,
        ),
    ]


def measure(url: str) -> tuple[float, float]:
    """Seconds until ready, and the peak of the memory in MB, of a process of its own."""
    command = [sys.executable, "-m", "tests.bench.footprint", url, f"{perf_counter()}"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    ready, memory = json.loads(done.stdout.splitlines()[-1])
    return ready, memory


async def work(url: str, begun: float) -> tuple[float, float]:
    """Start, then work; returns seconds until ready and the peak of the memory in MB."""
    settings = Settings(database=url)
    async with open_core(settings, SystemClock()) as core:
        await core.upheaval.restored(NOW)
        await core.upheaval.zone_data(NOW)
        client = ChatClient(core.chat_services(), shard_count=1)
        client.register_items()
        for command in build_commands():
            client.tree.add_command(command)
        await core.upheaval.clock(NOW)
        await core.dispatcher(Counter()).deliver_due(NOW)
        await core.next_wake()
        ready = perf_counter() - begun
        ids = await _ids(core.units, ASKED)
        await due(core.engine, DELIVERED, max(ids) - FIRST + 1)
        await core.dispatcher(Counter()).deliver_due(NOW)
        for number in ids:
            await core.care_views.due(number, NOW)
            await core.care_views.week(number, NOW)
        core.guide().answer("my tube is dry")
    return ready, peak_mb()


async def _ids(units: UnitOfWorkMaker, count: int) -> list[KeeperId]:
    async with units() as unit:
        return list(await unit.keepers.ids_after(KeeperId(FIRST - 1), count))


if __name__ == "__main__":
    gc.enable()
    sys.stdout.write(json.dumps(asyncio.run(work(sys.argv[1], float(sys.argv[2])))) + "\n")
