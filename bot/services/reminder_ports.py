"""What planning and delivering need of the store; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Protocol

from bot.services.records import (
    ColonyId,
    CultureId,
    Delivery,
    DeliveryId,
    KeeperId,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
)


class Occurrences(Protocol):
    """Stored occurrences."""

    async def get(self, occurrence_id: OccurrenceId) -> StoredOccurrence | None:
        """One occurrence."""
        ...

    async def plan(self, new: Sequence[NewOccurrence]) -> Sequence[StoredOccurrence]:
        """Insert as planned where subject, duty and day are free.

        A planned or superseded row in the way is overwritten (a snoozed one is kept); one that was sent or answered
        is left as it is.
        """
        ...

    async def open_of(self, colony_id: ColonyId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a colony, by due moment."""
        ...

    async def open_of_culture(self, culture_id: CultureId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a feeder culture, by due moment."""
        ...

    async def open_of_keeper(self, keeper_id: KeeperId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of kept colonies and of cultures that somebody is reminded of, by due moment."""
        ...

    async def due(self, keeper_id: KeeperId, now: datetime) -> Sequence[StoredOccurrence]:
        """Planned occurrences whose moment has come for whoever is reminded, in no delivery yet, by due moment."""
        ...

    async def next_due(self, keeper_id: KeeperId) -> datetime | None:
        """The earliest due moment among planned occurrences that somebody is reminded of."""
        ...

    async def save(self, occurrence: StoredOccurrence) -> None:
        """Update state, due moment, day bounds, delivery, answer and recipient."""
        ...

    async def set_state(self, ids: Sequence[OccurrenceId], state: OccurrenceState) -> None:
        """Move several at once; answered and lapsed rows are left alone, and `planned` unties them from a delivery."""
        ...

    async def settle(self, delivery_id: DeliveryId, state: OccurrenceState) -> None:
        """Move the rows that still wait in a delivery to `sent`, or back to `planned` without it; no others."""
        ...

    async def answered(self, colony_id: ColonyId, limit: int) -> Sequence[StoredOccurrence]:
        """Newest answered occurrences of a colony."""
        ...

    async def told_to(self, colony_id: ColonyId, recipient_id: KeeperId, since: date) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, since a day: all but superseded ones, by day."""
        ...

    async def told_of_cultures(
        self, keeper_id: KeeperId, recipient_id: KeeperId, since: date
    ) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, of a keeper's feeder cultures since a day, by day."""
        ...

    async def move(self, colony_id: ColonyId, keeper_id: KeeperId) -> None:
        """All occurrences of a colony belong to another keeper; open ones are superseded."""
        ...


class Deliveries(Protocol):
    """Messages on their way."""

    async def open_of(self, keeper_id: KeeperId) -> Delivery | None:
        """The keeper's delivery in state `sending`, if a crash or doubt left one."""
        ...

    async def add(self, delivery: Delivery) -> Delivery:
        """Store a new delivery and tie its occurrences to it; the id is given here."""
        ...

    async def save(self, delivery: Delivery) -> None:
        """Update state, attempts and result."""
        ...

    async def get(self, delivery_id: DeliveryId) -> Delivery | None:
        """One delivery."""
        ...

    async def last_sent(self, keeper_id: KeeperId) -> Delivery | None:
        """The newest delivery that reached the keeper."""
        ...

    async def last_sent_since(self, keeper_id: KeeperId, since: datetime) -> int:
        """How many deliveries reached the keeper since a moment."""
        ...

    async def digest_sent_since(self, keeper_id: KeeperId, since: datetime) -> bool:
        """Whether a message with more than urgent lines reached the keeper since a moment."""
        ...
