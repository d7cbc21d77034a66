"""Keepers with their places, and the lease that lets one process at a time look after a keeper."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import Any

from sqlalchemy import ColumnElement, case, delete, func, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import keeper_columns, keeper_from, place_columns
from bot.adapters.store.tables import KeeperRow, PlaceRow
from bot.adapters.store.upsert import put
from bot.care.errors import CareError
from bot.services.ports import Zones
from bot.services.records import KeeperId, KeeperRecord

_log = logging.getLogger(__name__)


class SqlKeepers:
    """Fulfils `ports.Keepers`."""

    def __init__(self, session: AsyncSession, zones: Zones) -> None:
        self._session = session
        self._zones = zones

    async def get(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """The keeper, or `None` when they never set anything up.

        Whoever reads a keeper mostly writes them back whole, so the row is locked: of two units the second waits for
        the first and reads what it wrote. On SQLite every unit does so by itself.
        """
        found = await self._load(KeeperRow.id == keeper_id, lock=True)
        return found[0] if found else None

    async def save(self, keeper: KeeperRecord) -> None:
        """Insert or update; leaves the lease and the moment of creation alone."""
        await put(self._session, KeeperRow, keeper_columns(keeper), key=["id"], keep=["created_at"])
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
        return len((await self._session.scalars(change.returning(KeeperRow.id))).all())

    async def next_wake(self) -> datetime | None:
        """The earliest wake moment of all keepers; a leased keeper counts from the end of the lease."""
        leased = KeeperRow.lease_until > KeeperRow.next_wake
        claimable = case((leased, KeeperRow.lease_until), else_=KeeperRow.next_wake)
        earliest: datetime | None = await self._session.scalar(select(func.min(claimable)))
        return earliest

    async def ids_after(self, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """Keeper ids above `keeper_id`, ascending: for walks over everyone in batches."""
        above = select(KeeperRow.id).where(KeeperRow.id > keeper_id).order_by(KeeperRow.id).limit(limit)
        return [KeeperId(found) for found in await self._session.scalars(above)]

    async def erase(self, keeper_id: KeeperId) -> None:
        """Remove the keeper and everything that hangs on them."""
        await self._session.execute(delete(KeeperRow).where(KeeperRow.id == keeper_id))

    async def _load(self, condition: ColumnElement[bool], *, lock: bool = False) -> Sequence[KeeperRecord]:
        wanted = select(KeeperRow).where(condition).order_by(KeeperRow.next_wake, KeeperRow.id)
        wanted = wanted.with_for_update() if lock else wanted
        keepers = (await self._session.scalars(wanted)).all()
        order = select(PlaceRow).where(PlaceRow.keeper_id.in_([keeper.id for keeper in keepers]))
        places: dict[int, list[Any]] = defaultdict(list)
        for place in await self._session.scalars(order.order_by(PlaceRow.keeper_id, PlaceRow.position)):
            places[place.keeper_id].append(place)
        return [keeper_from(row, self._zone(row.zone_name), places[row.id]) for row in keepers]

    def _zone(self, name: str) -> tzinfo:
        """The zone; UTC for a name that the tz data lost, since a reminder hours off beats none."""
        try:
            return self._zones.get(name)
        except CareError:
            _log.warning("zone %s is not in the tz data %s; UTC stands in", name, self._zones.version)
            return UTC
