"""Small records for tests of the store, each with `**changes` on top; the figures mean nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.tables import Base
from bot.adapters.zones import TzDatabase
from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty, Input, Occurrence, Outcome, Why
from bot.care.evidence import JUDGEMENT
from bot.care.localtime import QuietHours
from bot.care.place import Keeper
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    Delivery,
    DeliveryId,
    KeeperId,
    KeeperRecord,
    NewOccurrence,
    OccurrenceId,
    StoredOccurrence,
)
from bot.services.season_records import GuildId
from bot.services.sitting_records import Note, NoteId, NoteKind, Offer, OfferId, Sitting, SittingId
from bot.services.thread_records import ThreadReminder

ZONES = TzDatabase()
NOW = datetime(2027, 3, 27, 17, 0, tzinfo=UTC)
DAY = date(2027, 3, 27)
MINUTE = timedelta(minutes=1)
ANNA = KeeperId(2**60 + 1)
"""As large as the platform's ids get: more than a float or 32 bits hold."""
BERT = KeeperId(2**60 + 2)


def settings(zone_name: str = "Europe/Berlin", **changes: Any) -> Keeper:
    """Settings of a keeper in a zone."""
    base = Keeper(
        zone_name=zone_name,
        zone=ZONES.get(zone_name),
        latitude=52.5,
        country="DE",
        digest_at=time(18, 30),
        quiet=QuietHours(time(23, 0), time(7, 15)),
    )
    return replace(base, **changes)


def keeper(keeper_id: KeeperId = ANNA, **changes: Any) -> KeeperRecord:
    """A keeper with a single place."""
    return replace(KeeperRecord(id=keeper_id, settings=settings(), created_at=NOW), **changes)


def colony(name: str = "Garden", *, log: tuple[LogEntry, ...] = (), **changes: Any) -> ColonyRecord:
    """A colony that is not stored yet."""
    kept = Colony(key="", name=name, species="Lasius niger", workers=25, log=log)
    return replace(ColonyRecord(id=ColonyId(0), keeper_id=ANNA, colony=kept, created_at=NOW), **changes)


def entry(day: date = DAY, duty: Duty = Duty.WATER, outcome: Outcome = Outcome.DONE, **changes: Any) -> LogEntry:
    """A log entry."""
    return replace(LogEntry(day=day, duty=duty, outcome=outcome), **changes)


def occurrence(duty: Duty = Duty.WATER, day: date = DAY, due_at: datetime = NOW, **changes: Any) -> Occurrence:
    """An occurrence with an explanation and figures."""
    base = Occurrence(
        colony="",
        duty=duty,
        day=day,
        due_at=due_at,
        earliest=day - timedelta(days=1),
        latest=day + timedelta(days=1),
        reason="Side A is nearly dry.",
        why=Why(rule="drying", inputs=(Input("room", "22 °C", defaulted=True),), evidence=JUDGEMENT),
        facts={"interval_days": 4.5, "side": "A"},
        cautions=("mould", "water-first"),
    )
    return replace(base, **changes)


def planned(record: ColonyRecord, *args: Any, **changes: Any) -> NewOccurrence:
    """An occurrence of a stored colony, to be planned."""
    return NewOccurrence(
        colony_id=record.id,
        keeper_id=record.keeper_id,
        occurrence=occurrence(*args, colony=record.colony.key, **changes),
    )


async def plan_rows(work: UnitOfWork, new: Sequence[NewOccurrence]) -> Sequence[StoredOccurrence]:
    """Plans occurrences, and returns the open rows that now stand on their days, by due moment."""
    await work.occurrences.plan(new)
    wanted = {(each.subject, each.occurrence.duty, each.occurrence.day) for each in new}
    rows = await work.occurrences.open_of_all({each.subject for each in new})
    return [row for row in rows if (row.subject, row.occurrence.duty, row.occurrence.day) in wanted]


def delivery(*occurrence_ids: OccurrenceId, nonce: str = "A" * 24, **changes: Any) -> Delivery:
    """A delivery that is about to be sent to ANNA."""
    base = Delivery(id=DeliveryId(0), keeper_id=ANNA, nonce=nonce, occurrence_ids=occurrence_ids, created_at=NOW)
    return replace(base, **changes)


def sitting(*colony_ids: ColonyId, **changes: Any) -> Sitting:
    """BERT is asked to sit for ANNA, for a week from DAY."""
    base = Sitting(
        id=SittingId(0),
        keeper_id=ANNA,
        sitter_id=BERT,
        colony_ids=colony_ids,
        since=DAY,
        until=DAY + timedelta(days=7),
        asked_at=NOW,
    )
    return replace(base, **changes)


def offer(colony_id: ColonyId, **changes: Any) -> Offer:
    """ANNA offers a colony to BERT."""
    return replace(Offer(id=OfferId(0), colony_id=colony_id, keeper_id=ANNA, to_id=BERT, offered_at=NOW), **changes)


def note(**changes: Any) -> Note:
    """A note to ANNA."""
    about = {"sitter": BERT, "colonies": [{"name": "Garden"}]}
    return replace(Note(id=NoteId(0), keeper_id=ANNA, kind=NoteKind.REPORT, due_at=NOW, about=about), **changes)


def thread_reminder(**changes: Any) -> ThreadReminder:
    """A word to ANNA on its way in a thread."""
    usual = ThreadReminder(
        keeper_id=ANNA,
        guild_id=GuildId(77),
        channel_id=720,
        thread_id=8000,
        next_at=NOW,
        told_on=DAY,
        nonce="THREADNONCE",
        count=3,
        attempts=1,
        first_try_at=NOW,
    )
    return replace(usual, **changes)


async def settled(units: UnitOfWorkMaker, record: ColonyRecord | None = None, **changes: Any) -> ColonyRecord:
    """Store a keeper (ANNA unless the colony says otherwise) with one colony; returns the colony as stored."""
    wanted = record or colony()
    async with units() as work:
        await work.keepers.save(keeper(wanted.keeper_id, **changes))
        stored = await work.colonies.add(wanted.keeper_id, wanted)
        await work.commit()
    return stored


async def contents(engine: AsyncEngine) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, to compare two databases."""
    async with engine.begin() as connection:
        return {
            table.name: sorted((tuple(row) for row in await connection.execute(select(table))), key=repr)
            for table in Base.metadata.sorted_tables
        }
