"""What every test begins and ends with, and how many examples the properties try.

The usual run tries few, so that it stays quick; `pytest --hypothesis-profile thorough` tries many.
"""

import os
from collections.abc import Iterator

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # workers share the cores: more threads each only get in their way

import hypothesis
import pytest
import structlog

from bot.care.answers.guide import Guide
from bot.care.handbook import Handbook
from tests import shelf

hypothesis.settings.register_profile("quick", max_examples=20, deadline=None)
hypothesis.settings.register_profile("thorough", max_examples=500, deadline=None)
hypothesis.settings.load_profile("quick")


@pytest.fixture(scope="session", name="handbook")
def _handbook() -> Handbook:
    return shelf.handbook()


@pytest.fixture(scope="session", name="guide")
def _guide() -> Guide:
    return shelf.guide()


@pytest.fixture(autouse=True)
def _own_logs() -> Iterator[None]:
    """A test that sets up logging writes to its own captured stream, which is closed after it."""
    structlog.reset_defaults()
    yield
    structlog.reset_defaults()
