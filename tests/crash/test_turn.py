"""Several processes on PostgreSQL: one delivers, and when it dies the next takes over within a lease."""

from __future__ import annotations

import signal
from collections.abc import AsyncIterator
from datetime import timedelta
from pathlib import Path

import pytest
import pytest_asyncio

from bot.adapters.chat.shards import Shards
from bot.adapters.store.engine import open_engine
from bot.adapters.store.turn import DeliveryTurn
from bot.app import run
from bot.services.delivery import LEASE
from bot.settings import Settings
from tests.crash.examine import examine
from tests.crash.rules import Rule
from tests.crash.stage import Stage, line_counts, open_stage, settle
from tests.crash.test_kills import bring_to_rest

asynchronous = pytest.mark.asyncio
KEEPERS, COLONIES = 4, 1


@pytest_asyncio.fixture
async def stage(tmp_path: Path, postgresql_url: str) -> AsyncIterator[Stage]:
    async with open_stage(tmp_path, postgresql_url) as opened:
        yield opened


@asynchronous
async def test_another_process_takes_over_within_a_lease(stage: Stage) -> None:
    await settle(stage.core, KEEPERS, COLONIES)
    wake = await stage.core.next_wake()
    assert wake is not None
    stage.clock.set(wake - timedelta(seconds=4))
    first = await stage.start("0 2")
    await stage.rules(Rule(route="message", kill=first, done_first=True))
    await stage.until(lambda seen: seen["gateways"] == 1)
    second = await stage.start("1 2")
    assert await stage.ended(first) == signal.SIGKILL, stage.said()
    stage.clock.set(stage.clock.now() + LEASE)
    await stage.rest()
    assert len(line_counts(await stage.seen())) > 0
    assert await stage.stop(second) == 0, stage.said()
    await bring_to_rest(stage)
    assert (await examine(stage))["messages"] > 1


@asynchronous
async def test_a_turn_is_held_by_one_and_free_when_its_connection_dies(postgresql_url: str) -> None:
    engines = [open_engine(postgresql_url), open_engine(postgresql_url)]
    one, two = (DeliveryTurn(engine) for engine in engines)
    try:
        assert (await one.take(), await two.take(), one.is_ours, two.is_ours) == (True, False, True, False)
        assert await one.take()
        async with engines[1].connect() as connection:
            ended = "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory'"
            assert len((await connection.exec_driver_sql(ended)).all()) == 1
        assert await two.take()
        assert (await one.take(), one.is_ours) == (False, False)
        await two.give_up()
        assert await one.take()
        await one.give_up()
    finally:
        for engine in engines:
            await engine.dispose()


@asynchronous
async def test_on_sqlite_it_is_always_the_turn_of_the_one_process(sqlite_url: str) -> None:
    engine = open_engine(sqlite_url)
    assert DeliveryTurn(engine).is_ours
    assert await DeliveryTurn(engine).take()
    settings = Settings(token="not-a-token", database=sqlite_url)  # type: ignore[arg-type] # pydantic wraps it
    with pytest.raises(ValueError, match="need PostgreSQL"):
        await run(settings, shards=Shards((0,), 2))
    await engine.dispose()


def test_shards_are_read_from_the_command_line() -> None:
    assert Shards.of("0-3", 8) == Shards((0, 1, 2, 3), 8)
    assert Shards.of("7", 8) == Shards((7,), 8)
    for span, count in (("3-0", 8), ("0-8", 8), ("a", 8), ("", 8), ("0-1", 0), ("0-1", 99_999)):
        with pytest.raises(ValueError, match="shards"):
            Shards.of(span, count)
