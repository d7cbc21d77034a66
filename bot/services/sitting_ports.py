"""What sitting and handing over need of the store; part of `ports.UnitOfWork`."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import Protocol

from bot.services.records import ColonyId, DeliveryId, KeeperId
from bot.services.sitting_records import Note, Offer, OfferId, Sitting, SittingId


class Sittings(Protocol):
    """Who sits for whom."""

    async def add(self, sitting: Sitting) -> Sitting:
        """Store a new one; the id is given here."""
        ...

    async def get(self, sitting_id: SittingId) -> Sitting | None:
        """One sitting."""
        ...

    async def save(self, sitting: Sitting) -> None:
        """Update everything but who and what."""
        ...

    async def open_of(self, keeper_id: KeeperId) -> Sequence[Sitting]:
        """Asked and accepted ones in which somebody is keeper or sitter, by first day."""
        ...

    async def asked_since(self, keeper_id: KeeperId, sitter_id: KeeperId, since: datetime) -> Sequence[datetime]:
        """When one member asked another since a moment, oldest first."""
        ...

    async def open_of_all(self, keeper_ids: Collection[KeeperId]) -> Sequence[Sitting]:
        """As `open_of`, for several."""
        ...

    async def of_colony(self, colony_id: ColonyId, sitter_id: KeeperId) -> Sequence[Sitting]:
        """All sittings of a colony by one member, whatever their state, newest last."""
        ...

    async def leave(self, colony_id: ColonyId) -> None:
        """Take a colony out of all its sittings."""
        ...

    async def forget_ended(self, before: datetime) -> None:
        """Remove what ended before a moment, and what was never answered since then."""
        ...


class Offers(Protocol):
    """Colonies that are offered for good."""

    async def put(self, offer: Offer) -> Offer:
        """Store; an earlier offer of the same colony is replaced. The id is given here."""
        ...

    async def get(self, offer_id: OfferId) -> Offer | None:
        """One offer; nobody else answers it while the unit lasts."""
        ...

    async def of(self, keeper_id: KeeperId) -> Sequence[Offer]:
        """Offers that somebody made or received, oldest first."""
        ...

    async def remove(self, colony_id: ColonyId) -> None:
        """Remove the offer of a colony, if there is one."""
        ...


class Notes(Protocol):
    """Things to tell."""

    async def add(self, note: Note) -> None:
        """Store a new one."""
        ...

    async def due(self, keeper_ids: Collection[KeeperId], now: datetime) -> Sequence[Note]:
        """Notes whose moment has come, in no message yet, oldest first."""
        ...

    async def next_due(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, datetime]:
        """The earliest moment of a note in no message yet, for those who have one."""
        ...

    async def tie(self, notes: Sequence[Note], delivery_id: DeliveryId) -> None:
        """They go out with a message."""
        ...

    async def of_delivery(self, delivery_id: DeliveryId) -> Sequence[Note]:
        """Notes of a message that is on its way."""
        ...

    async def told(self, delivery_ids: Collection[DeliveryId]) -> None:
        """The messages arrived: their notes are gone."""
        ...

    async def untie(self, delivery_id: DeliveryId) -> None:
        """The message never arrived: its notes wait again."""
        ...
