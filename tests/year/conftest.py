"""The year suite: the option that rewrites the snapshots, and every household's plan, made once."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from bot.care.handbook import Handbook
from tests.year.kit import EXAMPLES, FILES, Year, plan_year, whole_handbook


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--refresh-snapshots", action="store_true", help="rewrite tests/year/snapshots")


@pytest.fixture
def refresh_snapshots(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--refresh-snapshots", default=False))


@pytest.fixture(scope="session")
def handbook() -> Handbook:
    return whole_handbook()


@pytest.fixture(scope="session")
def years(handbook: Handbook) -> Mapping[str, Year]:
    """Plans of all households, the examples among them, by the name of their file."""
    return {file.stem: plan_year(file, handbook) for file in (*FILES, *EXAMPLES)}
