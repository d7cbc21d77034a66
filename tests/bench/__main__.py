"""`python -m tests.bench [--quick] [--json FILE] [--only WORD …]`: prints a table of figures, and writes them as JSON.

Every figure stands beside a reference measured in the same run. `--quick` measures everything at a smaller size; each
figure says at which.
"""

from __future__ import annotations

import argparse
import asyncio
import logging
import os
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from time import perf_counter

from bot.adapters.logs import configure
from bot.adapters.memory import frozen
from bot.adapters.store import migrate
from bot.care.handbook import Handbook
from tests.bench.asking import asking
from tests.bench.claiming import claiming
from tests.bench.commanding import commands
from tests.bench.figure import Figure, table, write
from tests.bench.footprint import footprint
from tests.bench.jobs import job_figures
from tests.bench.planning import nightly, plan_figures
from tests.bench.sending import catch_up, throughput
from tests.bench.stock import COLONIES_EACH, fill, handbook
from tests.store.conftest import Server, running_server


@dataclass(frozen=True, slots=True)
class Size:
    """How much is measured."""

    many: int
    few: int
    """Colonies stored."""
    sent: int
    late: int
    """Keepers served, and served after a long downtime."""
    jobs: int
    rounds: int
    seconds: float


FULL = Size(many=1_000_000, few=1_000, sent=2_000, late=2_000, jobs=100_000, rounds=100, seconds=10)
QUICK = Size(many=20_000, few=1_000, sent=200, late=200, jobs=300, rounds=3, seconds=1.0)
KINDS = ("sqlite", "postgresql")


@dataclass(frozen=True, slots=True)
class Yard:
    """Where stores come from; a filled one is made once."""

    folder: Path
    server: Server
    book: Handbook
    made: dict[str, str]

    def empty(self, kind: str, name: str) -> str:
        """A store at the newest revision."""
        url = self.server.url(self.server.create()) if kind == "postgresql" else self._file(name)
        asyncio.run(migrate.upgrade(url))
        return url

    def fresh(self, kind: str, name: str, colonies: int) -> str:
        """A store with so many colonies that nobody else uses."""
        url = self.empty(kind, name)
        asyncio.run(fill(url, self.book, colonies))
        return url

    def filled(self, kind: str, colonies: int) -> str:
        """A store with so many colonies."""
        key = f"{kind}-{colonies}"
        if key not in self.made:
            self.made[key] = self.empty(kind, key)
            begun = perf_counter()
            asyncio.run(fill(self.made[key], self.book, colonies))
            note(f"filled {kind} with {colonies:,} colonies in {perf_counter() - begun:.0f} s")
        return self.made[key]

    def _file(self, name: str) -> str:
        return f"sqlite+aiosqlite:///{self.folder / name}.sqlite3"


def measures(yard: Yard, size: Size) -> Iterator[tuple[str, Callable[[], Iterable[Figure]]]]:
    """Name -> how to get its figures, in the order of the table."""
    yield "plan", partial(plan_figures, yard.book, size.seconds)
    for kind in KINDS:
        yield f"send-{kind}", partial(_sent, yard, size, kind)
    for kind in KINDS:
        yield f"claim-{kind}", partial(_claimed, yard, size, kind)
    yield "jobs", partial(job_figures, size.jobs)
    for kind in KINDS:
        yield f"command-{kind}", partial(_commanded, yard, size, kind)
    yield "ask", lambda: [asking(yard.book, size.rounds)]
    for kind in KINDS:
        yield f"process-{kind}", partial(_process, yard, size, kind)
    for kind in KINDS:
        yield f"night-{kind}", partial(_night, yard, size, kind)
    for kind in KINDS:
        yield f"late-{kind}", partial(_late, yard, size, kind)


def _sent(yard: Yard, size: Size, kind: str) -> list[Figure]:
    return asyncio.run(throughput(yard.fresh(kind, "send", size.sent * COLONIES_EACH), yard.book, size.sent))


def _claimed(yard: Yard, size: Size, kind: str) -> list[Figure]:
    return [asyncio.run(claiming(*pair(yard, kind, size), size.many, size.few))]


def _commanded(yard: Yard, size: Size, kind: str) -> list[Figure]:
    return asyncio.run(commands(yard.filled(kind, size.many), yard.book, size.many, size.rounds))


def _process(yard: Yard, size: Size, kind: str) -> list[Figure]:
    return footprint(*pair(yard, kind, size), size.many, size.few)


def _night(yard: Yard, size: Size, kind: str) -> list[Figure]:
    return asyncio.run(nightly(yard.filled(kind, size.many), yard.book, size.many, size.sent // 2))


def _late(yard: Yard, size: Size, kind: str) -> list[Figure]:
    url = yard.fresh(kind, "late", size.late * COLONIES_EACH)
    return [asyncio.run(catch_up(url, yard.book, size.late))]


def pair(yard: Yard, kind: str, size: Size) -> tuple[str, str]:
    """Stores with many and with few colonies."""
    return yard.filled(kind, size.many), yard.filled(kind, size.few)


@contextmanager
def open_yard() -> Iterator[Yard]:
    """A folder and a server, gone at the end."""
    with tempfile.TemporaryDirectory(prefix="winterbrood-bench-") as folder, running_server() as server:
        yield Yard(Path(folder), server, frozen(handbook()), {})


def note(line: str) -> None:
    """Progress goes to standard error."""
    sys.stderr.write(line + "\n")


def main() -> int:
    """Measure, print, write. The exit code says whether it could be measured, not whether targets were met."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description="Figures beside their references.")
    parser.add_argument("--quick", action="store_true", help="smaller sizes, two minutes")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures as a list of objects")
    parser.add_argument("--only", nargs="+", default=[""], metavar="WORD", help="measures that begin so: claim, send")
    options = parser.parse_args()
    logging.disable(logging.WARNING)
    configure("ERROR")
    figures, failed = list[Figure](), list[str]()
    with open_yard() as yard:
        for name, measure in measures(yard, QUICK if options.quick else FULL):
            if not name.startswith(tuple(options.only)):
                continue
            begun = perf_counter()
            try:
                found = list(measure())
                figures += found
                note(table(found))
            except Exception:  # noqa: BLE001 - told at once and in the exit code; the other figures are worth having
                traceback.print_exc()
                failed.append(name)
            note(f"{name}: {perf_counter() - begun:.0f} s")
    load = os.getloadavg()[0]
    sys.stdout.write(f"{table(figures)}\n{os.cpu_count()} cores, load {load:.1f} at the end\n")
    if options.json:
        write(figures, options.json)
    if failed:
        note(f"could not be measured: {', '.join(failed)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
