"""Colonies with their log.

The log that comes with a colony holds the newest `LOG_PER_DUTY` entries of each duty, not the whole of it: enough for
every engine (the last time of a rare duty is never lost behind frequent ones), and bounded after years of care.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import ScalarSelect, Select, and_, bindparam, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.sql.dml import ReturningInsert, ReturningUpdate

from bot.adapters.store.mapping import Columns, colony_columns, colony_from, entry_columns, entry_from
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.adapters.store.tables import ColonyRow, LogRow
from bot.care.colony import LogEntry
from bot.care.duty import SEEN, Duty, Outcome
from bot.services.errors import DuplicateNameError, StaleColonyError
from bot.services.records import LOG_PER_DUTY, ColonyId, ColonyRecord, ColonyState, KeeperId, Standing, Subject

_T, _LOG = table_of(ColonyRow), table_of(LogRow)
_C, _ENTRY = _T.c, _LOG.c
ASIDE = SEEN - {Outcome.AWAKE, Outcome.MOULD, Outcome.PUPAE}
"""Never an answer to a duty: it stays when care of the same day is taken back or told more exactly."""

_STANDS = update(_T).where(_C.id == bindparam("row_id"))
"""Its columns come with the values of each row."""
_KEPT = and_(Among(_C.keeper_id), _C.state == ColonyState.KEPT)
_STANDING = select(_C.keeper_id, _C.id, _C.holds_until, _C.planned_with).where(_KEPT)
_KEPT_BUT = select(_T).where(_KEPT, _C.id.not_in(bindparam("but", expanding=True)))
_NAMES = select(_C.keeper_id, _C.id, _C.name).where(_KEPT)
_ONE = select(_T).where(_C.id == bindparam("id"))
_OF = select(_T).where(_C.keeper_id == bindparam("keeper"), _C.state == bindparam("state"))
_CHANGE = update(_T).where(_C.id == bindparam("row_id"), _C.version == bindparam("read_version")).returning(_C.id)
_NAMED = frozenset({"name", "state", "closed_at", "closed_reason"})
_NEW_ENTRY = insert(_LOG)
_AGE = func.row_number().over(
    partition_by=(_ENTRY.colony_id, _ENTRY.duty), order_by=(_ENTRY.day.desc(), _ENTRY.id.desc())
)
_RANKED = select(_LOG, _AGE.label("age")).where(Among(_ENTRY.colony_id)).subquery()
_NEWEST = (
    select(*(_RANKED.c[column.name] for column in _ENTRY))
    .where(_RANKED.c.age <= LOG_PER_DUTY)
    .order_by(_RANKED.c.day, _RANKED.c.id)
)


class SqlColonies:
    """Fulfils `ports.Colonies`; also refuses a second kept colony of the same name with `DuplicateNameError`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def add(self, keeper_id: KeeperId, record: ColonyRecord) -> ColonyRecord:
        """Store a new colony with its log; `record.id` is ignored, and the returned value carries the real id and key.

        Raises:
            DuplicateNameError: the keeper has a kept colony of that name.
        """
        row = {"keeper_id": keeper_id, "version": record.version, "created_at": record.created_at}
        row |= colony_columns(record)
        colony_id = await self._write(insert(ColonyRow).values(row).returning(ColonyRow.id), record.colony.name)
        new_id = ColonyId(colony_id or 0)
        if record.colony.log:
            entries = [
                {**entry_columns(new_id, entry), "recorded_at": record.created_at} for entry in record.colony.log
            ]
            await self._session.execute(_NEW_ENTRY, entries)
        return replace(record, id=new_id, keeper_id=keeper_id, colony=replace(record.colony, key=str(new_id)))

    async def get(self, colony_id: ColonyId) -> ColonyRecord | None:
        """One colony with its log."""
        return next(iter(await self._found(_ONE, {"id": colony_id})), None)

    async def of(self, keeper_id: KeeperId, *, closed: bool = False) -> Sequence[ColonyRecord]:
        """The keeper's colonies by name; kept ones, or the closed ones."""
        state = ColonyState.CLOSED if closed else ColonyState.KEPT
        return _by_name(await self._found(_OF, {"keeper": keeper_id, "state": state}))

    async def of_all(self, keeper_ids: Collection[KeeperId], but: Collection[ColonyId] = ()) -> Sequence[ColonyRecord]:
        """Kept colonies of several keepers, in the order of keeper and name; `but` are left out."""
        return _by_name(await self._found(_KEPT_BUT, {"ids": list(keeper_ids), "but": list(but)}))

    async def standing(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[ColonyId, Standing]]:
        """The stored plans of kept colonies that still stand; missing are those of colonies that changed since."""
        found: dict[KeeperId, dict[ColonyId, Standing]] = defaultdict(dict)
        rows = await self._session.execute(_STANDING, {"ids": list(keeper_ids)})
        for keeper_id, colony_id, until, made_with in rows:
            if until is not None and made_with is not None:
                found[keeper_id][colony_id] = Standing(until, made_with)
        return found

    async def plan_stands(self, plans: Mapping[ColonyId, Standing | None]) -> None:
        """The stored plans of colonies stand, or do not; what changes a colony, its log or what was told ends that."""
        if plans:
            rows = [
                {
                    "row_id": colony_id,
                    "holds_until": None if plan is None else plan.until,
                    "planned_with": None if plan is None else plan.made_with,
                }
                for colony_id, plan in sorted(plans.items())
            ]
            await self._session.execute(_STANDS, rows)

    async def names_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[Subject, str]]:
        """Names of kept colonies of several keepers, in their order; those without any are missing."""
        names: dict[KeeperId, dict[Subject, str]] = defaultdict(dict)
        rows = await self._session.execute(_NAMES, {"ids": list(keeper_ids)})
        for keeper_id, colony_id, name in sorted(rows, key=lambda row: (row.name.casefold(), row.id)):
            names[keeper_id][colony_id, None] = name
        return names

    async def save(self, record: ColonyRecord) -> None:
        """Update all fields but the log, and count the version up.

        Raises:
            StaleColonyError: somebody changed it since it was read, or erased it.
            DuplicateNameError: the keeper has another kept colony of that name.
        """
        if await self._write(_CHANGE, record.colony.name, _changed(record, colony_columns(record))) is None:
            raise StaleColonyError("the colony changed since it was read")

    async def tend(self, record: ColonyRecord) -> None:
        """As `save`, but the name and whether it is kept stay: nothing can clash, which spares a savepoint.

        Raises:
            StaleColonyError: somebody changed it since it was read, or erased it.
        """
        tended = {name: value for name, value in colony_columns(record).items() if name not in _NAMED}
        if await self._session.scalar(_CHANGE, _changed(record, tended)) is None:
            raise StaleColonyError("the colony changed since it was read")

    async def move(self, record: ColonyRecord, keeper_id: KeeperId) -> ColonyRecord:
        """Save a colony under another keeper; its log goes along.

        Raises:
            StaleColonyError, DuplicateNameError.
        """
        moved = _changed(record, {**colony_columns(record), "keeper_id": keeper_id})
        if await self._write(_CHANGE, record.colony.name, moved) is None:
            raise StaleColonyError("the colony changed since it was read")
        return replace(record, keeper_id=keeper_id, version=record.version + 1)

    async def log(self, colony_id: ColonyId, entry: LogEntry, at: datetime, sitter: KeeperId | None = None) -> None:
        """Append to the log; among entries of one day the later recorded one is the newer."""
        row = {**entry_columns(colony_id, entry), "recorded_at": at, "sitter_id": sitter}
        await self._session.execute(_NEW_ENTRY, row)
        await self.plan_stands({colony_id: None})

    async def sat(self, colony_id: ColonyId) -> Mapping[LogEntry, KeeperId]:
        """Entries of the log that a sitter wrote, and who; not those of sitters who were erased."""
        wanted = select(LogRow).where(LogRow.colony_id == colony_id, LogRow.sitter_id.is_not(None))
        return {entry_from(row): KeeperId(row.sitter_id or 0) for row in await self._session.scalars(wanted)}

    async def amend(self, colony_id: ColonyId, entry: LogEntry) -> bool:
        """Replace the newest log entry of the same duty and day by `entry`; false when there is none."""
        await self.plan_stands({colony_id: None})
        newest = _newest(colony_id, entry.day, entry.duty)
        change = update(LogRow).where(LogRow.id == newest).values(**entry_columns(colony_id, entry))
        return await self._session.scalar(change.returning(LogRow.id)) is not None

    async def unlog(self, colony_id: ColonyId, day: date, duty: Duty) -> bool:
        """Remove the newest log entry of a duty and day; false when there is none."""
        await self.plan_stands({colony_id: None})
        removal = delete(LogRow).where(LogRow.id == _newest(colony_id, day, duty))
        return await self._session.scalar(removal.returning(LogRow.id)) is not None

    async def _write(
        self, statement: ReturningInsert[int] | ReturningUpdate[int], name: str, values: Columns | None = None
    ) -> int | None:
        try:
            async with self._session.begin_nested():
                return await self._session.scalar(statement, values)
        except IntegrityError as error:
            if "uq_colony_keeper_id_name_kept" in str(error.orig) or "colony.name" in str(error.orig):
                raise DuplicateNameError(name) from error
            raise

    async def _found(self, wanted: Select[Any], values: Columns) -> Sequence[ColonyRecord]:
        colonies = await rows_of(self._session, ColonyRow, wanted, values)
        if not colonies:
            return ()
        logs = await self._logs([row.id for row in colonies])
        return [colony_from(row, logs[row.id]) for row in colonies]

    async def _logs(self, colony_ids: Collection[int]) -> Mapping[int, Sequence[LogRow]]:
        """The newest entries of each duty, oldest first."""
        logs: dict[int, list[LogRow]] = defaultdict(list)
        for entry in await rows_of(self._session, LogRow, _NEWEST, {"ids": list(colony_ids)}):
            logs[entry.colony_id].append(entry)
        return logs


def _changed(record: ColonyRecord, columns: Columns) -> Columns:
    """What changes, and which row: only the version that was read."""
    return {"row_id": record.id, "read_version": record.version, **columns, "version": record.version + 1}


def _by_name(records: Iterable[ColonyRecord]) -> Sequence[ColonyRecord]:
    return sorted(records, key=lambda record: (record.keeper_id, record.colony.name.casefold(), record.id))


def _newest(colony_id: ColonyId, day: date, duty: Duty) -> ScalarSelect[int | None]:
    same = (LogRow.colony_id == colony_id, LogRow.day == day, LogRow.duty == duty, LogRow.outcome.not_in(ASIDE))
    return select(func.max(LogRow.id)).where(*same).scalar_subquery()
