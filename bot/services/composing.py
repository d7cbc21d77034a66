"""What goes into one message: everything due, on a late day also what is due later that day, with its cautions."""

from __future__ import annotations

import hashlib
from base64 import b32encode
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from bot.care.caution_limits import select
from bot.care.duty import Urgency
from bot.care.handbook import Handbook
from bot.care.localtime import local_day, moment
from bot.services.access import as_read_by, names_for
from bot.services.ports import Digest, DigestLine, UnitOfWork
from bot.services.records import Delivery, DeliveryId, KeeperRecord, OccurrenceState, StoredOccurrence
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


async def due_rows(work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> Sequence[StoredOccurrence]:
    """What to send now: nothing in quiet hours; after a missed day all of today too, so that it stays one digest."""
    zone = keeper.settings.zone
    if not keeper.reminders_on or keeper.settings.quiet.next_allowed(now, zone) > now:
        return ()
    due = await work.occurrences.due(keeper.id, now)
    today = local_day(now, zone)
    if any(local_day(row.occurrence.due_at, zone) < today for row in due):
        midnight = moment(today + timedelta(days=1), time(0), zone)
        return await work.occurrences.due(keeper.id, midnight - timedelta(seconds=1))
    return due


async def due_notes(work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> Sequence[Note]:
    """What else is told now: nothing in quiet hours, and nothing to somebody who wants no messages."""
    if not keeper.reminders_on or keeper.settings.quiet.next_allowed(now, keeper.settings.zone) > now:
        return ()
    return await work.notes.due(keeper.id, now)


async def waiting_rows(work: UnitOfWork, delivery: Delivery) -> Sequence[StoredOccurrence]:
    """Rows of a delivery that still wait in it: neither answered, moved, re-planned nor handed back since."""
    rows = [row for key in delivery.occurrence_ids if (row := await work.occurrences.get(key)) is not None]
    return [row for row in rows if row.state is OccurrenceState.PLANNED and row.delivery_id == delivery.id]


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


async def digest_of(
    work: UnitOfWork,
    handbook: Handbook,
    keeper: KeeperRecord,
    delivery: Delivery,
    rows: Sequence[StoredOccurrence],
    now: datetime,
) -> Digest:
    """The message of a delivery: lines by urgency, cautions that may be shown again by now."""
    today = local_day(now, keeper.settings.zone)
    names = await names_for(work, keeper.id, now)
    words = [as_read_by(row, keeper.id, handbook, keeper.settings.units) for row in rows]
    shown = await work.cautions_shown.of(keeper.id)
    ids = [name for row in rows for name in row.occurrence.cautions]
    return Digest(
        delivery_id=delivery.id,
        keeper_id=keeper.id,
        nonce=delivery.nonce,
        lines=tuple(_line(row, names.get(row.subject, "?"), today) for row in sorted(words, key=_importance)),
        cautions=select(ids, handbook, shown, today, keeper.mute_notes),
        units=keeper.settings.units,
        catch_up=any(now - row.occurrence.due_at > LATE_AFTER for row in rows),
        notice=KIND_QUESTION if rows and keeper.unanswered == ASK_AFTER else None,
        notes=tuple(await work.notes.of_delivery(delivery.id)),
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
