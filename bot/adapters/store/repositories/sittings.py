"""Sittings with their colonies, offers and notes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, bindparam, delete, func, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import Columns
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.adapters.store.sitting_tables import NoteRow, OfferRow, SittingColonyRow, SittingRow
from bot.services.records import ColonyId, DeliveryId, KeeperId
from bot.services.sitting_records import (
    OPEN_SITTINGS,
    Note,
    NoteId,
    Offer,
    OfferId,
    Sitting,
    SittingId,
    SittingState,
)

_T, _NOTES = table_of(SittingRow), table_of(NoteRow)
_C, _NOTE = _T.c, _NOTES.c
_OPEN = (
    select(_T)
    .where(or_(Among(_C.keeper_id), Among(_C.sitter_id)), _C.state.in_(OPEN_SITTINGS))
    .order_by(_C.since, _C.id)
)
_WAITING = and_(Among(_NOTE.keeper_id), _NOTE.delivery_id.is_(None))
_OLDEST_FIRST = (_NOTE.due_at, _NOTE.id)
_DUE = select(_NOTES).where(_WAITING, _NOTE.due_at <= bindparam("now")).order_by(*_OLDEST_FIRST)
_NEXT_DUE = select(_NOTE.keeper_id, func.min(_NOTE.due_at)).where(_WAITING).group_by(_NOTE.keeper_id)
_GONE = delete(_NOTES).where(Among(_NOTE.delivery_id))


class SqlSittings:
    """Fulfils `sitting_ports.Sittings`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def add(self, sitting: Sitting) -> Sitting:
        """Store a new one; the id is given here."""
        row = {"keeper_id": sitting.keeper_id, "sitter_id": sitting.sitter_id, "asked_at": sitting.asked_at}
        made = insert(SittingRow).values({**row, **_changing(sitting)}).returning(SittingRow.id)
        new_id = SittingId(await self._session.scalar(made) or 0)
        lines = [{"sitting_id": new_id, "colony_id": colony_id} for colony_id in sitting.colony_ids]
        if lines:
            await self._session.execute(insert(SittingColonyRow), lines)
        return replace(sitting, id=new_id)

    async def get(self, sitting_id: SittingId) -> Sitting | None:
        """One sitting."""
        found = await self._load(SittingRow.id == sitting_id)
        return found[0] if found else None

    async def save(self, sitting: Sitting) -> None:
        """Update everything but who and what."""
        change = update(SittingRow).where(SittingRow.id == sitting.id)
        await self._session.execute(change.values(**_changing(sitting)))

    async def open_of(self, keeper_id: KeeperId) -> Sequence[Sitting]:
        """Asked and accepted ones in which somebody is keeper or sitter, by first day."""
        return await self.open_of_all([keeper_id])

    async def open_of_all(self, keeper_ids: Collection[KeeperId]) -> Sequence[Sitting]:
        """As `open_of`, for several."""
        return await self._found(_OPEN, {"ids": list(keeper_ids)})

    async def asked_since(self, keeper_id: KeeperId, sitter_id: KeeperId, since: datetime) -> Sequence[datetime]:
        """When one member asked another since a moment, oldest first."""
        pair = (SittingRow.keeper_id == keeper_id, SittingRow.sitter_id == sitter_id, SittingRow.asked_at >= since)
        found = await self._session.scalars(select(SittingRow.asked_at).where(*pair).order_by(SittingRow.asked_at))
        return list(found)

    async def of_colony(self, colony_id: ColonyId, sitter_id: KeeperId) -> Sequence[Sitting]:
        """All sittings of a colony by one member, whatever their state, newest last."""
        about = select(SittingColonyRow.sitting_id).where(SittingColonyRow.colony_id == colony_id)
        found = await self._load(and_(SittingRow.id.in_(about), SittingRow.sitter_id == sitter_id))
        return sorted(found, key=lambda sitting: sitting.id)

    async def leave(self, colony_id: ColonyId) -> None:
        """Take a colony out of all its sittings."""
        await self._session.execute(delete(SittingColonyRow).where(SittingColonyRow.colony_id == colony_id))

    async def forget_ended(self, before: datetime) -> None:
        """Remove what ended before a moment, and what was never answered since then."""
        over = and_(SittingRow.state != SittingState.ACCEPTED, SittingRow.asked_at < before)
        still = and_(SittingRow.ended_at.is_not(None), SittingRow.ended_at >= before)
        await self._session.execute(delete(SittingRow).where(over, ~still))

    async def _load(self, condition: ColumnElement[bool]) -> list[Sitting]:
        return await self._found(select(_T).where(condition).order_by(_C.since, _C.id))

    async def _found(self, wanted: Select[Any], values: Mapping[str, Any] | None = None) -> list[Sitting]:
        rows = await rows_of(self._session, SittingRow, wanted, values)
        if not rows:
            return []
        lines = select(SittingColonyRow).where(SittingColonyRow.sitting_id.in_([row.id for row in rows]))
        colonies: dict[int, list[ColonyId]] = defaultdict(list)
        for line in await self._session.scalars(lines.order_by(SittingColonyRow.colony_id)):
            colonies[line.sitting_id].append(ColonyId(line.colony_id))
        return [_sitting_from(row, colonies[row.id]) for row in rows]


class SqlOffers:
    """Fulfils `sitting_ports.Offers`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def put(self, offer: Offer) -> Offer:
        """Store; an earlier offer of the same colony is replaced. The id is given here."""
        await self.remove(offer.colony_id)
        row = {
            "colony_id": offer.colony_id,
            "keeper_id": offer.keeper_id,
            "to_id": offer.to_id,
            "offered_at": offer.offered_at,
        }
        new_id = await self._session.scalar(insert(OfferRow).values(row).returning(OfferRow.id))
        return replace(offer, id=OfferId(new_id or 0))

    async def get(self, offer_id: OfferId) -> Offer | None:
        """One offer; nobody else answers it while the unit lasts."""
        found = await self._load(OfferRow.id == offer_id, lock=True)
        return found[0] if found else None

    async def of(self, keeper_id: KeeperId) -> Sequence[Offer]:
        """Offers that somebody made or received, oldest first."""
        return await self._load(or_(OfferRow.keeper_id == keeper_id, OfferRow.to_id == keeper_id))

    async def remove(self, colony_id: ColonyId) -> None:
        """Remove the offer of a colony, if there is one."""
        await self._session.execute(delete(OfferRow).where(OfferRow.colony_id == colony_id))

    async def _load(self, condition: ColumnElement[bool], *, lock: bool = False) -> list[Offer]:
        wanted = select(OfferRow).where(condition).order_by(OfferRow.id)
        rows = await self._session.scalars(wanted.with_for_update() if lock else wanted)
        return [
            Offer(
                id=OfferId(row.id),
                colony_id=ColonyId(row.colony_id),
                keeper_id=KeeperId(row.keeper_id),
                to_id=KeeperId(row.to_id),
                offered_at=row.offered_at,
            )
            for row in rows
        ]


class SqlNotes:
    """Fulfils `sitting_ports.Notes`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def add(self, note: Note) -> None:
        """Store a new one."""
        row = {"keeper_id": note.keeper_id, "kind": note.kind, "due_at": note.due_at, "about": dict(note.about)}
        await self._session.execute(insert(NoteRow).values(row))

    async def due(self, keeper_ids: Collection[KeeperId], now: datetime) -> Sequence[Note]:
        """Notes whose moment has come, in no message yet, oldest first."""
        return await self._found(_DUE, {"ids": list(keeper_ids), "now": now})

    async def next_due(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, datetime]:
        """The earliest moment of a note in no message yet, for those who have one."""
        found = await self._session.execute(_NEXT_DUE, {"ids": list(keeper_ids)})
        return {KeeperId(keeper_id): at for keeper_id, at in found}

    async def tie(self, notes: Sequence[Note], delivery_id: DeliveryId) -> None:
        """They go out with a message."""
        if notes:
            these = NoteRow.id.in_([note.id for note in notes])
            await self._session.execute(update(NoteRow).where(these).values(delivery_id=delivery_id))

    async def of_delivery(self, delivery_id: DeliveryId) -> Sequence[Note]:
        """Notes of a message that is on its way."""
        return await self._load(NoteRow.delivery_id == delivery_id)

    async def told(self, delivery_ids: Collection[DeliveryId]) -> None:
        """The messages arrived: their notes are gone."""
        await self._session.execute(_GONE, {"ids": list(delivery_ids)})

    async def untie(self, delivery_id: DeliveryId) -> None:
        """The message never arrived: its notes wait again."""
        await self._session.execute(update(NoteRow).where(NoteRow.delivery_id == delivery_id).values(delivery_id=None))

    async def _load(self, condition: ColumnElement[bool]) -> list[Note]:
        return await self._found(select(_NOTES).where(condition).order_by(*_OLDEST_FIRST))

    async def _found(self, wanted: Select[Any], values: Mapping[str, Any] | None = None) -> list[Note]:
        rows = await rows_of(self._session, NoteRow, wanted, values)
        return [
            Note(
                id=NoteId(row.id),
                keeper_id=KeeperId(row.keeper_id),
                kind=row.kind,
                due_at=row.due_at,
                about=row.about,
                delivery_id=None if row.delivery_id is None else DeliveryId(row.delivery_id),
            )
            for row in rows
        ]


def _changing(sitting: Sitting) -> Columns:
    return {
        "since": sitting.since,
        "until": sitting.until,
        "state": sitting.state,
        "unreachable": sitting.unreachable,
        "feeders": sitting.feeders,
        "ended_at": sitting.ended_at,
    }


def _sitting_from(row: SittingRow, colony_ids: Sequence[ColonyId]) -> Sitting:
    return Sitting(
        id=SittingId(row.id),
        keeper_id=KeeperId(row.keeper_id),
        sitter_id=KeeperId(row.sitter_id),
        colony_ids=tuple(colony_ids),
        since=row.since,
        until=row.until,
        state=row.state,
        unreachable=row.unreachable,
        feeders=row.feeders,
        asked_at=row.asked_at,
        ended_at=row.ended_at,
    )
