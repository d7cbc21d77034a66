"""What reminding in threads needs of the store; part of `ports.UnitOfWork`. The platform's part is in `threads.py`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from bot.services.records import KeeperId
from bot.services.season_records import SeasonSetup
from bot.services.thread_records import ThreadReminder


class ThreadReminders(Protocol):
    """What is kept, by keeper."""

    async def get(self, keeper_id: KeeperId) -> ThreadReminder | None:
        """The keeper's, if there is one."""
        ...

    async def save(self, reminder: ThreadReminder) -> None:
        """Insert or replace."""
        ...

    async def ways(self, keeper_id: KeeperId) -> Sequence[SeasonSetup]:
        """Communities whose moderators allow threads and in which the keeper agreed to them, by id."""
        ...

    async def due(self, now: datetime, limit: int) -> Sequence[ThreadReminder]:
        """Those whose moment has come and that nobody holds, earliest first; locked rows are stepped over."""
        ...

    async def next_due(self) -> datetime | None:
        """The earliest moment at which one must be looked at or tried again."""
        ...
