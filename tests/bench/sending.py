"""From due to handed over: how many keepers a second, and whether a long downtime is caught up at the platform's pace.

The reminder is rendered as the platform gets it, components and all; the platform itself is a counter, or a gate that
lets 50 requests a second through (its published limit for a bot).
"""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import datetime, timedelta
from time import perf_counter

from bot.adapters.chat import marks
from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.presenters.board import arrange
from bot.adapters.chat.presenters.digest import opening
from bot.adapters.chat.presenters.lines import from_digest
from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.handbook import Handbook
from bot.services.delivery import Dispatcher
from bot.services.planner import Planner
from bot.services.ports import Digest, Posted
from bot.services.records import KeeperId
from bot.services.tally import Tally
from tests.bench.figure import Figure
from tests.bench.stock import COLONIES_EACH, NOW, due

PLATFORM = 50.0
"""Requests a second that the platform takes from a bot (its documentation, rate limits)."""
TARGET = 1000.0
CATCH_UP_KEEPERS = 100_000
DIGEST = NOW + timedelta(hours=1)


@dataclass
class Counter:
    """A platform that takes everything; with a `pace` only so many a second."""

    pace: float | None = None
    posted: int = 0
    lines: int = 0
    free_at: float = 0.0

    async def open_door(self, keeper_id: KeeperId) -> int:
        """The channel."""
        return 1000 + keeper_id

    async def send_digest(self, channel_id: int, digest: Digest, *, quiet: bool) -> Posted:
        """Render as for the platform, and count."""
        words = opening(digest)
        scope = marks.of_delivery(digest.delivery_id)
        layout = board_layout(arrange(scope, words.fixed, [from_digest(line) for line in digest.lines]))
        assert layout.to_components()  # type: ignore[no-untyped-call] # the library's own, without types
        if self.pace is not None:
            now = asyncio.get_running_loop().time()
            self.free_at = max(self.free_at, now) + 1 / self.pace
            await asyncio.sleep(self.free_at - now)
        self.posted += 1
        self.lines += len(digest.lines)
        return Posted(channel_id, self.posted)

    async def find_digest(self, channel_id: int, digest: Digest) -> Posted | None:
        """Nothing was ever in doubt."""
        return None


async def throughput(url: str, book: Handbook, keepers: int) -> list[Figure]:
    """Everybody due at once, on a store with nobody else: at the digest they were planned for, and a day late."""
    figures = list[Figure]()
    for now, what in ((DIGEST, "plans that stand"), (DIGEST + timedelta(days=1), "all planned anew")):
        rate, lines = await _serve(url, book, keepers, now, Counter())
        figures.append(
            Figure(
                name=f"due, rendered, handed over: keepers a second, {_kind(url)} "
                f"({keepers:,} keepers with {COLONIES_EACH} colonies, {lines:.0f} lines each, {what})",
                ours=rate,
                reference=PLATFORM,
                unit="keepers/s",
                target=f"{TARGET:,.0f}, 20 times the platform's limit",
                met=rate >= TARGET,
            )
        )
    return figures


async def catch_up(url: str, book: Handbook, keepers: int) -> Figure:
    """After 14 days of downtime, on a platform that keeps to its limit; from some keepers to 100,000."""
    rate, _ = await _serve(url, book, keepers, DIGEST + timedelta(days=14), Counter(pace=PLATFORM))
    ours, limit = CATCH_UP_KEEPERS / rate, CATCH_UP_KEEPERS / PLATFORM
    return Figure(
        name=f"catch-up after 14 days for {CATCH_UP_KEEPERS:,} keepers, {_kind(url)} (from {keepers:,})",
        ours=ours,
        reference=limit,
        unit="s",
        target="within 10 % of the platform's limit",
        met=ours <= 1.1 * limit,
    )


async def _serve(url: str, book: Handbook, keepers: int, now: datetime, platform: Counter) -> tuple[float, float]:
    """Keepers a second, and lines a message; everybody but the model is due."""
    engine = open_engine(url)
    units, surprises = unit_of_work_maker(engine, TzDatabase()), list[Exception]()
    try:
        await due(engine, keepers, keepers, now)
        dispatcher = Dispatcher(units, platform, Planner(book), book, lambda _, found: surprises.append(found))
        begun, total = perf_counter(), Tally()
        while (tally := await dispatcher.deliver_due(now)).claimed:
            total = total.plus(tally)
        rate = keepers / (perf_counter() - begun)
    finally:
        await engine.dispose()
    assert not surprises, surprises[0]
    assert keepers <= platform.posted == total.sent <= keepers + 1, total
    return rate, platform.lines / platform.posted


def _kind(url: str) -> str:
    return url.partition("+")[0].partition(":")[0]
