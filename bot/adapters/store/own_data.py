"""Everything of one keeper out of every table, read in one transaction, and a log put back as it was."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncEngine, AsyncSession

from bot.adapters.store.mapping import colony_from, delivery_from, entry_columns, entry_from, occurrence_from
from bot.adapters.store.repositories.cautions_shown import SqlCautionsShown
from bot.adapters.store.repositories.keepers import SqlKeepers
from bot.adapters.store.season_mapping import line_from
from bot.adapters.store.season_tables import NoticeRow, SeasonCountedRow, SeasonLogRow, SeasonMemberRow
from bot.adapters.store.tables import ColonyRow, DeliveryLineRow, DeliveryRow, LogRow, OccurrenceRow
from bot.adapters.store.unit_of_work import SqlUnitOfWork
from bot.services.own_records import Counted, LoggedEntry, OwnColony, OwnData, OwnDataUnitMaker, OwnRecords
from bot.services.ports import Zones
from bot.services.records import ColonyId, Delivery, KeeperId
from bot.services.season_records import Consent, GuildId


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
        return OwnRecords(
            keeper=keeper,
            colonies=await self._colonies(keeper_id),
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
        return tuple(OwnColony(colony_from(row, ()), tuple(logs[row.id])) for row in rows)

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
        return tuple(
            Consent(
                guild_id=GuildId(row.guild_id),
                keeper_id=keeper_id,
                counted=row.counted,
                helped=row.helped,
                since=row.since,
            )
            for row in rows
        )

    async def _counted(self, keeper_id: KeeperId) -> tuple[Counted, ...]:
        mine = select(SeasonCountedRow).where(SeasonCountedRow.keeper_id == keeper_id)
        order = (SeasonCountedRow.guild_id, SeasonCountedRow.year, SeasonCountedRow.half, SeasonCountedRow.dormancy)
        rows = await self._session.scalars(mine.order_by(*order))
        return tuple(Counted(row.guild_id, row.half.value, row.dormancy.value, row.year) for row in rows)

    async def _approved(self, keeper_id: KeeperId) -> tuple[int, ...]:
        """Approvals stand in a document, which both databases search differently; notices are few."""
        rows = await self._session.execute(select(NoticeRow.id, NoticeRow.approved_by).order_by(NoticeRow.id))
        return tuple(number for number, approved in rows if keeper_id in approved)


class SqlOwnDataUnit(SqlUnitOfWork):
    """Fulfils `own_records.OwnDataUnit`."""

    def __init__(self, engine: AsyncEngine, zones: Zones) -> None:
        super().__init__(engine, zones)
        self.own_data: OwnData = SqlOwnData(self._session, zones)


def own_data_unit_maker(engine: AsyncEngine, zones: Zones) -> OwnDataUnitMaker:
    """What the use cases around a keeper's own data are given."""
    return lambda: SqlOwnDataUnit(engine, zones)
