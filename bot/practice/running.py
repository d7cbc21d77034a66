"""Runs practice mode until Ctrl-C or SIGTERM."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import sys
from pathlib import Path

import structlog

from bot.adapters.clock import SystemClock
from bot.practice.opening import Start, open_practice
from bot.practice.server import served
from bot.settings import read_settings


async def run(port: int, data: Path | None) -> None:
    """Open everything, print the address, wait.

    Raises:
        PracticeError, SettingsError, HandbookError, StoreError, HouseholdError: what is wrong, what would be right.
    """
    _log_plainly()
    stop = asyncio.Event()
    for name in (signal.SIGINT, signal.SIGTERM):
        asyncio.get_running_loop().add_signal_handler(name, stop.set)
    start = Start(read_settings(dict(os.environ)), data, SystemClock().now())
    async with open_practice(start) as practice, served(practice, port) as address:
        kept = f"kept in {data}" if data else "forgotten at the end; --data FOLDER would keep it"
        _say(f"Practice is open at {address} (Ctrl-C ends it). What happens here is {kept}.")
        await stop.wait()
        _say("Practice is closing.")


def _log_plainly() -> None:
    """Warnings and worse on standard error, without colours and without the values of variables."""
    structlog.configure(
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper("%H:%M:%S", utc=False),
            structlog.dev.ConsoleRenderer(colors=False, exception_formatter=structlog.dev.plain_traceback),
        ],
        wrapper_class=structlog.make_filtering_bound_logger(logging.WARNING),
        logger_factory=structlog.PrintLoggerFactory(sys.stderr),
    )


def _say(sentence: str) -> None:
    sys.stdout.write(f"{sentence}\n")
    sys.stdout.flush()
