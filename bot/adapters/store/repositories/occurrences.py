"""Stored occurrences: one for each colony, duty and local day, however often planning runs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import Columns, occurrence_from, plan_columns
from bot.adapters.store.tables import PLANNED, ColonyRow, OccurrenceRow
from bot.adapters.store.upsert import insert_into
from bot.care.duty import Duty
from bot.services.records import (
    ColonyId,
    ColonyState,
    DeliveryId,
    KeeperId,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
)

_Key = tuple[ColonyId, Duty, date]
_KEY = ("colony_id", "duty", "day")
_OPEN = (OccurrenceState.PLANNED, OccurrenceState.SENT)
_ANSWERED = (OccurrenceState.DONE, OccurrenceState.SKIPPED)
_OVER = (*_ANSWERED, OccurrenceState.LAPSED)
_BATCH = 500
"""Ids in one statement; both databases take about 32,000 values."""


class SqlOccurrences:
    """Fulfils `ports.Occurrences`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def get(self, occurrence_id: OccurrenceId) -> StoredOccurrence | None:
        """One occurrence."""
        found = await self._load(select(OccurrenceRow).where(OccurrenceRow.id == occurrence_id))
        return found[0] if found else None

    async def plan(self, new: Sequence[NewOccurrence]) -> Sequence[StoredOccurrence]:
        """Insert as planned where colony, duty and day are free, and return what now stands there, by due moment.

        A planned row in the way is overwritten, unless the keeper snoozed it; it stays in the delivery it waits in. A
        superseded one starts anew. One that was sent or answered is left as it is. Of two `new` ones with the same
        key the last counts.
        """
        rows = {(item.colony_id, item.occurrence.duty, item.occurrence.day): _new_row(item) for item in new}
        if not rows:
            return ()
        insert = insert_into(self._session, OccurrenceRow)
        superseded = OccurrenceRow.state == OccurrenceState.SUPERSEDED
        changed: dict[str, Any] = {name: insert.excluded[name] for name in _new_row(new[0]) if name not in _KEY}
        changed["delivery_id"] = case((superseded, None), else_=OccurrenceRow.delivery_id)
        free = superseded | ((OccurrenceRow.state == OccurrenceState.PLANNED) & ~OccurrenceRow.snoozed)
        upsert = insert.on_conflict_do_update(index_elements=_KEY, set_=changed, where=free)
        await self._session.execute(upsert, [rows[key] for key in sorted(rows)])
        return [found for found in await self._around(rows) if _key(found) in rows]

    async def open_of(self, colony_id: ColonyId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a colony, by due moment."""
        mine = OccurrenceRow.colony_id == colony_id
        return await self._load(select(OccurrenceRow).where(mine, OccurrenceRow.state.in_(_OPEN)))

    async def open_of_keeper(self, keeper_id: KeeperId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of kept colonies that somebody is reminded of, by due moment."""
        kept = select(OccurrenceRow).join(ColonyRow, ColonyRow.id == OccurrenceRow.colony_id)
        kept = kept.where(ColonyRow.state == ColonyState.KEPT)
        return await self._load_for(keeper_id, kept.where(OccurrenceRow.state.in_(_OPEN)))

    async def due(self, keeper_id: KeeperId, now: datetime) -> Sequence[StoredOccurrence]:
        """Planned occurrences whose moment has come for whoever is reminded, in no delivery yet, by due moment."""
        come = select(OccurrenceRow).where(PLANNED, OccurrenceRow.due_at <= now, OccurrenceRow.delivery_id.is_(None))
        return await self._load_for(keeper_id, come)

    async def next_due(self, keeper_id: KeeperId) -> datetime | None:
        """The earliest due moment among planned occurrences that somebody is reminded of."""
        earliest = select(func.min(OccurrenceRow.due_at)).where(PLANNED)
        moments = [await self._session.scalar(earliest.where(mine)) for mine in _reminded(keeper_id)]
        return min((at for at in moments if at is not None), default=None)

    async def save(self, occurrence: StoredOccurrence) -> None:
        """Update state, due moment, day bounds, delivery, answer and recipient; an erased one stays erased."""
        planned = occurrence.occurrence
        change = update(OccurrenceRow).where(OccurrenceRow.id == occurrence.id)
        await self._session.execute(
            change.values(
                state=occurrence.state,
                snoozed=occurrence.snoozed,
                due_at=planned.due_at,
                earliest=planned.earliest,
                latest=planned.latest,
                delivery_id=occurrence.delivery_id,
                answered_at=occurrence.answered_at,
                outcome=occurrence.outcome,
                recipient_id=occurrence.recipient_id,
            )
        )

    async def set_state(self, ids: Sequence[OccurrenceId], state: OccurrenceState) -> None:
        """Move several at once; answered and lapsed rows are left alone, and `planned` unties them from a delivery."""
        values: Columns = {"state": state}
        if state is OccurrenceState.PLANNED:
            values["delivery_id"] = None
        for start in range(0, len(ids), _BATCH):
            these = OccurrenceRow.id.in_(ids[start : start + _BATCH])
            move = update(OccurrenceRow).where(these, OccurrenceRow.state.not_in(_OVER)).values(**values)
            await self._session.execute(move)

    async def settle(self, delivery_id: DeliveryId, state: OccurrenceState) -> None:
        """Move the rows that still wait in a delivery to `sent`, or back to `planned` without it; no others.

        One statement, since an answer may come between sending and recording.
        """
        values: Columns = {"state": state}
        if state is OccurrenceState.PLANNED:
            values["delivery_id"] = None
        waiting = (OccurrenceRow.delivery_id == delivery_id, OccurrenceRow.state == OccurrenceState.PLANNED)
        await self._session.execute(update(OccurrenceRow).where(*waiting).values(**values))

    async def answered(self, colony_id: ColonyId, limit: int) -> Sequence[StoredOccurrence]:
        """Newest answered occurrences of a colony, newest first."""
        mine = select(OccurrenceRow).where(OccurrenceRow.colony_id == colony_id, OccurrenceRow.state.in_(_ANSWERED))
        newest = mine.order_by(OccurrenceRow.answered_at.desc().nulls_last(), OccurrenceRow.id.desc()).limit(limit)
        return [occurrence_from(row) for row in await self._session.scalars(newest)]

    async def told_to(self, colony_id: ColonyId, recipient_id: KeeperId, since: date) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, since a day: all but superseded ones, by day."""
        sat = (OccurrenceRow.colony_id == colony_id, OccurrenceRow.recipient_id == recipient_id)
        stands = OccurrenceRow.state != OccurrenceState.SUPERSEDED
        wanted = select(OccurrenceRow).where(*sat, stands, OccurrenceRow.day >= since)
        rows = await self._session.scalars(wanted.order_by(OccurrenceRow.day, OccurrenceRow.id))
        return [occurrence_from(row) for row in rows]

    async def move(self, colony_id: ColonyId, keeper_id: KeeperId) -> None:
        """All occurrences of a colony belong to another keeper; open ones are superseded."""
        mine = update(OccurrenceRow).where(OccurrenceRow.colony_id == colony_id)
        await self._session.execute(mine.values(keeper_id=keeper_id, recipient_id=None))
        over = mine.where(OccurrenceRow.state.in_(_OPEN))
        await self._session.execute(over.values(state=OccurrenceState.SUPERSEDED, snoozed=False))

    async def _load_for(self, reader: KeeperId, wanted: Select[OccurrenceRow]) -> Sequence[StoredOccurrence]:
        found = [row for mine in _reminded(reader) for row in await self._load(wanted.where(mine))]
        return sorted(found, key=lambda row: (row.occurrence.due_at, row.id))

    async def _load(self, wanted: Select[OccurrenceRow]) -> Sequence[StoredOccurrence]:
        rows = await self._session.scalars(wanted.order_by(OccurrenceRow.due_at, OccurrenceRow.id))
        return [occurrence_from(row) for row in rows]

    async def _around(self, keys: Collection[_Key]) -> Sequence[StoredOccurrence]:
        """Everything of the colonies in `keys` between their first and last day."""
        colonies = sorted({colony_id for colony_id, _, _ in keys})
        days = [day for _, _, day in keys]
        found: list[StoredOccurrence] = []
        for start in range(0, len(colonies), _BATCH):
            these = OccurrenceRow.colony_id.in_(colonies[start : start + _BATCH])
            between = OccurrenceRow.day.between(min(days), max(days))
            found += await self._load(select(OccurrenceRow).where(these, between))
        return found


def _reminded(reader: KeeperId) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    """What somebody is reminded of, as keeper and as sitter: two questions, so that each is answered by its index."""
    own = and_(OccurrenceRow.keeper_id == reader, OccurrenceRow.recipient_id.is_(None))
    return own, OccurrenceRow.recipient_id == reader


def _key(stored: StoredOccurrence) -> _Key:
    return (stored.colony_id, stored.occurrence.duty, stored.occurrence.day)


def _new_row(new: NewOccurrence) -> Columns:
    return {
        "colony_id": new.colony_id,
        "keeper_id": new.keeper_id,
        "recipient_id": new.recipient_id,
        **plan_columns(new.occurrence),
        "state": OccurrenceState.PLANNED,
        "snoozed": False,
        "delivery_id": None,
        "answered_at": None,
        "outcome": None,
    }
