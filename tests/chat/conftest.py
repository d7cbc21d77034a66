"""Fixtures of the chat tests: the simulated platform with its idle wait shortened, and every request checked."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio
from simcord.env import Env

from bot.adapters.store import migrate
from bot.adapters.zones import TzDatabase
from bot.care.handbook import Handbook
from tests.chat.requests import check_requests
from tests.chat.world import ChatWorld, open_world

IDLE_SECONDS = 0.001
"""The platform's simulation waits 50 ms whenever the bot is busy in a thread; a test would spend its time on that."""


@pytest.fixture(autouse=True)
def short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    defaults = Env._settle_internal.__kwdefaults__
    assert defaults is not None
    monkeypatch.setitem(defaults, "idle", IDLE_SECONDS)


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database at the newest revision, to be copied."""
    file = tmp_path_factory.mktemp("template") / "store.sqlite3"
    asyncio.run(migrate.upgrade(f"sqlite+aiosqlite:///{file}"))
    return file


@pytest.fixture(scope="session")
def zones() -> TzDatabase:
    """The tz database, read once."""
    return TzDatabase()


@pytest_asyncio.fixture
async def world(tmp_path: Path, template: Path, handbook: Handbook, zones: TzDatabase) -> AsyncIterator[ChatWorld]:
    """A community with the bot in it; afterwards every request the bot made is checked against the platform's rules."""
    async with open_world(tmp_path, template, handbook, zones) as opened:
        yield opened
        check_requests(opened.env.http_requests)
