"""Keepers with their places, and the lease that lets one process at a time look after a keeper."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, datetime, tzinfo
from typing import Any, cast

from sqlalchemy import CursorResult, and_, bindparam, case, delete, insert, or_, select, union, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import keeper_columns, keeper_from, place_columns
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.adapters.store.sitting_tables import OfferRow, SittingRow
from bot.adapters.store.tables import ColonyRow, KeeperRow, OccurrenceRow, PlaceRow
from bot.adapters.store.upsert import put_all
from bot.care.errors import CareError
from bot.care.place import Place
from bot.services.ports import Zones
from bot.services.records import KeeperId, KeeperRecord, OccurrenceState
from bot.services.sitting_records import OPEN_SITTINGS, SittingState

_T, _PLACES, _COLONY = table_of(KeeperRow), table_of(PlaceRow), table_of(ColonyRow)
_C, _SITTING = _T.c, table_of(SittingRow).c
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
        """The keeper, or `None` when they never set anything up; see `get_all`."""
        return (await self.get_all([keeper_id])).get(keeper_id)

    async def get_all(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, KeeperRecord]:
        """Several keepers, without those who never set anything up.

        Whoever reads a keeper mostly writes them back whole, so the row is locked: of two units the second waits for
        the first and reads what it wrote. Those who sit for them, and whom they sit for, are locked along, all in the
        order of their ids, so that no two units wait for each other. On SQLite every unit waits by itself.
        """
        if self._session.get_bind().dialect.name == "postgresql":
            circle = {*keeper_ids, *await self._session.scalars(_CIRCLE, {"ids": list(keeper_ids)})}
            await self._session.execute(_LOCKED, {"ids": list(circle)})
        return {record.id: record for record in await self._load(keeper_ids)}

    async def peek(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """Another keeper beside the one this unit is about."""
        return next(iter(await self._load([keeper_id])), None)

    async def wake_by(self, keeper_id: KeeperId, at: datetime) -> None:
        """Look at somebody no later than at a moment; who is not to be woken at all stays so."""
        later = update(KeeperRow).where(KeeperRow.id == keeper_id, KeeperRow.next_wake > at)
        await self._session.execute(later.values(next_wake=at))

    async def save(self, keeper: KeeperRecord) -> None:
        """Insert or update; leaves the lease and the moment of creation alone."""
        await self.save_all([keeper])

    async def save_all(self, keepers: Sequence[KeeperRecord]) -> None:
        """As `save`, for several."""
        if not keepers:
            return
        rows = [keeper_columns(keeper) for keeper in keepers]
        await put_all(self._session, KeeperRow, rows, key=["id"], keep=["created_at"])
        moved = [keeper for keeper in keepers if self._places.get(keeper.id) != keeper.places]
        if moved:
            old = delete(_PLACES).where(_PLACES.c.keeper_id.in_([keeper.id for keeper in moved]))
            await self._session.execute(old)
            places = [(keeper.id, at, place) for keeper in moved for at, place in enumerate(keeper.places)]
            await self._session.execute(insert(_PLACES), [place_columns(*each) for each in places])
            self._places |= {keeper.id: keeper.places for keeper in moved}

    async def claim_due(self, now: datetime, lease_until: datetime, token: str, limit: int) -> set[KeeperId]:
        """Lease keepers whose `next_wake` has come and whose lease has run out, the earliest; returns whom.

        One statement: PostgreSQL steps over rows that another process is claiming, SQLite lets one writer in at a time.
        """
        due = (
            select(_C.id)
            .where(_C.next_wake <= now, or_(_C.lease_until.is_(None), _C.lease_until <= now))
            .order_by(_C.next_wake, _C.id)
            .limit(limit)
            .with_for_update(skip_locked=True)
            .cte("due")
        )
        claim = update(_T).where(_C.id.in_(select(due.c.id))).values(lease_until=lease_until, lease_token=token)
        return {KeeperId(claimed) for claimed in await self._session.scalars(claim.returning(_C.id))}

    async def release(self, keeper_id: KeeperId, token: str, next_wake: datetime | None) -> bool:
        """Give the lease back with the next wake moment; false when another process holds it by now."""
        held = (
            update(KeeperRow)
            .where(KeeperRow.id == keeper_id, KeeperRow.lease_token == token)
            .values(lease_until=None, lease_token=None, next_wake=next_wake)
            .returning(KeeperRow.id)
        )
        return await self._session.scalar(held) is not None

    async def renew(self, keeper_ids: Collection[KeeperId], token: str, lease_until: datetime) -> set[KeeperId]:
        """Hold leases for longer; returns whose: not those whom another process holds by now, nor who were erased."""
        held = {"ids": list(keeper_ids), "token": token}
        found = await self._session.scalars(_HELD.values(lease_until=lease_until).returning(_C.id), held)
        return {KeeperId(keeper_id) for keeper_id in found}

    async def let_go(self, keeper_ids: Collection[KeeperId], token: str) -> None:
        """Give leases back that are still held; wake moments stay as they were saved."""
        held = {"ids": list(keeper_ids), "token": token}
        await self._session.execute(_HELD.values(lease_until=None, lease_token=None), held)

    async def wake_everybody(self, now: datetime) -> int:
        """Move later wake moments to `now` and end all leases, for a clock that was set back; returns how many.

        No stored plan stands any more.
        """
        stands = update(_COLONY).where(_COLONY.c.holds_until.is_not(None))
        await self._session.execute(stands.values(holds_until=None, planned_with=None))
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

    async def _load(self, keeper_ids: Collection[KeeperId]) -> Sequence[KeeperRecord]:
        ids = {"ids": list(keeper_ids)}
        keepers = await rows_of(self._session, KeeperRow, _THESE, ids)
        places: dict[int, list[Any]] = defaultdict(list)
        for place in await rows_of(self._session, PlaceRow, _PLACES_OF, ids):
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


_THESE = select(_T).where(Among(_C.id)).order_by(_C.next_wake, _C.id)
_PLACES_OF = select(_PLACES).where(Among(_PLACES.c.keeper_id)).order_by(_PLACES.c.keeper_id, _PLACES.c.position)
_LOCKED = select(_C.id).where(Among(_C.id)).order_by(_C.id).with_for_update(key_share=True)
_HELD = update(_T).where(Among(_C.id), _C.lease_token == bindparam("token"))
_GOING = _SITTING.state.in_(OPEN_SITTINGS)
_CIRCLE = union(
    select(_SITTING.sitter_id).where(Among(_SITTING.keeper_id), _GOING),
    select(_SITTING.keeper_id).where(Among(_SITTING.sitter_id), _GOING),
)
"""Who sits for somebody, and for whom they sit; asked ones too, since they may accept meanwhile."""
