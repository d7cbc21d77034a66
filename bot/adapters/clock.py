"""The one place that reads the system clock."""

from __future__ import annotations

from datetime import UTC, datetime


class SystemClock:
    """The clock of this machine, in UTC."""

    def now(self) -> datetime:
        """The current moment."""
        return datetime.now(UTC)
