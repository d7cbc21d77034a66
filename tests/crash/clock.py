"""A clock that runs with the machine's and is moved through a file, so that several processes share it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from bot.adapters.clock import SystemClock


@dataclass(frozen=True, slots=True)
class SharedClock:
    """The machine's clock plus the seconds that stand in a file."""

    file: Path

    def now(self) -> datetime:
        """The current moment, aware, in UTC."""
        return SystemClock().now() + timedelta(seconds=float(self.file.read_text("ascii")))

    def set(self, now: datetime) -> None:
        """Move the clock; it runs on from there."""
        away = (now - SystemClock().now()).total_seconds()
        fresh = self.file.with_suffix(".new")
        fresh.write_text(f"{away:.6f}", "ascii")
        fresh.replace(self.file)
