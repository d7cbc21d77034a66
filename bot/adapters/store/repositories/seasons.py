"""Communities, their notices, what members agreed to, and the log."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import ColumnElement, Select, and_, delete, func, insert, or_, select, true, update
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import InstrumentedAttribute

from bot.adapters.store.season_mapping import (
    consent_from,
    figures_document,
    figures_from,
    line_columns,
    line_from,
    notice_columns,
    notice_from,
    setup_columns,
    setup_from,
)
from bot.adapters.store.season_tables import (
    NoticeRow,
    SeasonCountedRow,
    SeasonGroupRow,
    SeasonLogRow,
    SeasonMemberRow,
    SeasonRow,
)
from bot.adapters.store.tables import KeeperRow
from bot.adapters.store.upsert import insert_into, put
from bot.care.season.community import Half, SeasonStage
from bot.care.season.figures import GroupKey, GroupState
from bot.services.records import KeeperId
from bot.services.season_records import Consent, GuildId, LogLine, Notice, NoticeId, NoticeState, SeasonSetup

_AT_A_TIME = 500
"""Notices read together where all of them must be looked through."""
_UNIQUE = ("guild_id", "year", "stage", "half")


class SqlSeasons:
    """Fulfils `season_ports.Seasons`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def setup(self, guild_id: GuildId) -> SeasonSetup | None:
        """How a community wants its season led; `None` when it never said."""
        row = (await self._session.scalars(select(SeasonRow).where(SeasonRow.guild_id == guild_id))).first()
        return None if row is None else setup_from(row)

    async def save_setup(self, setup: SeasonSetup) -> None:
        """Insert or replace."""
        await put(self._session, SeasonRow, setup_columns(setup), key=["guild_id"])

    async def guilds_after(self, guild_id: GuildId, limit: int) -> Sequence[SeasonSetup]:
        """Communities above an id, ascending."""
        wanted = select(SeasonRow).where(SeasonRow.guild_id > guild_id).order_by(SeasonRow.guild_id).limit(limit)
        return [setup_from(row) for row in await self._session.scalars(wanted)]

    async def consent(self, guild_id: GuildId, keeper_id: KeeperId) -> Consent:
        """What a member agreed to; without a record, nothing."""
        wanted = select(SeasonMemberRow).where(*_member(guild_id, keeper_id))
        row = (await self._session.scalars(wanted)).first()
        if row is None:
            return Consent(guild_id=guild_id, keeper_id=keeper_id)
        return consent_from(row)

    async def save_consent(self, consent: Consent) -> None:
        """Insert or replace; the member must be a known keeper."""
        row = {
            "guild_id": consent.guild_id,
            "keeper_id": consent.keeper_id,
            "counted": consent.counted,
            "helped": consent.helped,
            "threads": consent.threads,
            "since": consent.since,
        }
        await put(self._session, SeasonMemberRow, row, key=["guild_id", "keeper_id"])

    async def counted_after(self, guild_id: GuildId, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """Members above an id who agreed to be counted, ascending."""
        wanted = _agreed(guild_id, SeasonMemberRow.counted).where(SeasonMemberRow.keeper_id > keeper_id).limit(limit)
        return [KeeperId(found) for found in await self._session.scalars(wanted)]

    async def helped(self, guild_id: GuildId) -> Sequence[KeeperId]:
        """Members who agreed to be helped, ascending."""
        return [KeeperId(found) for found in await self._session.scalars(_agreed(guild_id, SeasonMemberRow.helped))]

    async def groups(self, guild_id: GuildId) -> Mapping[GroupKey, GroupState]:
        """What is shown of each group, and of whom it was made."""
        made_of: dict[GroupKey, dict[str, str]] = defaultdict(dict)
        for counted in await self._session.scalars(
            select(SeasonCountedRow).where(SeasonCountedRow.guild_id == guild_id)
        ):
            key = GroupKey(counted.half, counted.dormancy, counted.year)
            made_of[key][str(counted.keeper_id)] = counted.digest
        rows = await self._session.scalars(select(SeasonGroupRow).where(SeasonGroupRow.guild_id == guild_id))
        shown = {(key := GroupKey(row.half, row.dormancy, row.year)): figures_from(key, row.shown) for row in rows}
        return {key: GroupState(shown=shown.get(key), made_of=made_of.get(key, {})) for key in {*shown, *made_of}}

    async def save_group(self, guild_id: GuildId, key: GroupKey, state: GroupState) -> None:
        """Insert or replace; members who are erased meanwhile are left out."""
        place = {"guild_id": guild_id, "half": key.half, "dormancy": key.dormancy, "year": key.year}
        await put(self._session, SeasonGroupRow, {**place, "shown": figures_document(state.shown)}, key=list(place))
        own = [getattr(SeasonCountedRow, name) == value for name, value in place.items()]
        await self._session.execute(delete(SeasonCountedRow).where(*own))
        ids = [int(member) for member in state.made_of]
        known = set((await self._session.scalars(select(KeeperRow.id).where(KeeperRow.id.in_(ids)))).all())
        rows = [
            {**place, "keeper_id": int(member), "digest": digest}
            for member, digest in state.made_of.items()
            if int(member) in known
        ]
        if rows:
            await self._session.execute(insert(SeasonCountedRow), rows)

    async def drop_groups(self, guild_id: GuildId, before: int | None = None) -> None:
        """Forget the figures of a community: all of them, or those of seasons before a year."""
        for table in (SeasonCountedRow, SeasonGroupRow):
            old = true() if before is None else table.year < before
            await self._session.execute(delete(table).where(table.guild_id == guild_id, old))

    async def add(self, notice: Notice) -> Notice | None:
        """Store a new notice, whose id is given here; `None` when its community, season, stage and half have one."""
        new = insert_into(self._session, NoticeRow).values(notice_columns(notice))
        made = new.on_conflict_do_nothing(index_elements=list(_UNIQUE)).returning(NoticeRow.id)
        new_id = await self._session.scalar(made)
        return None if new_id is None else replace(notice, id=NoticeId(new_id))

    async def notice(self, notice_id: NoticeId) -> Notice | None:
        """One notice; inside this unit of work nobody else changes it."""
        wanted = select(NoticeRow).where(NoticeRow.id == notice_id).with_for_update()
        row = (await self._session.scalars(wanted)).first()
        return None if row is None else notice_from(row)

    async def find(self, guild_id: GuildId, year: int, stage: SeasonStage, half: Half) -> Notice | None:
        """The notice of a stage."""
        wanted = select(NoticeRow).where(
            NoticeRow.guild_id == guild_id, NoticeRow.year == year, NoticeRow.stage == stage, NoticeRow.half == half
        )
        row = (await self._session.scalars(wanted)).first()
        return None if row is None else notice_from(row)

    async def notices(self, guild_id: GuildId, states: Collection[NoticeState]) -> Sequence[Notice]:
        """Notices in some states, by the moment they are due."""
        wanted = select(NoticeRow).where(NoticeRow.guild_id == guild_id, NoticeRow.state.in_(states))
        return await self._notices(wanted)

    async def save(self, notice: Notice) -> None:
        """Update everything but what makes it unique."""
        row = {name: value for name, value in notice_columns(notice).items() if name not in _UNIQUE}
        await self._session.execute(update(NoticeRow).where(NoticeRow.id == notice.id).values(**row))

    async def due(self, now: datetime, limit: int) -> Sequence[Notice]:
        """Notices to post, earliest first; on PostgreSQL rows that another process holds are stepped over."""
        free = or_(NoticeRow.lease_until.is_(None), NoticeRow.lease_until <= now)
        wanted = select(NoticeRow).where(_ON_ITS_WAY, NoticeRow.post_at <= now, free).limit(limit)
        return await self._notices(wanted.with_for_update(skip_locked=True))

    async def next_due(self) -> datetime | None:
        """The earliest moment at which one must be posted or tried again."""
        waits = and_(NoticeRow.lease_until.is_not(None), NoticeRow.lease_until > NoticeRow.post_at)
        leased = await self._session.scalar(select(func.min(NoticeRow.lease_until)).where(_ON_ITS_WAY, waits))
        planned = await self._session.scalar(
            select(func.min(NoticeRow.post_at)).where(_ON_ITS_WAY, or_(~waits, NoticeRow.lease_until.is_(None)))
        )
        return min((moment for moment in (leased, planned) if moment is not None), default=None)

    async def log(self, line: LogLine) -> None:
        """Append to the log."""
        await self._session.execute(insert(SeasonLogRow).values(line_columns(line)))

    async def log_of(self, guild_id: GuildId, limit: int) -> Sequence[LogLine]:
        """Newest lines first."""
        wanted = select(SeasonLogRow).where(SeasonLogRow.guild_id == guild_id).order_by(SeasonLogRow.id.desc())
        return [line_from(row) for row in await self._session.scalars(wanted.limit(limit))]

    async def forget_person(self, person: int) -> None:
        """Take a person's id out of logs and approvals; goes along with erasing a keeper."""
        await self._session.execute(update(SeasonLogRow).where(SeasonLogRow.actor == person).values(actor=None))
        last = NoticeId(0)
        while True:
            after = select(NoticeRow).where(NoticeRow.id > last).order_by(NoticeRow.id).limit(_AT_A_TIME)
            notices = [notice_from(row) for row in await self._session.scalars(after)]
            for notice in notices:
                if person in {*notice.approved_by, notice.amended_by}:
                    kept = tuple(0 if actor == person else actor for actor in notice.approved_by)
                    proposer = 0 if notice.amended_by == person else notice.amended_by
                    await self.save(replace(notice, approved_by=kept, amended_by=proposer))
            if len(notices) < _AT_A_TIME:
                return
            last = notices[-1].id

    async def forget_log_before(self, moment: datetime) -> None:
        """Remove old lines of all logs."""
        await self._session.execute(delete(SeasonLogRow).where(SeasonLogRow.at < moment))

    async def _notices(self, wanted: Select[NoticeRow]) -> list[Notice]:
        rows = await self._session.scalars(wanted.order_by(NoticeRow.post_at, NoticeRow.id))
        return [notice_from(row) for row in rows]


_ON_ITS_WAY: ColumnElement[bool] = NoticeRow.state.in_([NoticeState.SCHEDULED, NoticeState.POSTING])


def _member(guild_id: GuildId, keeper_id: KeeperId) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    return SeasonMemberRow.guild_id == guild_id, SeasonMemberRow.keeper_id == keeper_id


def _agreed(guild_id: GuildId, to: InstrumentedAttribute[bool]) -> Select[int]:
    wanted = select(SeasonMemberRow.keeper_id).where(SeasonMemberRow.guild_id == guild_id, to)
    return wanted.order_by(SeasonMemberRow.keeper_id)
