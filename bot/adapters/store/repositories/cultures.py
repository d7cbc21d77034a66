"""Feeder cultures with their log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import fields, replace
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.culture_tables import CultureEntryRow, CultureRow
from bot.adapters.store.mapping import Columns
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.services.errors import DuplicateNameError
from bot.services.records import CultureId, CultureRecord, KeeperId, Subject

_T = table_of(CultureRow)
_OF = select(_T).where(Among(_T.c.keeper_id))
_NAMES = select(_T.c.keeper_id, _T.c.id, _T.c.name).where(Among(_T.c.keeper_id))


class SqlCultures:
    """Fulfils `culture_ports.Cultures`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def add(self, record: CultureRecord) -> CultureRecord:
        """Store a new one with its log; `record.id` is ignored, and the returned value has the real id and key.

        Raises:
            DuplicateNameError: the keeper has a culture of that name.
        """
        row = {"keeper_id": record.keeper_id, "created_at": record.created_at, **_columns(record.culture)}
        try:
            async with self._session.begin_nested():
                made = await self._session.scalar(insert(CultureRow).values(row).returning(CultureRow.id))
        except IntegrityError as error:
            raise DuplicateNameError(record.culture.name) from error
        new_id = CultureId(made or 0)
        for entry in record.culture.log:
            await self.log(new_id, entry)
        return replace(record, id=new_id, culture=replace(record.culture, key=str(new_id)))

    async def get(self, culture_id: CultureId) -> CultureRecord | None:
        """One culture."""
        found = await self._load(CultureRow.id == culture_id)
        return found[0] if found else None

    async def of(self, keeper_id: KeeperId) -> Sequence[CultureRecord]:
        """The keeper's cultures, by name."""
        return await self.of_all([keeper_id])

    async def of_all(self, keeper_ids: Collection[KeeperId]) -> Sequence[CultureRecord]:
        """Cultures of several keepers, in the order of keeper and name."""
        found = await self._found(_OF, {"ids": list(keeper_ids)})
        return sorted(found, key=lambda record: (record.keeper_id, record.culture.name.casefold(), record.id))

    async def names_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[Subject, str]]:
        """Names of cultures of several keepers, in their order; those without any are missing."""
        names: dict[KeeperId, dict[Subject, str]] = defaultdict(dict)
        rows = await self._session.execute(_NAMES, {"ids": list(keeper_ids)})
        for keeper_id, culture_id, name in sorted(rows, key=lambda row: (row.name.casefold(), row.id)):
            names[keeper_id][None, culture_id] = name
        return names

    async def save(self, record: CultureRecord) -> None:
        """Update what the keeper says of it; not the log."""
        change = update(CultureRow).where(CultureRow.id == record.id)
        await self._session.execute(change.values(_columns(record.culture)))

    async def log(self, culture_id: CultureId, entry: CultureEntry) -> None:
        """Append to the log."""
        row = {"culture_id": culture_id, "day": entry.day, "event": entry.event, "animals": entry.animals}
        await self._session.execute(insert(CultureEntryRow).values(row))

    async def unlog(self, culture_id: CultureId, day: date, event: CultureEvent) -> bool:
        """Remove the newest entry of an event and day; false when there is none."""
        same = (CultureEntryRow.culture_id == culture_id, CultureEntryRow.day == day, CultureEntryRow.event == event)
        newest = select(func.max(CultureEntryRow.id)).where(*same).scalar_subquery()
        removal = delete(CultureEntryRow).where(CultureEntryRow.id == newest).returning(CultureEntryRow.id)
        return await self._session.scalar(removal) is not None

    async def remove(self, culture_id: CultureId) -> None:
        """Remove it; its log and its reminders go along."""
        await self._session.execute(delete(CultureRow).where(CultureRow.id == culture_id))

    async def _load(self, condition: ColumnElement[bool]) -> Sequence[CultureRecord]:
        return await self._found(select(_T).where(condition))

    async def _found(self, wanted: Select[Any], values: Mapping[str, Any] | None = None) -> Sequence[CultureRecord]:
        rows = await rows_of(self._session, CultureRow, wanted, values)
        if not rows:
            return ()
        wanted = select(CultureEntryRow).where(CultureEntryRow.culture_id.in_([row.id for row in rows]))
        logs: dict[int, list[CultureEntry]] = defaultdict(list)
        for entry in await self._session.scalars(wanted.order_by(CultureEntryRow.day, CultureEntryRow.id)):
            logs[entry.culture_id].append(CultureEntry(day=entry.day, event=entry.event, animals=entry.animals))
        return [_record(row, logs[row.id]) for row in rows]


_SAID = tuple(field.name for field in fields(Culture) if field.name not in {"key", "log"})


def _columns(culture: Culture) -> Columns:
    return {name: getattr(culture, name) for name in _SAID}


def _record(row: CultureRow, log: Sequence[CultureEntry]) -> CultureRecord:
    said = {name: getattr(row, name) for name in _SAID}
    culture = Culture(key=str(row.id), log=tuple(log), **said)
    return CultureRecord(
        id=CultureId(row.id), keeper_id=KeeperId(row.keeper_id), culture=culture, created_at=row.created_at
    )
