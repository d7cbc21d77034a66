"""Keepers who left: what is kept of their absence, as a Protocol that is part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from bot.services.records import Door, KeeperId


@dataclass(frozen=True, slots=True, kw_only=True)
class Absentee:
    """A keeper who was looked for. `since`: first moment at which they were found gone; `None` while they are here."""

    keeper_id: KeeperId
    since: datetime | None
    checked_at: datetime


class Absentees(Protocol):
    """Who was looked for, and when."""

    async def get(self, keeper_id: KeeperId) -> Absentee | None:
        """What is known, if somebody ever looked."""
        ...

    async def met(self, keeper_id: KeeperId) -> tuple[Door, bool] | None:
        """The door of a keeper who is here, and whether somebody looked for them; `None` for a stranger."""
        ...

    async def save(self, absentee: Absentee) -> None:
        """Insert or replace."""
        ...

    async def forget(self, keeper_id: KeeperId) -> None:
        """The keeper is here."""
        ...

    async def to_check(self, before: datetime, unanswered: int, limit: int) -> Sequence[KeeperId]:
        """Keepers nobody heard of who were not looked for since `before`, the longest ago first.

        Those whose messages are refused, who are gone, who want none, or who left at least `unanswered` unanswered.
        """
        ...
