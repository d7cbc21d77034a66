"""Errors around sitting and handing over; the chat adapter has one sentence per code.

ServiceError
├── SittingAheadError     the sitter's days have not begun; carries the first
├── SittingOverError      the sitter's days are over; carries the day on which they ended
├── SatAlreadyError       somebody else was asked or sits for a colony on those days; carries the colony's name
├── GoneError             the question or offer was taken back, answered, or meant for somebody else
├── AskedOftenError       the same member was asked often of late; carries the day from which on again
└── RemindersOffError     who wants to sit must let themselves be reminded
"""

from __future__ import annotations

from datetime import date

from bot.services.errors import ServiceError


class SittingAheadError(ServiceError):
    """Too early."""

    code = "sitting_ahead"

    def __init__(self, since: date) -> None:
        super().__init__(since.isoformat())
        self.since = since


class SittingOverError(ServiceError):
    """Too late."""

    code = "sitting_over"

    def __init__(self, until: date) -> None:
        super().__init__(until.isoformat())
        self.until = until


class SatAlreadyError(ServiceError):
    """One sitter at a time."""

    code = "sat_already"

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.name = name


class AskedOftenError(ServiceError):
    """Asking is easy, being asked again and again is not."""

    code = "asked_often"

    def __init__(self, again: date) -> None:
        super().__init__(again.isoformat())
        self.again = again


class GoneError(ServiceError):
    """Nothing waits for this answer."""

    code = "gone"


class RemindersOffError(ServiceError):
    """A sitter without reminders would sit for nothing."""

    code = "reminders_off"
