"""What every test begins and ends with."""

from collections.abc import Iterator

import pytest
import structlog


@pytest.fixture(autouse=True)
def _own_logs() -> Iterator[None]:
    """A test that sets up logging writes to its own captured stream, which is closed after it."""
    structlog.reset_defaults()
    yield
    structlog.reset_defaults()
