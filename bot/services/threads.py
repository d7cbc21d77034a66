"""Private threads on the platform as reminders need them: a Protocol that the chat adapter fulfils, and its errors."""

from __future__ import annotations

from typing import Protocol

from bot.services.errors import DeliveryError
from bot.services.ports import Posted
from bot.services.season_records import SeasonSetup
from bot.services.thread_records import ThreadReminder


class NotHereError(DeliveryError):
    """The keeper is no member of the community any more, or may not see the channel."""


class ThreadGoneError(DeliveryError):
    """The thread was removed, or closed by moderators."""


class Threads(Protocol):
    """Errors arrive as `services/errors.py`, `season_errors.HallClosedError` and the two above."""

    async def lacks(self, setup: SeasonSetup) -> tuple[str, ...]:
        """What keeps threads from being opened, as sentences for moderators; nothing is sent.

        Raises:
            TryLaterError: the platform does not show the community right now (an outage).
        """
        ...

    async def open(self, reminder: ThreadReminder) -> int:
        """The keeper's own thread under the channel, opened if need be, with nobody else let in; returns its id.

        Raises:
            HallClosedError, NotHereError, TryLaterError, OutcomeUnknownError.
        """
        ...

    async def remind(self, thread_id: int, reminder: ThreadReminder) -> Posted:
        """Say how much is due, with the nonce, and nothing about what.

        Raises:
            HallClosedError, ThreadGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        ...

    async def find(self, thread_id: int, reminder: ThreadReminder) -> Posted | None:
        """Look among the newest messages of the thread for this word.

        Raises:
            HallClosedError, ThreadGoneError, TryLaterError, OutcomeUnknownError.
        """
        ...
