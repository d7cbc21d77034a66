"""The clock of practice mode: it stands still until somebody moves it, and it never goes back."""

from __future__ import annotations

from datetime import UTC, datetime


class PracticeClock:
    """Fulfils `services.ports.Clock`.

    Args:
        start: an aware moment.
    """

    def __init__(self, start: datetime) -> None:
        if start.tzinfo is None:
            raise ValueError("A practice clock starts at a moment with a zone.")
        self._now = start.astimezone(UTC)

    def now(self) -> datetime:
        """The current moment, aware, in UTC."""
        return self._now

    def move_to(self, moment: datetime) -> None:
        """Move forward to a moment; one that has passed changes nothing."""
        self._now = max(self._now, moment.astimezone(UTC))
