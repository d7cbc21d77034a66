"""Everything of one keeper out of every table, read in one transaction, and a log put back as it was.

Tables without a mapping here are read by their columns, so that a new one is in every export from its first day: rows
that name the keeper or one of their colonies. Other people in such rows are shown as “another member”.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from sqlalchemy import Table, false, insert, or_, select
from sqlalchemy.ext.asyncio import AsyncEngine, AsyncSession

from bot.adapters.store.mapping import colony_from, delivery_from, entry_columns, entry_from, occurrence_from
from bot.adapters.store.reading_tables import LoggerSeriesRow
from bot.adapters.store.repositories.cautions_shown import SqlCautionsShown
from bot.adapters.store.repositories.cultures import SqlCultures
from bot.adapters.store.repositories.keepers import SqlKeepers
from bot.adapters.store.repositories.readings import stored_series
from bot.adapters.store.season_mapping import consent_from, line_from
from bot.adapters.store.season_tables import NoticeRow, SeasonCountedRow, SeasonLogRow, SeasonMemberRow
from bot.adapters.store.tables import Base, ColonyRow, DeliveryLineRow, DeliveryRow, LogRow, OccurrenceRow
from bot.adapters.store.unit_of_work import SqlUnitOfWork
from bot.services.logger_ports import StoredSeries
from bot.services.own_records import Counted, LoggedEntry, OwnColony, OwnData, OwnDataUnitMaker, OwnRecords, Row
from bot.services.ports import Zones
from bot.services.records import ColonyId, Delivery, KeeperId
from bot.services.season_records import Consent

MAPPED = frozenset(
    {"keeper", "place", "colony", "log_entry", "occurrence", "delivery", "delivery_line", "caution_shown"}
    | {"culture", "culture_entry", "logger_series"}
    | {"season_member", "season_counted", "season_log", "season_notice"}
)
IMPERSONAL = frozenset({"mark", "season", "season_group", "answer_count"})
"""Tables that hold nothing of any one keeper."""
PEOPLE = ("keeper_id", "sitter_id", "to_id")
"""Columns that name a member, wherever they stand."""


def further_tables() -> tuple[Table, ...]:
    """Tables that are read by their columns."""
    return tuple(table for table in Base.metadata.sorted_tables if table.name not in MAPPED | IMPERSONAL)


class SqlOwnData:
    """Fulfils `own_records.OwnData`."""

    def __init__(self, session: AsyncSession, zones: Zones) -> None:
        self._session = session
        self._zones = zones

    async def everything(self, keeper_id: KeeperId) -> OwnRecords | None:
        """All of it; `None` for a keeper who never set anything up."""
        keeper = await SqlKeepers(self._session, self._zones).get(keeper_id)
        if keeper is None:
            return None
        mine = select(OccurrenceRow).where(OccurrenceRow.keeper_id == keeper_id)
        occurrences = await self._session.scalars(mine.order_by(OccurrenceRow.day, OccurrenceRow.id))
        colonies = await self._colonies(keeper_id)
        return OwnRecords(
            keeper=keeper,
            colonies=colonies,
            cultures=tuple(await SqlCultures(self._session).of(keeper_id)),
            occurrences=tuple(occurrence_from(row) for row in occurrences),
            deliveries=await self._deliveries(keeper_id),
            cautions_shown=await SqlCautionsShown(self._session).of(keeper_id),
            consents=await self._consents(keeper_id),
            counted=await self._counted(keeper_id),
            acts=tuple(
                line_from(row)
                for row in await self._session.scalars(
                    select(SeasonLogRow).where(SeasonLogRow.actor == keeper_id).order_by(SeasonLogRow.id)
                )
            ),
            approved=await self._approved(keeper_id),
            further=await self._further(keeper_id, {one.record.id for one in colonies}),
        )

    async def add_log(self, colony_id: ColonyId, entries: Sequence[LoggedEntry]) -> None:
        """Append entries with the moments they were written down."""
        rows = [{**entry_columns(colony_id, one.entry), "recorded_at": one.recorded_at} for one in entries]
        if rows:
            await self._session.execute(insert(LogRow), rows)

    async def _colonies(self, keeper_id: KeeperId) -> tuple[OwnColony, ...]:
        rows = (
            await self._session.scalars(
                select(ColonyRow).where(ColonyRow.keeper_id == keeper_id).order_by(ColonyRow.id)
            )
        ).all()
        entries = select(LogRow).where(LogRow.colony_id.in_([row.id for row in rows]))
        logs: dict[int, list[LoggedEntry]] = defaultdict(list)
        for entry in await self._session.scalars(entries.order_by(LogRow.day, LogRow.id)):
            logs[entry.colony_id].append(LoggedEntry(entry_from(entry), entry.recorded_at))
        measured = await self._measured(keeper_id)
        return tuple(OwnColony(colony_from(row, ()), tuple(logs[row.id]), tuple(measured[row.id])) for row in rows)

    async def _measured(self, keeper_id: KeeperId) -> Mapping[int, Sequence[StoredSeries]]:
        """What a keeper's loggers measured, by colony."""
        mine = select(LoggerSeriesRow).where(LoggerSeriesRow.keeper_id == keeper_id).order_by(LoggerSeriesRow.id)
        found: dict[int, list[StoredSeries]] = defaultdict(list)
        for row in await self._session.scalars(mine):
            found[row.colony_id].append(stored_series(row))
        return found

    async def _deliveries(self, keeper_id: KeeperId) -> tuple[Delivery, ...]:
        rows = (
            await self._session.scalars(
                select(DeliveryRow).where(DeliveryRow.keeper_id == keeper_id).order_by(DeliveryRow.id)
            )
        ).all()
        lines = select(DeliveryLineRow).where(DeliveryLineRow.delivery_id.in_([row.id for row in rows]))
        held: dict[int, list[int]] = defaultdict(list)
        for line in await self._session.scalars(lines.order_by(DeliveryLineRow.position)):
            held[line.delivery_id].append(line.occurrence_id)
        return tuple(delivery_from(row, held[row.id]) for row in rows)

    async def _consents(self, keeper_id: KeeperId) -> tuple[Consent, ...]:
        rows = await self._session.scalars(
            select(SeasonMemberRow).where(SeasonMemberRow.keeper_id == keeper_id).order_by(SeasonMemberRow.guild_id)
        )
        return tuple(consent_from(row) for row in rows)

    async def _counted(self, keeper_id: KeeperId) -> tuple[Counted, ...]:
        mine = select(SeasonCountedRow).where(SeasonCountedRow.keeper_id == keeper_id)
        order = (SeasonCountedRow.guild_id, SeasonCountedRow.year, SeasonCountedRow.half, SeasonCountedRow.dormancy)
        rows = await self._session.scalars(mine.order_by(*order))
        return tuple(Counted(row.guild_id, row.half.value, row.dormancy.value, row.year) for row in rows)

    async def _approved(self, keeper_id: KeeperId) -> tuple[int, ...]:
        """Notices approved or reworded. The list is a document, searched differently by both; notices are few."""
        wanted = select(NoticeRow.id, NoticeRow.approved_by, NoticeRow.amended_by).order_by(NoticeRow.id)
        rows = await self._session.execute(wanted)
        return tuple(number for number, approved, proposer in rows if keeper_id in {*approved, proposer})

    async def _further(self, keeper_id: KeeperId, colonies: Collection[ColonyId]) -> Mapping[str, Sequence[Row]]:
        """Rows of tables without a mapping, by table."""
        found: dict[str, Sequence[Row]] = {}
        for table in further_tables():
            mine = [table.c[name] == keeper_id for name in PEOPLE if name in table.c]
            if not mine and "colony_id" in table.c:
                mine = [table.c.colony_id.in_(colonies)]
            rows = await self._session.execute(select(table).where(or_(false(), *mine)))
            found[table.name] = [_discreet(dict(row), keeper_id, colonies) for row in rows.mappings()]
        return {name: rows for name, rows in found.items() if rows}


def _discreet(row: dict[str, object], keeper_id: KeeperId, colonies: Collection[ColonyId]) -> Row:
    """A row that tells of nobody else."""
    for name in PEOPLE:
        if name in row:
            row[name] = "you" if row[name] == keeper_id else "another member"
    if row.get("colony_id") is not None and row["colony_id"] not in colonies:
        row["colony_id"] = "a colony of another member"
    return row


class SqlOwnDataUnit(SqlUnitOfWork):
    """Fulfils `own_records.OwnDataUnit`."""

    def __init__(self, engine: AsyncEngine, zones: Zones) -> None:
        super().__init__(engine, zones)
        self.own_data: OwnData = SqlOwnData(self._session, zones)


def own_data_unit_maker(engine: AsyncEngine, zones: Zones) -> OwnDataUnitMaker:
    """What the use cases around a keeper's own data are given."""
    return lambda: SqlOwnDataUnit(engine, zones)
