"""What happened since the start, and how things stand, as plain numbers for whoever watches: no names, no text."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from bot.services.tally import Tally


@dataclass(slots=True)
class Counts:
    """Since the start of this process."""

    reminders: Counter[str] = field(default_factory=Counter)
    """By result; `late` are among `sent`."""
    threads: int = 0
    """Words in private threads."""
    replans: int = 0
    answers: Counter[int] = field(default_factory=Counter)
    """Answers of the platform, by status."""
    alarms: Counter[str] = field(default_factory=Counter)
    erased: int = 0
    """Keepers who were erased because they were gone."""

    def beat(self, tally: Tally) -> None:
        """Add what one beat did."""
        for name in ("sent", "late", "silent", "later", "refused", "failed"):
            self.reminders[name] += getattr(tally, name)
        self.threads += tally.threads

    def replanned(self) -> None:
        """One re-plan of a keeper or colony."""
        self.replans += 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How things stand at one moment."""

    due: int
    """Keepers whose moment has come."""
    oldest_due: datetime | None
    refused: int
    """Keepers whose direct messages are refused."""
    gone: int
    beats: int
    beat_failures: int
    beat_age: timedelta | None
    """Since the last beat ended well, or since the start."""
    stopped: float
    """Seconds until anything is sent again; 0: nothing is held back."""
    doors_stopped: float
