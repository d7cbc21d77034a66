"""Figures and health over loopback; the text is judged by the reference parser of Prometheus' own client library."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import aiohttp
import pytest
import pytest_asyncio
from prometheus_client.parser import text_string_to_metric_families
from sqlalchemy.ext.asyncio import AsyncEngine
from structlog.testing import capture_logs

from bot.adapters.heartbeat import SILENT_AFTER, Pulse
from bot.adapters.metrics import exposition, serve
from bot.adapters.store.engine import open_engine
from bot.adapters.store.migrate import upgrade
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.place import Keeper
from bot.operations import check
from bot.services.counts import Counts
from bot.services.records import Door, KeeperId, KeeperRecord
from bot.services.season_records import SeasonSetup
from bot.services.tally import Tally
from bot.settings import Settings
from bot.watch import Watch, alarms_of

pytestmark = pytest.mark.asyncio
NOW = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)


@dataclass
class Clock:
    moment: datetime = NOW

    def now(self) -> datetime:
        return self.moment


@dataclass
class Sender:
    stopped: float = 0.0
    doors_stopped: float = 0.0

    async def ring(self, setup: SeasonSetup, sentence: str, nonce: str) -> None:
        raise AssertionError("no community has a channel here")


@dataclass
class Post:
    """A watch over a store with three keepers."""

    url: str
    engine: AsyncEngine
    clock: Clock
    sender: Sender
    watch: Watch

    async def figures(self) -> bytes:
        return exposition(self.watch.counts, await self.watch.standing(), self.clock.now())


@pytest_asyncio.fixture
async def post(tmp_path: Path) -> AsyncIterator[Post]:
    url = f"sqlite+aiosqlite:///{tmp_path / 'store.sqlite3'}"
    await upgrade(url)
    engine, zones = open_engine(url), TzDatabase()
    units = unit_of_work_maker(engine, zones)
    settings = Keeper(zone_name="Europe/Vienna", zone=zones.get("Europe/Vienna"))
    shut = KeeperRecord(id=KeeperId(3), settings=settings, door=Door.REFUSED, next_wake=None)
    async with units() as work:
        for number, minutes in ((1, -90), (2, 30)):
            wake = NOW + timedelta(minutes=minutes)
            await work.keepers.save(replace(shut, id=KeeperId(number), door=Door.OPEN, next_wake=wake))
        await work.keepers.save(shut)
        await work.commit()
    clock, sender, counts = Clock(), Sender(), Counts()
    pulse = Pulse(beats=7, failures=1, last_beat=NOW - timedelta(seconds=20))
    yield Post(
        url, engine, clock, sender, Watch(clock, engine, counts, pulse, sender, alarms_of(units, sender, counts))
    )
    await engine.dispose()


async def test_figures_are_what_the_reference_parser_reads(post: Post) -> None:
    counts = post.watch.counts
    counts.beat(Tally(claimed=5, sent=3, late=1, failed=1, refused=1, threads=2))
    counts.beat(Tally(sent=1, later=2))
    counts.replanned()
    counts.answers.update({200: 9, 429: 2})
    post.sender.stopped = 12.5
    async with (
        serve("127.0.0.1", 0, post.figures, post.watch.wrong) as port,
        aiohttp.ClientSession() as session,
        session.get(f"http://127.0.0.1:{port}/metrics") as told,
    ):
        assert told.status == 200
        assert told.headers["Content-Type"].startswith("text/plain; version=0.0.4")
        text = await told.text()
    found = {
        (sample.name.removeprefix("winterbrood_"), *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }
    wanted = {
        ("reminders_total", "sent"): 4,
        ("reminders_total", "failed"): 1,
        ("reminders_total", "refused"): 1,
        ("reminders_total", "later"): 2,
        ("reminders_late_total",): 1,
        ("thread_reminders_total",): 2,
        ("replans_total",): 1,
        ("beats_total",): 7,
        ("beat_failures_total",): 1,
        ("beat_age_seconds",): 20,
        ("platform_answers_total", "429"): 2,
        ("keepers_due",): 1,
        ("oldest_due_seconds",): 90 * 60,
        ("doors_closed", "refused"): 1,
        ("doors_closed", "gone"): 0,
        ("sending_stopped_seconds", "all"): 12.5,
        ("sending_stopped_seconds", "doors"): 0,
        ("gone_keepers_erased_total",): 0,
    }
    assert {name: found.get(name) for name in wanted} == wanted
    assert all(family.documentation for family in text_string_to_metric_families(text))


async def test_health_turns_red_with_a_silent_heartbeat_and_with_a_database_out_of_reach(
    post: Post, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with serve("127.0.0.1", 0, post.figures, post.watch.wrong) as port, aiohttp.ClientSession() as session:

        async def healthz() -> tuple[int, str]:
            async with session.get(f"http://127.0.0.1:{port}/healthz") as told:
                return told.status, await told.text()

        assert await healthz() == (200, "ok\n")
        post.clock.moment += SILENT_AFTER
        assert await healthz() == (503, "the heartbeat is silent\n")
        post.clock.moment = NOW

        async def hang(_: AsyncEngine) -> None:
            await asyncio.Event().wait()

        monkeypatch.setattr("bot.watch.answers", hang)
        monkeypatch.setattr("bot.watch.PATIENCE_SECONDS", 0.01)
        assert await healthz() == (503, "the database does not answer (TimeoutError)\n")


async def test_a_process_that_never_managed_a_beat_is_silent_too() -> None:
    assert Pulse().age(NOW) is None
    pulse = Pulse(started=NOW)
    assert not pulse.silent(NOW + SILENT_AFTER)
    assert pulse.silent(NOW + SILENT_AFTER + timedelta(seconds=1))


async def test_an_alarm_is_logged_counted_and_told_by_check(post: Post) -> None:
    post.sender.stopped = 600
    with capture_logs() as logs:
        await post.watch.look()
        await post.watch.look()
    (logged,) = [entry for entry in logs if entry["event"] == "alarm"]
    assert logged["log_level"] == "error"
    assert post.watch.counts.alarms == {"sending": 1}
    settings = Settings(database=post.url)
    findings = await check(settings)
    assert not findings.good
    (line,) = [line for line in findings.lines if line.startswith("alarm: ")]
    assert f"sending, incident {logged['incident']}" in line
    post.sender.stopped = 0
    await post.watch.look()
    assert (await check(settings)).good
