"""Fixtures of the use-case tests."""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest_asyncio

from tests.services.kit import World, open_world


@pytest_asyncio.fixture
async def world(tmp_path: Path) -> AsyncIterator[World]:
    async with open_world(tmp_path) as opened:
        yield opened
