"""Practice mode for tests: one community made once, copied for each test, so that each starts at the same moment."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import pytest_asyncio
from simcord.env import Env

from bot.practice.opening import Start, open_practice
from bot.practice.session import Practice
from bot.settings import Settings

NOW = datetime(2027, 5, 18, 8, 0, tzinfo=UTC)
"""A Tuesday morning in spring: 10:00 in Copenhagen and in Johannesburg."""
IDLE_SECONDS = 0.001
"""The simulated platform waits 50 ms whenever the bot is busy in a thread; tests would spend their time on that."""


@pytest.fixture(scope="session", autouse=True)
def short_waits() -> Iterator[None]:
    defaults = Env._settle_internal.__kwdefaults__
    assert defaults is not None
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(defaults, "idle", IDLE_SECONDS)
        yield


@pytest.fixture(scope="session")
def community(tmp_path_factory: pytest.TempPathFactory, short_waits: None) -> Path:
    """A folder as a first start at `NOW` leaves it."""
    folder = tmp_path_factory.mktemp("community")

    async def make() -> None:
        async with open_practice(Start(Settings(), folder, NOW)):
            pass

    asyncio.run(make())
    return folder


@pytest.fixture
def folder(tmp_path: Path, community: Path) -> Path:
    """A copy of the community for one test."""
    return Path(shutil.copytree(community, tmp_path / "data"))


@pytest_asyncio.fixture
async def practice(folder: Path) -> AsyncIterator[Practice]:
    """Practice mode, opened on the copy; the bot must not have met a surprise."""
    async with open_practice(Start(Settings(), folder, NOW)) as opened:
        yield opened
        assert opened.world.new_errors() == ()
