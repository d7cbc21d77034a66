"""How sittings end: by their date, by the keeper's return, by either side, or when nothing is left to sit for.

The keeper gets a report with the next message, once. Answers after the last day are refused by date, whether or not
anybody has come to end the sitting; this only tells and tidies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from bot.care.agenda import due_moment
from bot.care.duty import Urgency
from bot.care.localtime import local_day, moment
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.readers import reachable, sat_for
from bot.services.records import ColonyRecord, KeeperId, KeeperRecord, OccurrenceState, StoredOccurrence
from bot.services.sitting_records import Note, NoteId, NoteKind, Sitting, SittingState
from bot.services.sitting_report import report_of

KEPT_FOR = timedelta(days=60)
"""How long a sitting that is over is remembered, so that a late answer gets its sentence (judgement)."""


async def settle_sittings(work: UnitOfWork, keeper_id: KeeperId, now: datetime) -> None:
    """At a look at somebody: end what is over, on either side, and tell keepers whose sitter cannot be reached."""
    for sitting in await work.sittings.open_of(keeper_id):
        owner = await work.keepers.peek(sitting.keeper_id)
        if owner is None:
            continue
        today = local_day(now, owner.settings.zone)
        if today >= sitting.until or not sitting.colony_ids:
            await end_sitting(work, owner, sitting, now)
        elif sitting.holds(today):
            await tell_if_unreachable(work, owner, sitting, now)


async def forget_ended(units: UnitOfWorkMaker, now: datetime) -> None:
    """Remove sittings that are over for so long that nobody answers them any more."""
    async with units() as work:
        await work.sittings.forget_ended(now - KEPT_FOR)
        await work.commit()


async def end_sitting(work: UnitOfWork, owner: KeeperRecord, sitting: Sitting, now: datetime) -> None:
    """End one; a question that was never answered is taken back. The caller re-plans the keeper."""
    today = local_day(now, owner.settings.zone)
    if sitting.state is not SittingState.ACCEPTED:
        await work.sittings.save(replace(sitting, state=SittingState.WITHDRAWN, ended_at=now))
        return
    if sitting.since < today or await _was_told(work, sitting, today):
        about = await report_of(work, sitting, min(today, sitting.until))
        await _note(work, owner, NoteKind.REPORT, about, now)
    await work.sittings.save(replace(sitting, state=SittingState.ENDED, ended_at=now))
    for colony_id in sitting.colony_ids:
        await _give_back(work, await work.occurrences.open_of(colony_id))
    for culture in await work.cultures.of(owner.id) if sitting.feeders else ():
        await _give_back(work, await work.occurrences.open_of_all([culture.subject]))
    await work.keepers.wake_by(owner.id, now)


async def _give_back(work: UnitOfWork, rows: Sequence[StoredOccurrence]) -> None:
    """Nothing more goes to the sitter, not even what is on its way; the keeper's next look tells it anew."""
    for row in rows:
        if row.recipient_id is not None and row.state is OccurrenceState.PLANNED:
            await work.occurrences.save(replace(row, delivery_id=None, recipient_id=None))
        elif row.recipient_id is not None:
            await work.occurrences.save(replace(row, state=OccurrenceState.SUPERSEDED, snoozed=False))


async def _was_told(work: UnitOfWork, sitting: Sitting, today: date) -> bool:
    """Whether a sitting that ends on its first day has anything to report."""
    if today < sitting.since:
        return False
    for colony_id in sitting.colony_ids:
        if any(row.answered_at for row in await work.occurrences.told_to(colony_id, sitting.sitter_id, sitting.since)):
            return True
    told = await work.occurrences.told_of_cultures(sitting.keeper_id, sitting.sitter_id, sitting.since)
    return any(row.answered_at for row in told)


async def tell_if_unreachable(work: UnitOfWork, owner: KeeperRecord, sitting: Sitting, now: datetime) -> None:
    """Say once that reminders come to the keeper again, and forget it when the sitter is back."""
    sitter = await work.keepers.peek(sitting.sitter_id)
    lost = sitter is None or not reachable(sitter)
    if lost == sitting.unreachable:
        return
    await work.sittings.save(replace(sitting, unreachable=lost))
    await work.keepers.wake_by(owner.id, now)
    if lost:
        names = [record.colony.name for record in await _colonies(work, sitting)]
        about = {"sitter": int(sitting.sitter_id), "colonies": names}
        await _note(work, owner, NoteKind.UNREACHABLE, about, now)


async def hand_back(work: UnitOfWork, planner: Planner, sitter: KeeperRecord, now: datetime) -> None:
    """After a message that did not reach a sitter: their keepers are reminded again if they cannot be reached."""
    if not reachable(sitter) and await sat_for(work, sitter.id, now):
        await settle_sittings(work, sitter.id, now)
        await planner.replan_keeper(work, sitter, now)


async def end_all(work: UnitOfWork, owner: KeeperRecord, now: datetime) -> int:
    """The keeper is back: whatever was asked or accepted for them ends; returns how many."""
    mine = [found for found in await work.sittings.open_of(owner.id) if found.keeper_id == owner.id]
    for sitting in mine:
        await end_sitting(work, owner, sitting, now)
    return len(mine)


async def _colonies(work: UnitOfWork, sitting: Sitting) -> Sequence[ColonyRecord]:
    found = [await work.colonies.get(colony_id) for colony_id in sitting.colony_ids]
    return [record for record in found if record is not None]


async def _note(work: UnitOfWork, owner: KeeperRecord, kind: NoteKind, about: Mapping[str, Any], now: datetime) -> None:
    """Notes come with the digest of the day, or of the next, so that they never make a second message."""
    today = local_day(now, owner.settings.zone)
    had = await work.deliveries.last_digests([owner.id], moment(today, time(0), owner.settings.zone))
    at = due_moment(today + timedelta(days=len(had)), Urgency.ROUTINE, owner.settings)
    await work.notes.add(Note(id=NoteId(0), keeper_id=owner.id, kind=kind, due_at=at, about=about))
