"""What feeder cultures need of the store; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Protocol

from bot.care.culture import CultureEntry, CultureEvent
from bot.services.records import CultureId, CultureRecord, KeeperId, Subject


class Cultures(Protocol):
    """Feeder cultures with their log."""

    async def add(self, record: CultureRecord) -> CultureRecord:
        """Store a new one with its log; `record.id` is ignored, and the returned value has the real id and key.

        Raises:
            DuplicateNameError: the keeper has a culture of that name.
        """
        ...

    async def get(self, culture_id: CultureId) -> CultureRecord | None:
        """One culture."""
        ...

    async def of(self, keeper_id: KeeperId) -> Sequence[CultureRecord]:
        """The keeper's cultures, by name."""
        ...

    async def of_all(self, keeper_ids: Collection[KeeperId]) -> Sequence[CultureRecord]:
        """Cultures of several keepers, in the order of keeper and name."""
        ...

    async def names_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[Subject, str]]:
        """Names of cultures of several keepers, in their order; those without any are missing."""
        ...

    async def save(self, record: CultureRecord) -> None:
        """Update what the keeper says of it; not the log."""
        ...

    async def log(self, culture_id: CultureId, entry: CultureEntry) -> None:
        """Append to the log."""
        ...

    async def unlog(self, culture_id: CultureId, day: date, event: CultureEvent) -> bool:
        """Remove the newest entry of an event and day; false when there is none."""
        ...

    async def remove(self, culture_id: CultureId) -> None:
        """Remove it with its log and its reminders."""
        ...
