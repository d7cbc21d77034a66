"""Keepers with their places, and the lease that lets one process at a time look after a keeper."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import Any, cast

from sqlalchemy import ColumnElement, CursorResult, and_, case, delete, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import keeper_columns, keeper_from, place_columns
from bot.adapters.store.sitting_tables import OfferRow, SittingRow
from bot.adapters.store.tables import KeeperRow, OccurrenceRow, PlaceRow
from bot.adapters.store.upsert import put
from bot.care.errors import CareError
from bot.care.place import Place
from bot.services.ports import Zones
from bot.services.records import KeeperId, KeeperRecord, OccurrenceState
from bot.services.sitting_records import OPEN_SITTINGS, SittingState

_AT_ONCE = datetime(2000, 1, 1, tzinfo=UTC)
"""A wake moment that has come whatever the clock says."""
_log = logging.getLogger(__name__)


class SqlKeepers:
    """Fulfils `ports.Keepers`."""

    def __init__(self, session: AsyncSession, zones: Zones) -> None:
        self._session = session
        self._zones = zones
        self._places: dict[KeeperId, tuple[Place, ...]] = {}
        """As they stand in this transaction, so that they are only written when they change."""

    async def get(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """The keeper, or `None` when they never set anything up.

        Whoever reads a keeper mostly writes them back whole, so the row is locked: of two units the second waits for
        the first and reads what it wrote. Those who sit for them, and whom they sit for, are locked along, all in the
        order of their ids, so that no two units wait for each other. On SQLite every unit waits by itself.
        """
        circle = select(KeeperRow.id).where(or_(KeeperRow.id == keeper_id, *_circle(keeper_id)))
        await self._session.execute(circle.order_by(KeeperRow.id).with_for_update(key_share=True))
        return await self.peek(keeper_id)

    async def peek(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """Another keeper beside the one this unit is about."""
        found = await self._load(KeeperRow.id == keeper_id)
        return found[0] if found else None

    async def wake_by(self, keeper_id: KeeperId, at: datetime) -> None:
        """Look at somebody no later than at a moment; who is not to be woken at all stays so."""
        later = update(KeeperRow).where(KeeperRow.id == keeper_id, KeeperRow.next_wake > at)
        await self._session.execute(later.values(next_wake=at))

    async def save(self, keeper: KeeperRecord) -> None:
        """Insert or update; leaves the lease and the moment of creation alone."""
        await put(self._session, KeeperRow, keeper_columns(keeper), key=["id"], keep=["created_at"])
        if self._places.get(keeper.id) == keeper.places:
            return
        self._places[keeper.id] = keeper.places
        await self._session.execute(delete(PlaceRow).where(PlaceRow.keeper_id == keeper.id))
        rows = [place_columns(keeper.id, position, place) for position, place in enumerate(keeper.places)]
        await self._session.execute(insert(PlaceRow), rows)

    async def claim_due(self, now: datetime, lease_until: datetime, token: str, limit: int) -> Sequence[KeeperRecord]:
        """Lease keepers whose `next_wake` has come and whose lease has run out, earliest first.

        One statement: PostgreSQL steps over rows that another process is claiming, SQLite lets one writer in at a time.
        """
        due = (
            select(KeeperRow.id)
            .where(KeeperRow.next_wake <= now, or_(KeeperRow.lease_until.is_(None), KeeperRow.lease_until <= now))
            .order_by(KeeperRow.next_wake, KeeperRow.id)
            .limit(limit)
            .with_for_update(skip_locked=True)
            .cte("due")
        )
        claim = (
            update(KeeperRow)
            .where(KeeperRow.id.in_(select(due.c.id)))
            .values(lease_until=lease_until, lease_token=token)
            .returning(KeeperRow.id)
        )
        claimed = (await self._session.scalars(claim)).all()
        return await self._load(KeeperRow.id.in_(claimed)) if claimed else ()

    async def release(self, keeper_id: KeeperId, token: str, next_wake: datetime | None) -> bool:
        """Give the lease back with the next wake moment; false when another process holds it by now."""
        held = (
            update(KeeperRow)
            .where(KeeperRow.id == keeper_id, KeeperRow.lease_token == token)
            .values(lease_until=None, lease_token=None, next_wake=next_wake)
            .returning(KeeperRow.id)
        )
        return await self._session.scalar(held) is not None

    async def renew(self, keeper_id: KeeperId, token: str, lease_until: datetime) -> bool:
        """Hold a lease for longer; false when another process holds it by now, or the keeper was erased."""
        held = update(KeeperRow).where(KeeperRow.id == keeper_id, KeeperRow.lease_token == token)
        return await self._session.scalar(held.values(lease_until=lease_until).returning(KeeperRow.id)) is not None

    async def wake_everybody(self, now: datetime) -> int:
        """Move later wake moments to `now` and end all leases, for a clock that was set back; returns how many."""
        ahead = (KeeperRow.next_wake > now) | KeeperRow.lease_until.is_not(None)
        moment = case((KeeperRow.next_wake > now, now), else_=KeeperRow.next_wake)
        change = update(KeeperRow).where(ahead).values(next_wake=moment, lease_until=None, lease_token=None)
        return cast("CursorResult[Any]", await self._session.execute(change)).rowcount

    async def next_wake(self) -> datetime | None:
        """The earliest wake moment of all keepers; a leased keeper counts from the end of the lease.

        Asked after every beat, so it is two looks at the beginning of an index instead of a minimum over everybody.
        """
        leased = and_(KeeperRow.lease_until.is_not(None), KeeperRow.lease_until > KeeperRow.next_wake)
        free = or_(KeeperRow.lease_until.is_(None), KeeperRow.lease_until <= KeeperRow.next_wake)
        first = select(KeeperRow.next_wake).where(KeeperRow.next_wake.is_not(None), free)
        ended = select(KeeperRow.lease_until).where(leased).order_by(KeeperRow.lease_until)
        found = [
            await self._session.scalar(wanted.limit(1))
            for wanted in (first.order_by(KeeperRow.next_wake, KeeperRow.id), ended)
        ]
        return min((moment for moment in found if moment is not None), default=None)

    async def ids_after(self, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """Keeper ids above `keeper_id`, ascending: for walks over everyone in batches."""
        above = select(KeeperRow.id).where(KeeperRow.id > keeper_id).order_by(KeeperRow.id).limit(limit)
        return [KeeperId(found) for found in await self._session.scalars(above)]

    async def ids_with_other_zone_data(self, version: str, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """As `ids_after`, but only who was planned with another version of the tz data, or with none."""
        other = or_(KeeperRow.zone_data.is_(None), KeeperRow.zone_data != version)
        above = select(KeeperRow.id).where(KeeperRow.id > keeper_id, other).order_by(KeeperRow.id).limit(limit)
        return [KeeperId(found) for found in await self._session.scalars(above)]

    async def erase(self, keeper_id: KeeperId) -> None:
        """Remove the keeper and everything that hangs on them; whom they sat for is looked at, at once."""
        sat = OccurrenceRow.recipient_id == keeper_id
        told = OccurrenceRow.state.in_([OccurrenceState.PLANNED, OccurrenceState.SENT])
        await self._session.execute(update(OccurrenceRow).where(sat, told).values(state=OccurrenceState.SUPERSEDED))
        served = select(SittingRow.keeper_id).where(
            SittingRow.sitter_id == keeper_id, SittingRow.state == SittingState.ACCEPTED
        )
        looked_at = update(KeeperRow).where(KeeperRow.id.in_(served), KeeperRow.next_wake.is_not(None))
        await self._session.execute(looked_at.values(next_wake=_AT_ONCE))
        await self._session.execute(delete(SittingRow).where(SittingRow.sitter_id == keeper_id))
        await self._session.execute(delete(OfferRow).where(OfferRow.to_id == keeper_id))
        await self._session.execute(delete(KeeperRow).where(KeeperRow.id == keeper_id))
        self._places.pop(keeper_id, None)

    async def _load(self, condition: ColumnElement[bool]) -> Sequence[KeeperRecord]:
        wanted = select(KeeperRow).where(condition).order_by(KeeperRow.next_wake, KeeperRow.id)
        keepers = (await self._session.scalars(wanted)).all()
        order = select(PlaceRow).where(PlaceRow.keeper_id.in_([keeper.id for keeper in keepers]))
        places: dict[int, list[Any]] = defaultdict(list)
        for place in await self._session.scalars(order.order_by(PlaceRow.keeper_id, PlaceRow.position)):
            places[place.keeper_id].append(place)
        records = [keeper_from(row, self._zone(row.zone_name), places[row.id]) for row in keepers]
        self._places |= {record.id: record.places for record in records}
        return records

    def _zone(self, name: str) -> tzinfo:
        """The zone; UTC for a name that the tz data lost, since a reminder hours off beats none."""
        try:
            return self._zones.get(name)
        except CareError:
            _log.warning("zone %s is not in the tz data %s; UTC stands in", name, self._zones.version)
            return UTC


def _circle(keeper_id: KeeperId) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    """Who sits for somebody, and for whom they sit; asked ones too, since they may accept meanwhile."""
    going = SittingRow.state.in_(OPEN_SITTINGS)
    sitters = select(SittingRow.sitter_id).where(SittingRow.keeper_id == keeper_id, going)
    keepers = select(SittingRow.keeper_id).where(SittingRow.sitter_id == keeper_id, going)
    return KeeperRow.id.in_(sitters), KeeperRow.id.in_(keepers)
