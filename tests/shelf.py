"""What `config/` holds, read once for all tests of a worker; the values are frozen."""

from functools import cache
from pathlib import Path

from bot.adapters.handbook.guide import load_guide
from bot.adapters.handbook.loader import load_handbook
from bot.care.answers.guide import Guide
from bot.care.handbook import Handbook

CONFIG = Path(__file__).parents[1] / "config"


@cache
def handbook() -> Handbook:
    """The handbook of `config/`."""
    return load_handbook(CONFIG)


@cache
def guide() -> Guide:
    """Its guide."""
    return load_guide(CONFIG, handbook())
