"""Stored occurrences: one for each colony or culture, duty and local day, however often planning runs."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, bindparam, case, func, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import Columns, occurrence_from, plan_columns
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.adapters.store.tables import OF_CULTURE, PLANNED, ColonyRow, OccurrenceRow
from bot.adapters.store.upsert import insert_into
from bot.care.duty import Duty, Urgency
from bot.services.records import (
    ColonyId,
    ColonyState,
    DeliveryId,
    KeeperId,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)
from bot.services.reminder_ports import Outlook

_T = table_of(OccurrenceRow)
_C = _T.c
_COLONY = table_of(ColonyRow)
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
        return next(iter(await self.get_all([occurrence_id])), None)

    async def get_all(self, ids: Collection[OccurrenceId]) -> Sequence[StoredOccurrence]:
        """Several occurrences, by due moment."""
        return await self._load(select(_T).where(_C.id.in_(ids))) if ids else ()

    async def plan(self, new: Sequence[NewOccurrence]) -> Collection[NewOccurrence]:
        """Insert as planned where subject, duty and day are free, and return those whose day was used already.

        A planned row in the way is overwritten, unless the keeper snoozed it; it stays in the delivery it waits in. A
        superseded one starts anew. One that was sent or answered is left as it is: its day was used. Of two `new` ones
        with the same key the last counts.
        """
        rows = {_new_key(item): _new_row(item) for item in new}
        for of_culture in (False, True):
            mine = [key for key in rows if (key[0][1] is not None) is of_culture]
            if mine:
                await self._put([rows[key] for key in sorted(mine, key=_in_order)], of_culture=of_culture)
        used = await self._used_around(rows)
        return [item for item in new if _new_key(item) in used]

    async def _put(self, rows: Sequence[Columns], *, of_culture: bool) -> None:
        insert = insert_into(self._session, OccurrenceRow)
        superseded = _C.state == OccurrenceState.SUPERSEDED
        changed: dict[str, Any] = {name: insert.excluded[name] for name in rows[0] if name not in _KEY}
        changed["delivery_id"] = case((superseded, None), else_=_C.delivery_id)
        free = superseded | ((_C.state == OccurrenceState.PLANNED) & ~_C.snoozed)
        same = ("culture_id", "day") if of_culture else ("colony_id", "duty", "day")
        only = OF_CULTURE if of_culture else None
        upsert = insert.on_conflict_do_update(index_elements=same, index_where=only, set_=changed, where=free)
        await self._session.execute(upsert, rows)

    async def open_of(self, colony_id: ColonyId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of a colony, by due moment."""
        return await self.open_of_all([(colony_id, None)])

    async def open_of_all(self, subjects: Collection[Subject]) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of colonies and feeder cultures, by due moment within each kind."""
        colonies = [colony for colony, _ in subjects if colony is not None]
        cultures = [culture for _, culture in subjects if culture is not None]
        found: list[StoredOccurrence] = []
        if colonies:
            found += await self._load(select(_T).where(_C.colony_id.in_(colonies), _C.state.in_(_OPEN)))
        if cultures:
            found += await self._load(select(_T).where(OF_CULTURE, _C.culture_id.in_(cultures), _C.state.in_(_OPEN)))
        return found

    async def open_of_keeper(self, keeper_id: KeeperId) -> Sequence[StoredOccurrence]:
        """Planned and sent occurrences of kept colonies and of cultures that somebody is reminded of, by due moment."""
        return await self._load_for([keeper_id], _OPEN_FOR)

    async def due(self, keeper_ids: Collection[KeeperId], now: datetime) -> Sequence[StoredOccurrence]:
        """Planned occurrences whose moment has come for whoever is reminded, in no delivery yet, by due moment."""
        return await self._load_for(keeper_ids, _DUE, now=now)

    async def outlook(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Outlook]:
        """What lies before each keeper, among occurrences as in `open_of_keeper`."""
        found: dict[KeeperId, Outlook] = {}
        for wanted in _OUTLOOK:
            for keeper_id, at, waits in await self._session.execute(wanted, {"ids": list(keeper_ids)}):
                here = Outlook(next_due=at, urgent_out=bool(waits))
                found[keeper_id] = found.get(keeper_id, Outlook()).with_also(here)
        return found

    async def save(self, occurrence: StoredOccurrence) -> None:
        """Update state, due moment, day bounds, delivery, answer and recipient; an erased one stays erased."""
        await self.save_all([occurrence])

    async def save_all(self, occurrences: Sequence[StoredOccurrence]) -> None:
        """As `save`, for several."""
        if occurrences:
            await self._session.execute(_SAVE, [_saved(row) for row in occurrences])

    async def set_state(self, ids: Sequence[OccurrenceId], state: OccurrenceState) -> None:
        """Move several at once; answered and lapsed rows are left alone, and `planned` unties them from a delivery."""
        for start in range(0, len(ids), _BATCH):
            these = (_C.id.in_(ids[start : start + _BATCH]), _C.state.not_in(_OVER))
            await self._session.execute(update(_T).where(*these).values(_moved_to(state)))

    async def settle(self, delivery_ids: Collection[DeliveryId], state: OccurrenceState) -> None:
        """Move the rows that still wait in deliveries to `sent`, or back to `planned` without them; no others.

        One statement, since an answer may come between sending and recording. Once something was told, the next look
        plans its colony anew.
        """
        ids = {"ids": list(delivery_ids)}
        await self._session.execute(_PLAN_OVER, ids)
        await self._session.execute(_IN_DELIVERIES.values(_moved_to(state)), ids)

    async def answered(self, colony_id: ColonyId, limit: int) -> Sequence[StoredOccurrence]:
        """Newest answered occurrences of a colony, newest first."""
        mine = select(_T).where(_C.colony_id == colony_id, _C.state.in_(_ANSWERED))
        newest = mine.order_by(_C.answered_at.desc().nulls_last(), _C.id.desc()).limit(limit)
        return [occurrence_from(row) for row in await rows_of(self._session, OccurrenceRow, newest)]

    async def told_to(self, colony_id: ColonyId, recipient_id: KeeperId, since: date) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, since a day: all but superseded ones, by day."""
        return await self._told(_C.colony_id == colony_id, recipient_id, since)

    async def told_of_cultures(
        self, keeper_id: KeeperId, recipient_id: KeeperId, since: date
    ) -> Sequence[StoredOccurrence]:
        """What a sitter was reminded of, or answered, of a keeper's feeder cultures since a day, by day."""
        return await self._told(and_(OF_CULTURE, _C.keeper_id == keeper_id), recipient_id, since)

    async def _told(
        self, about: ColumnElement[bool], recipient_id: KeeperId, since: date
    ) -> Sequence[StoredOccurrence]:
        sat = (about, _C.recipient_id == recipient_id, _C.day >= since)
        wanted = select(_T).where(*sat, _C.state != OccurrenceState.SUPERSEDED)
        rows = await rows_of(self._session, OccurrenceRow, wanted.order_by(_C.day, _C.id))
        return [occurrence_from(row) for row in rows]

    async def move(self, colony_id: ColonyId, keeper_id: KeeperId) -> None:
        """All occurrences of a colony belong to another keeper; open ones are superseded."""
        mine = update(_T).where(_C.colony_id == colony_id)
        await self._session.execute(mine.values(keeper_id=keeper_id, recipient_id=None))
        over = mine.where(_C.state.in_(_OPEN))
        await self._session.execute(over.values(state=OccurrenceState.SUPERSEDED, snoozed=False))

    async def _load_for(
        self, readers: Collection[KeeperId], questions: Iterable[Select[Any]], **values: datetime
    ) -> Sequence[StoredOccurrence]:
        told = {"ids": list(readers), **values}
        rows = [row for wanted in questions for row in await rows_of(self._session, OccurrenceRow, wanted, told)]
        return [occurrence_from(row) for row in sorted(rows, key=lambda row: (row.due_at, row.id))]

    async def _load(self, wanted: Select[Any]) -> Sequence[StoredOccurrence]:
        rows = await rows_of(self._session, OccurrenceRow, wanted.order_by(_C.due_at, _C.id))
        return [occurrence_from(row) for row in rows]

    async def _used_around(self, keys: Collection[_Key]) -> Collection[_Key]:
        """What was told or answered of the subjects in `keys` between their first and last day."""
        days = [day for _, _, day in keys]
        wanted: list[tuple[ColumnElement[int], Sequence[int]]] = [
            (_C.colony_id, sorted({colony for (colony, _), _, _ in keys if colony is not None})),
            (_C.culture_id, sorted({culture for (_, culture), _, _ in keys if culture is not None})),
        ]
        found: set[_Key] = set()
        used = select(*(_C[name] for name in _KEY)).where(_C.state != OccurrenceState.PLANNED)
        for column, ids in wanted:
            for start in range(0, len(ids), _BATCH):
                these = (column.in_(ids[start : start + _BATCH]), _C.day.between(min(days), max(days)))
                rows = await self._session.execute(used.where(*these))
                found |= {((colony, culture), duty, day) for colony, culture, duty, day in rows}
        return found


def _kept(wanted: Select[Any]) -> Select[Any]:
    """Only planned and sent ones of kept colonies and of cultures."""
    joined = wanted.outerjoin(_COLONY, _COLONY.c.id == _C.colony_id)
    return joined.where(or_(_COLONY.c.state == ColonyState.KEPT, _C.culture_id.is_not(None)), _C.state.in_(_OPEN))


def _new_key(new: NewOccurrence) -> _Key:
    return ((new.colony_id, new.culture_id), new.occurrence.duty, new.occurrence.day)


def _in_order(key: _Key) -> tuple[int, int, Duty, date]:
    """The same order in every process, so that two of them never wait for each other."""
    (colony_id, culture_id), duty, day = key
    return colony_id or 0, culture_id or 0, duty, day


_READERS = (_C.keeper_id, _C.recipient_id)
_REMINDED = (and_(Among(_C.keeper_id), _C.recipient_id.is_(None)), Among(_C.recipient_id))
"""What people are reminded of, as keeper and as sitter: two questions, so that each is answered by its index."""
_OPEN_FOR = [_kept(select(_T)).where(mine) for mine in _REMINDED]
_DUE = [select(_T).where(PLANNED, _C.due_at <= bindparam("now"), _C.delivery_id.is_(None), mine) for mine in _REMINDED]
_FIRST = func.min(case((_C.state == OccurrenceState.PLANNED, _C.due_at)))
_WAITS = func.max(case(((_C.state == OccurrenceState.SENT) & (_C.urgency == int(Urgency.URGENT)), 1), else_=0))
_OUTLOOK = [
    _kept(select(reader, _FIRST, _WAITS)).where(mine).group_by(reader)
    for reader, mine in zip(_READERS, _REMINDED, strict=True)
]
_TOLD = select(_C.colony_id).where(Among(_C.delivery_id), _C.colony_id.is_not(None))
_PLAN_OVER = update(_COLONY).where(_COLONY.c.id.in_(_TOLD)).values(holds_until=None, planned_with=None)
_IN_DELIVERIES = update(_T).where(Among(_C.delivery_id), _C.state == OccurrenceState.PLANNED)


def _moved_to(state: OccurrenceState) -> Columns:
    return {"state": state, **({"delivery_id": None} if state is OccurrenceState.PLANNED else {})}


_SAVE = update(_T).where(_C.id == bindparam("row_id"))
"""Its columns come with the values of each row."""


def _saved(row: StoredOccurrence) -> Columns:
    planned = row.occurrence
    return {
        "row_id": row.id,
        "state": row.state,
        "snoozed": row.snoozed,
        "due_at": planned.due_at,
        "earliest": planned.earliest,
        "latest": planned.latest,
        "delivery_id": row.delivery_id,
        "answered_at": row.answered_at,
        "outcome": row.outcome,
        "recipient_id": row.recipient_id,
    }


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
