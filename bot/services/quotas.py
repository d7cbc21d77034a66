"""How much one colony's log takes in a day. More is no care, and would only fill the store."""

from __future__ import annotations

from bot.care.colony import Colony, LogEntry
from bot.care.errors import BadValueError

MOST_ENTRIES_A_DAY = 60
"""Entries of one colony on one day: several times what the busiest keeper writes down (judgement)."""


def check_room(colony: Colony, entry: LogEntry) -> None:
    """Whether one more entry fits into its day.

    Raises:
        BadValueError: the day is full.
    """
    if sum(other.day == entry.day for other in colony.log) >= MOST_ENTRIES_A_DAY:
        raise BadValueError(
            "day",
            f"“{colony.name}” has {MOST_ENTRIES_A_DAY} entries on {entry.day.isoformat()} already, and more do not fit "
            "into one day: put them together in one note.",
        )
