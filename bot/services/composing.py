"""What goes into one message: everything due, on a late day also what is due later that day, with its cautions."""

from __future__ import annotations

import hashlib
from base64 import b32encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from bot.care.caution_limits import select
from bot.care.duty import Urgency
from bot.care.handbook import Handbook
from bot.care.localtime import local_day, moment
from bot.services.access import as_read_by, names_for
from bot.services.ports import Digest, DigestLine, UnitOfWork
from bot.services.records import (
    Delivery,
    DeliveryId,
    KeeperId,
    KeeperRecord,
    OccurrenceState,
    StoredOccurrence,
    Subject,
)
from bot.services.silence import ASK_AFTER
from bot.services.sitting_records import Note

LATE_AFTER = timedelta(hours=3)
"""A digest this late says that the bot was away."""
KIND_QUESTION = (
    "I have not heard from you for a while. From now on I only remind you of water and the winter rest. "
    "Press “I am back” or answer any line, and everything comes back."
)


@dataclass(frozen=True, slots=True)
class Letter:
    """A delivery that was written down, and the message that stands for it."""

    keeper: KeeperRecord
    delivery: Delivery
    digest: Digest


def told_now(keeper: KeeperRecord, now: datetime) -> bool:
    """Whether anything is told now: nothing in quiet hours, and nothing to somebody who wants no messages."""
    return keeper.reminders_on and keeper.settings.quiet.next_allowed(now, keeper.settings.zone) <= now


async def due_rows(
    work: UnitOfWork, keepers: Sequence[KeeperRecord], now: datetime
) -> Mapping[KeeperId, Sequence[StoredOccurrence]]:
    """What to send now, for those who have something; after a missed day all of today too: it stays one digest."""
    zones = {keeper.id: keeper.settings.zone for keeper in keepers if told_now(keeper, now)}
    if not zones:
        return {}
    midnights = {
        keeper_id: moment(local_day(now, zone) + timedelta(days=1), time(0), zone) for keeper_id, zone in zones.items()
    }
    found: dict[KeeperId, list[StoredOccurrence]] = {}
    for row in await work.occurrences.due(sorted(zones), max(midnights.values())):
        if row.occurrence.due_at < midnights[row.reader]:
            found.setdefault(row.reader, []).append(row)
    for keeper_id, rows in found.items():
        zone = zones[keeper_id]
        if all(local_day(row.occurrence.due_at, zone) == local_day(now, zone) for row in rows):
            found[keeper_id] = [row for row in rows if row.occurrence.due_at <= now]
    return {keeper_id: rows for keeper_id, rows in found.items() if rows}


async def due_notes(
    work: UnitOfWork, keepers: Sequence[KeeperRecord], now: datetime
) -> Mapping[KeeperId, Sequence[Note]]:
    """What else is told now, for those who have something."""
    told = sorted(keeper.id for keeper in keepers if told_now(keeper, now))
    found: dict[KeeperId, list[Note]] = {}
    for note in await work.notes.due(told, now) if told else ():
        found.setdefault(note.keeper_id, []).append(note)
    return found


async def waiting_rows(work: UnitOfWork, delivery: Delivery) -> Sequence[StoredOccurrence]:
    """Rows of a delivery that still wait in it: neither answered, moved, re-planned nor handed back since."""
    rows = {row.id: row for row in await work.occurrences.get_all(delivery.occurrence_ids)}
    held = [rows[key] for key in delivery.occurrence_ids if key in rows]
    return [row for row in held if row.state is OccurrenceState.PLANNED and row.delivery_id == delivery.id]


async def names_in(
    work: UnitOfWork, told: Mapping[KeeperId, Sequence[StoredOccurrence]], now: datetime
) -> Mapping[KeeperId, Mapping[Subject, str]]:
    """Names of the colonies and cultures that messages are about, as each reader may see them."""
    names = {keeper_id: dict(mine) for keeper_id, mine in (await work.colonies.names_of(sorted(told))).items()}
    for keeper_id, theirs in (await work.cultures.names_of(sorted(told))).items():
        names.setdefault(keeper_id, {}).update(theirs)
    for reader, rows in told.items():
        if any(row.keeper_id != reader for row in rows):
            names[reader] = await names_for(work, reader, now)
    return names


def new_delivery(keeper: KeeperRecord, rows: Sequence[StoredOccurrence], now: datetime, attempts: int = 1) -> Delivery:
    """A delivery with its first try, or the next after those of one that never arrived; the store gives the id."""
    return Delivery(
        id=DeliveryId(0),
        keeper_id=keeper.id,
        nonce=nonce_for(keeper, rows, now),
        occurrence_ids=tuple(row.id for row in rows),
        attempts=attempts,
        created_at=now,
        first_try_at=now,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What goes into a message, and what its reader knows already."""

    rows: Sequence[StoredOccurrence] = ()
    notes: Sequence[Note] = ()
    names: Mapping[Subject, str] = field(default_factory=dict)
    shown: Mapping[str, date] = field(default_factory=dict)
    """Cautions with the local day on which they were last shown."""


def digest_of(handbook: Handbook, keeper: KeeperRecord, delivery: Delivery, content: Content, now: datetime) -> Digest:
    """The message of a delivery: lines by urgency, cautions that may be shown again by now."""
    today = local_day(now, keeper.settings.zone)
    rows, names = content.rows, content.names
    words = [as_read_by(row, keeper.id, handbook, keeper.settings.units) for row in rows]
    ids = [name for row in rows for name in row.occurrence.cautions]
    return Digest(
        delivery_id=delivery.id,
        keeper_id=keeper.id,
        nonce=delivery.nonce,
        lines=tuple(_line(row, names.get(row.subject, "?"), today) for row in sorted(words, key=_importance)),
        cautions=select(ids, handbook, content.shown, today, keeper.mute_notes),
        units=keeper.settings.units,
        catch_up=any(now - row.occurrence.due_at > LATE_AFTER for row in rows),
        notice=KIND_QUESTION if rows and keeper.unanswered == ASK_AFTER else None,
        notes=tuple(content.notes),
        resting=keeper.unanswered >= ASK_AFTER,
    )


def nonce_for(keeper: KeeperRecord, rows: Sequence[StoredOccurrence], now: datetime) -> str:
    """A key of at most 25 characters, the same for all tries of one delivery and different for any other."""
    text = f"{keeper.id}:{now.isoformat()}:{','.join(str(row.id) for row in rows)}"
    return b32encode(hashlib.sha256(text.encode()).digest()).decode()[:24]


def _line(row: StoredOccurrence, colony_name: str, today: date) -> DigestLine:
    found = row.occurrence
    return DigestLine(
        occurrence_id=row.id,
        colony_name=colony_name,
        duty=found.duty,
        day=found.day,
        reason=found.reason,
        urgent=found.urgency is Urgency.URGENT,
        days_late=max(0, (today - found.day).days),
        facts=found.facts,
    )


def _importance(row: StoredOccurrence) -> tuple[int, date, int, int, str]:
    """Urgent first, then the longest overdue; one colony's duties stay together."""
    found = row.occurrence
    return (-found.urgency, found.day, row.colony_id or 0, row.culture_id or 0, found.duty)
