"""Practice mode: the whole bot in a local web page, without token or network, with a clock that can be moved."""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path

MISSING = "Practice mode needs the simulated platform, which is not installed: add the project's extra “practice”."


def practice(port: int, data: Path | None) -> int:
    """Run until Ctrl-C; returns an exit code. Without `data` everything is forgotten at the end.

    Raises:
        SettingsError, HandbookError, StoreError, HouseholdError: what is wrong, what would be right.
    """
    from bot.practice.errors import PracticeError  # noqa: PLC0415 - one import block for the optional part

    try:
        from bot.practice.running import run  # noqa: PLC0415 - says itself what is missing
    except ModuleNotFoundError as missing:
        if (missing.name or "").split(".")[0] != "simcord":
            raise
        sys.stderr.write(f"{MISSING}\n")
        return 1
    try:
        asyncio.run(run(port, data))
    except PracticeError as problem:
        sys.stderr.write(f"{problem}\n")
        return 1
    return 0
