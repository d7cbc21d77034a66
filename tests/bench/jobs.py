"""One job a reminder in a scheduler's SQL store, against reminders as rows that are asked for: adding and firing them.

Both sides use a SQLite file, add every reminder, let the clock pass, and fire. Each runs in a process of its own, so
that the memory it needs can be told: `python -m tests.bench.jobs ours|scheduler FILE COUNT` prints seconds and MB.
"""

from __future__ import annotations

import asyncio
import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from threading import Event
from time import perf_counter

from apscheduler.events import EVENT_JOB_EXECUTED
from apscheduler.executors.debug import DebugExecutor
from apscheduler.jobstores.sqlalchemy import SQLAlchemyJobStore
from apscheduler.schedulers.background import BackgroundScheduler

from bot.adapters.clock import SystemClock
from bot.adapters.store import migrate
from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.duty import Duty
from bot.services.delivery import BATCH
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyRecord, DeliveryState, KeeperId, OccurrenceId, OccurrenceState
from tests.bench.figure import Figure
from tests.bench.peak import peak_mb
from tests.store.builders import DAY, NOW, ZONES, colony, delivery, keeper, planned

FASTER, SMALLER = 50.0, 10.0
EACH = 10
"""Reminders of one keeper: five colonies with two duties."""
DUTIES = (Duty.WATER, Duty.SUGAR)
ROOT = Path(__file__).parents[2]


def job_figures(count: int) -> Iterator[Figure]:
    """Time and memory of both sides."""
    with tempfile.TemporaryDirectory() as folder:
        theirs, their_memory = _measure("scheduler", Path(folder) / "jobs.sqlite3", count)
        ours, our_memory = _measure("ours", Path(folder) / "store.sqlite3", count)
    name = f"adding and firing {count:,} reminders: rows that are asked for against one APScheduler job each"
    target = f"{FASTER:.0f} times faster"
    yield Figure(name=name, ours=ours, reference=theirs, unit="s", target=target, met=ours * FASTER <= theirs)
    yield Figure(
        name=f"memory for it, above an idle process ({count:,} reminders)",
        ours=our_memory,
        reference=their_memory,
        unit="MB",
        target="a tenth of the memory",
        met=0 < our_memory * SMALLER <= their_memory,
    )


def _measure(side: str, file: Path, count: int) -> tuple[float, float]:
    command = [sys.executable, "-m", "tests.bench.jobs", side, str(file), str(count)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    seconds, memory = json.loads(done.stdout.splitlines()[-1])
    return seconds, memory


def fired() -> None:
    """What a job does: nothing, so that only the bookkeeping is measured."""


def with_scheduler(file: Path, count: int) -> float:
    """Add one job a reminder, then let all of them be fired; returns seconds."""
    scheduler = BackgroundScheduler(
        jobstores={"default": SQLAlchemyJobStore(url=f"sqlite:///{file}")},
        executors={"default": DebugExecutor()},
        job_defaults={"misfire_grace_time": None},
        timezone="UTC",
    )
    left, done = iter(range(count - 1)), Event()

    def one_less(_event: object) -> None:
        if next(left, None) is None:
            done.set()

    scheduler.add_listener(one_less, EVENT_JOB_EXECUTED)
    scheduler.start(paused=True)
    at = SystemClock().now() - timedelta(seconds=1)
    begun = perf_counter()
    for number in range(count):
        scheduler.add_job(fired, "date", run_date=at, id=f"{number}")
    scheduler.resume()
    assert done.wait(3600)
    taken = perf_counter() - begun
    scheduler.shutdown()
    return taken


async def with_rows(file: Path, count: int) -> float:
    """Plan every reminder as a row, claim who is due, write deliveries down and settle them; returns seconds."""
    engine = open_engine(f"sqlite+aiosqlite:///{file}")
    units = unit_of_work_maker(engine, ZONES)
    colonies = await _households(units, count // EACH)
    begun = perf_counter()
    for first in range(0, len(colonies), 250):
        async with units() as work:
            await work.occurrences.plan(
                [planned(each, duty, DAY, NOW) for each in colonies[first : first + 250] for duty in DUTIES]
            )
            await work.commit()
    fired_now = 0
    while just_now := await _fire(units):
        fired_now += just_now
    taken = perf_counter() - begun
    await engine.dispose()
    assert fired_now == count
    return taken


async def _households(units: UnitOfWorkMaker, keepers: int) -> list[ColonyRecord]:
    """Keepers who are due, with their colonies: there before any reminder is."""
    colonies = list[ColonyRecord]()
    async with units() as work:
        for number in range(1, keepers + 1):
            await work.keepers.save(keeper(KeeperId(number), next_wake=NOW))
            mine = [colony(name, keeper_id=KeeperId(number)) for name in "ABCDE"]
            colonies += [await work.colonies.add(KeeperId(number), each) for each in mine]
        await work.commit()
    return colonies


async def _fire(units: UnitOfWorkMaker) -> int:
    """One batch of due keepers, one message each; returns how many reminders were in them."""
    async with units() as work:
        ids = sorted(await work.keepers.claim_due(NOW, NOW + timedelta(minutes=2), "bench", BATCH))
        held: dict[KeeperId, list[OccurrenceId]] = {keeper_id: [] for keeper_id in ids}
        for row in await work.occurrences.due(ids, NOW):
            held[row.reader].append(row.id)
        letters = [delivery(*rows, nonce=f"n{each}", keeper_id=each) for each, rows in held.items()]
        made = await work.deliveries.add_all(letters)
        await work.occurrences.settle([each.id for each in made], OccurrenceState.SENT)
        await work.deliveries.save_all([replace(each, state=DeliveryState.SENT, sent_at=NOW) for each in made])
        await work.keepers.save_all([keeper(each, next_wake=None) for each in ids])
        await work.keepers.let_go(ids, "bench")
        await work.commit()
    return sum(len(rows) for rows in held.values())


def main(side: str, file: Path, count: int) -> None:
    """Run one side, and print its seconds and how far the process grew above its state before."""
    if side == "ours":
        asyncio.run(migrate.upgrade(f"sqlite+aiosqlite:///{file}"))
    idle = peak_mb()
    seconds = asyncio.run(with_rows(file, count)) if side == "ours" else with_scheduler(file, count)
    sys.stdout.write(json.dumps([seconds, peak_mb() - idle]) + "\n")


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), int(sys.argv[3]))
