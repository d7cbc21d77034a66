"""What one member's answer tells another: written down with the answer, and delivered like any reminder.

It comes with the reader's digest of the day where that lies ahead, else at the next allowed moment, so that it never
takes the place of a digest.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time
from typing import Any

from bot.care.agenda import due_moment
from bot.care.duty import Urgency
from bot.care.localtime import local_day, moment
from bot.services.ports import UnitOfWork
from bot.services.records import KeeperId, KeeperRecord
from bot.services.sitting_records import Note, NoteId, NoteKind


async def notify(
    work: UnitOfWork, reader: KeeperRecord, kind: NoteKind, who: KeeperId, about: Mapping[str, Any], now: datetime
) -> None:
    """Tell a keeper what somebody else answered; a re-plan of the reader in the same unit comes afterwards."""
    settings = reader.settings
    today = local_day(now, settings.zone)
    had = await work.deliveries.last_digests([reader.id], moment(today, time(0), settings.zone))
    at = now if had else max(now, due_moment(today, Urgency.ROUTINE, settings))
    told = {"member": int(who), **about}
    await work.notes.add(Note(id=NoteId(0), keeper_id=reader.id, kind=kind, due_at=at, about=told))
    await work.keepers.wake_by(reader.id, settings.quiet.next_allowed(at, settings.zone))
