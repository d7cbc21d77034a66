"""Practice mode for tests: one community made once, copied for each test, so that each starts at the same moment."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import pytest_asyncio

from bot import app
from bot.practice.opening import Start, open_practice
from bot.practice.session import Practice
from bot.settings import Settings

NOW = datetime(2027, 5, 18, 8, 0, tzinfo=UTC)
"""A Tuesday morning in spring: 10:00 in Copenhagen and in Johannesburg."""


@pytest.fixture(scope="session", autouse=True)
def handbook_once() -> Iterator[None]:
    """Read the handbook once, not for every start."""
    handbook = app.handbook_of(Settings())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(app, "handbook_of", lambda _settings: handbook)
        yield


@pytest.fixture(scope="session")
def community(tmp_path_factory: pytest.TempPathFactory, handbook_once: None) -> Path:
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
