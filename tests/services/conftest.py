"""Fixtures of the use-case tests."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio

from bot.adapters.store import migrate
from tests.services.kit import World, open_world


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty store at the newest revision, to be copied."""
    file = tmp_path_factory.mktemp("template") / "store.sqlite3"
    asyncio.run(migrate.upgrade(f"sqlite+aiosqlite:///{file}"))
    return file


@pytest_asyncio.fixture
async def world(tmp_path: Path, template: Path) -> AsyncIterator[World]:
    async with open_world(tmp_path, template) as opened:
        yield opened
