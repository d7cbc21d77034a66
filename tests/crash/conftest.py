"""Options and fixtures of the crash tests."""

from __future__ import annotations

from collections.abc import AsyncIterator
from pathlib import Path

import pytest
import pytest_asyncio

from tests.crash.stage import Stage, open_stage
from tests.store.conftest import postgresql_url, server, sqlite_template, sqlite_url, url

__all__ = ["postgresql_url", "server", "sqlite_template", "sqlite_url", "url"]
SHORT = 4
"""Kills on each database when nothing is said; `--kills 300` is the long run."""


def pytest_addoption(parser: pytest.Parser) -> None:
    """How often the bot is killed, and where the random moments start."""
    parser.addoption("--kills", type=int, default=SHORT, help=f"kills on each database (default: {SHORT})")
    parser.addoption("--kill-seed", type=int, default=20270601, help="seed of the random moments")


@pytest.fixture
def kills(request: pytest.FixtureRequest) -> int:
    return int(request.config.getoption("--kills"))


@pytest.fixture
def seed(request: pytest.FixtureRequest) -> int:
    return int(request.config.getoption("--kill-seed"))


@pytest_asyncio.fixture
async def stage(tmp_path: Path, url: str) -> AsyncIterator[Stage]:
    """The stage on each database in turn."""
    async with open_stage(tmp_path, url) as opened:
        yield opened


@pytest_asyncio.fixture
async def sqlite_stage(tmp_path: Path, sqlite_url: str) -> AsyncIterator[Stage]:
    """The stage on SQLite alone, where the database makes no difference."""
    async with open_stage(tmp_path, sqlite_url) as opened:
        yield opened
