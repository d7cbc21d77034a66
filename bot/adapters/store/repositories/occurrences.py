"""Stored occurrences: one for each colony or culture, duty and local day, however often planning runs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, case, func, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import InstrumentedAttribute

from bot.adapters.store.mapping import Columns, occurrence_from, plan_columns
from bot.adapters.store.tables import OF_CULTURE, PLANNED, ColonyRow, OccurrenceRow
from bot.adapters.store.upsert import insert_into
from bot.care.duty import Duty
from bot.services.records import (
    ColonyId,
    ColonyState,
    CultureId,
    DeliveryId,
    KeeperId,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)

_Key = tuple[Subject, Duty, date]
_KEY = ("colony_id", "culture_id", "duty", "day")
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
        """Insert as planned where subject, duty and day are free, and return what now stands there, by due moment.

        A planned row in the way is overwritten, unless the keeper snoozed it; it stays in the delivery it waits in. A
        superseded one starts anew. One that was sent or answered is left as it is. Of two `new` ones with the same
        key the last counts.
        """
        rows = {_new_key(item): _new_row(item) for item in new}
        for of_culture in (False, True):
            mine = [key for key in rows if (key[0][1] is not None) is of_culture]
            if mine:
                await self._put([rows[key] for key in sorted(mine, key=_in_order)], of_culture=of_culture)
        return [found for found in await self._around(rows) if _key(found) in rows]

    async def _put(self, rows: Sequence[Columns], *, of_culture: bool) -> None:
        insert = insert_into(self._session, OccurrenceRow)
        superseded = OccurrenceRow.state == OccurrenceState.SUPERSEDED
        changed: dict[str, Any] = {name: insert.excluded[name] for name in rows[0] if name not in _KEY}
        changed["delivery_id"] = case((superseded, None), else_=OccurrenceRow.delivery_id)
        free = superseded | ((OccurrenceRow.state == OccurrenceState.PLANNED) & ~OccurrenceRow.snoozed)
        same = ("culture_id", "day") if of_culture else ("colony_id", "duty", "day")
        only = OF_CULTURE if of_culture else None
        upsert = insert.on_conflict_do_update(index_elements=same, index_where=only, set_=changed, where=free)
        await self._session.execute(upsert, rows)

    async def open_of(self, colony_id: ColonyId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a colony, by due moment."""
        mine = OccurrenceRow.colony_id == colony_id
        return await self._load(select(OccurrenceRow).where(mine, OccurrenceRow.state.in_(_OPEN)))

    async def open_of_culture(self, culture_id: CultureId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a feeder culture, by due moment."""
        mine = OccurrenceRow.culture_id == culture_id
        return await self._load(select(OccurrenceRow).where(OF_CULTURE, mine, OccurrenceRow.state.in_(_OPEN)))

    async def open_of_keeper(self, keeper_id: KeeperId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of kept colonies and of cultures that somebody is reminded of, by due moment."""
        kept = select(OccurrenceRow).outerjoin(ColonyRow, ColonyRow.id == OccurrenceRow.colony_id)
        kept = kept.where(or_(ColonyRow.state == ColonyState.KEPT, OccurrenceRow.culture_id.is_not(None)))
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
        return await self._told(OccurrenceRow.colony_id == colony_id, recipient_id, since)

    async def told_of_cultures(
        self, keeper_id: KeeperId, recipient_id: KeeperId, since: date
    ) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, of a keeper's feeder cultures since a day, by day."""
        return await self._told(and_(OF_CULTURE, OccurrenceRow.keeper_id == keeper_id), recipient_id, since)

    async def _told(
        self, about: ColumnElement[bool], recipient_id: KeeperId, since: date
    ) -> Sequence[StoredOccurrence]:
        sat = (about, OccurrenceRow.recipient_id == recipient_id, OccurrenceRow.day >= since)
        wanted = select(OccurrenceRow).where(*sat, OccurrenceRow.state != OccurrenceState.SUPERSEDED)
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
        """Everything of the subjects in `keys` between their first and last day."""
        days = [day for _, _, day in keys]
        wanted: list[tuple[InstrumentedAttribute[int | None], Sequence[int]]] = [
            (OccurrenceRow.colony_id, sorted({colony for (colony, _), _, _ in keys if colony is not None})),
            (OccurrenceRow.culture_id, sorted({culture for (_, culture), _, _ in keys if culture is not None})),
        ]
        found: list[StoredOccurrence] = []
        for column, ids in wanted:
            for start in range(0, len(ids), _BATCH):
                these = (column.in_(ids[start : start + _BATCH]), OccurrenceRow.day.between(min(days), max(days)))
                found += await self._load(select(OccurrenceRow).where(*these))
        return found


def _reminded(reader: KeeperId) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    """What somebody is reminded of, as keeper and as sitter: two questions, so that each is answered by its index."""
    own = and_(OccurrenceRow.keeper_id == reader, OccurrenceRow.recipient_id.is_(None))
    return own, OccurrenceRow.recipient_id == reader


def _key(stored: StoredOccurrence) -> _Key:
    return (stored.subject, stored.occurrence.duty, stored.occurrence.day)


def _new_key(new: NewOccurrence) -> _Key:
    return ((new.colony_id, new.culture_id), new.occurrence.duty, new.occurrence.day)


def _in_order(key: _Key) -> tuple[int, int, Duty, date]:
    """The same order in every process, so that two of them never wait for each other."""
    (colony_id, culture_id), duty, day = key
    return colony_id or 0, culture_id or 0, duty, day


def _new_row(new: NewOccurrence) -> Columns:
    return {
        "colony_id": new.colony_id,
        "culture_id": new.culture_id,
        "keeper_id": new.keeper_id,
        "recipient_id": new.recipient_id,
        **plan_columns(new.occurrence),
        "state": OccurrenceState.PLANNED,
        "snoozed": False,
        "delivery_id": None,
        "answered_at": None,
        "outcome": None,
    }
