"""What planning and delivering need of the store; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from bot.services.records import (
    ColonyId,
    Delivery,
    DeliveryId,
    KeeperId,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What lies before somebody: the earliest due moment of what is planned, and whether something urgent is out."""

    next_due: datetime | None = None
    urgent_out: bool = False

    def with_also(self, other: Outlook) -> Outlook:
        """Both together."""
        moments = [at for at in (self.next_due, other.next_due) if at is not None]
        return Outlook(next_due=min(moments, default=None), urgent_out=self.urgent_out or other.urgent_out)


class Occurrences(Protocol):
    """Stored occurrences."""

    async def get(self, occurrence_id: OccurrenceId) -> StoredOccurrence | None:
        """One occurrence."""
        ...

    async def get_all(self, ids: Collection[OccurrenceId]) -> Sequence[StoredOccurrence]:
        """Several occurrences, by due moment."""
        ...

    async def plan(self, new: Sequence[NewOccurrence]) -> Collection[NewOccurrence]:
        """Insert as planned where subject, duty and day are free, and return those whose day was used already.

        A planned or superseded row in the way is overwritten (a snoozed one is kept); one that was sent or answered
        is left as it is: its day was used.
        """
        ...

    async def open_of(self, colony_id: ColonyId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a colony, by due moment."""
        ...

    async def open_of_all(self, subjects: Collection[Subject]) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of colonies and feeder cultures, by due moment within each kind."""
        ...

    async def open_of_keeper(self, keeper_id: KeeperId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of kept colonies and of cultures that somebody is reminded of, by due moment."""
        ...

    async def due(self, keeper_ids: Collection[KeeperId], now: datetime) -> Sequence[StoredOccurrence]:
        """Planned occurrences whose moment has come for whoever is reminded, in no delivery yet, by due moment."""
        ...

    async def outlook(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Outlook]:
        """What lies before each keeper, among occurrences as in `open_of_keeper`."""
        ...

    async def save(self, occurrence: StoredOccurrence) -> None:
        """Update state, due moment, day bounds, delivery, answer and recipient."""
        ...

    async def save_all(self, occurrences: Sequence[StoredOccurrence]) -> None:
        """As `save`, for several."""
        ...

    async def set_state(self, ids: Sequence[OccurrenceId], state: OccurrenceState) -> None:
        """Move several at once; answered and lapsed rows are left alone, and `planned` unties them from a delivery."""
        ...

    async def settle(self, delivery_ids: Collection[DeliveryId], state: OccurrenceState) -> None:
        """Move the rows that still wait in deliveries to `sent`, or back to `planned` without them; no others."""
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

    async def open_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Delivery]:
        """The oldest delivery in state `sending` of each keeper for whom a crash or doubt left one."""
        ...

    async def add(self, delivery: Delivery) -> Delivery:
        """Store a new delivery and tie its occurrences to it; the id is given here."""
        ...

    async def add_all(self, deliveries: Sequence[Delivery]) -> Sequence[Delivery]:
        """As `add`, for several."""
        ...

    async def save(self, delivery: Delivery) -> None:
        """Update state, attempts and result."""
        ...

    async def save_all(self, deliveries: Sequence[Delivery]) -> None:
        """As `save`, for several."""
        ...

    async def get(self, delivery_id: DeliveryId) -> Delivery | None:
        """One delivery."""
        ...

    async def still_sending(self, delivery_ids: Collection[DeliveryId]) -> set[DeliveryId]:
        """Those that nobody brought to an end or erased."""
        ...

    async def last_sent(self, keeper_id: KeeperId) -> Delivery | None:
        """The newest delivery that reached the keeper."""
        ...

    async def last_digests(self, keeper_ids: Collection[KeeperId], since: datetime) -> Mapping[KeeperId, datetime]:
        """When each keeper was last reached by a message with more than urgent lines, if not before a moment."""
        ...
