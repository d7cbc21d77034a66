"""Delivers what is due: claim keepers with a lease, write the delivery down, send it, record the result.

At least once by design, and once for the member: every try of a delivery carries the same nonce, which the platform
folds for some minutes; later tries first look for the message itself. A crash between any two steps leaves a row that
the next beat finishes.
"""

from __future__ import annotations

import hashlib
import uuid
from base64 import b32encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.caution_rules import select
from bot.care.duty import Urgency
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.services.errors import (
    BadMessageError,
    DeliveryError,
    DoorRefusedError,
    KeeperGoneError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.planner import Planner
from bot.services.ports import Digest, DigestLine, Messenger, Posted, UnitOfWork, UnitOfWorkMaker
from bot.services.records import (
    Delivery,
    DeliveryId,
    DeliveryState,
    Door,
    KeeperId,
    KeeperRecord,
    OccurrenceState,
    StoredOccurrence,
)
from bot.services.silence import ASK_AFTER

LEASE = timedelta(minutes=2)
NONCE_WINDOW = timedelta(minutes=2)
"""After this the platform may have forgotten the nonce (its window is unpublished: “the past few minutes”)."""
BATCH = 50
LATE_AFTER = timedelta(hours=3)
"""A digest this late says that the bot was away."""
DOUBT_SECONDS = 5.0
"""How soon a try of unknown outcome is repeated: inside the window, so that the platform can fold it."""
REFUSALS_UNTIL_PAUSE = 3
KIND_QUESTION = (
    "I have not heard from you for a while. From now on I only remind you of water and the winter rest; "
    "answer any line, and everything comes back."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What one beat did."""

    claimed: int = 0
    sent: int = 0
    silent: int = 0
    """Keepers with nothing due."""
    later: int = 0
    refused: int = 0
    failed: int = 0

    def plus(self, other: Tally) -> Tally:
        """Both together."""
        return Tally(
            claimed=self.claimed + other.claimed,
            sent=self.sent + other.sent,
            silent=self.silent + other.silent,
            later=self.later + other.later,
            refused=self.refused + other.refused,
            failed=self.failed + other.failed,
        )


@dataclass(frozen=True, slots=True)
class Dispatcher:
    """The use case behind every beat."""

    units: UnitOfWorkMaker
    messenger: Messenger
    planner: Planner
    handbook: Handbook
    on_failure: Callable[[KeeperId, Exception], None]
    """Told of every surprise; the other keepers are served all the same."""

    async def deliver_due(self, now: datetime) -> Tally:
        """Serve every keeper whose moment has come. Safe to call at any time, by several processes at once."""
        total = Tally()
        while True:
            token = uuid.uuid4().hex
            async with self.units() as work:
                claimed = await work.keepers.claim_due(now, now + LEASE, token, BATCH)
                await work.commit()
            for keeper in claimed:
                total = total.plus(await self._serve_safely(keeper, token, now))
            total = replace(total, claimed=total.claimed + len(claimed))
            if len(claimed) < BATCH:
                return total

    async def _serve_safely(self, keeper: KeeperRecord, token: str, now: datetime) -> Tally:
        """One keeper's broken row must not keep the others waiting; the lease brings it back."""
        try:
            return await self._serve(keeper, token, now)
        except Exception as surprise:  # noqa: BLE001 - counted and told, never swallowed
            self.on_failure(keeper.id, surprise)
            return Tally(failed=1)

    async def _serve(self, keeper: KeeperRecord, token: str, now: datetime) -> Tally:
        async with self.units() as work:
            keeper, delivery, rows = await self._write_down(work, keeper, now)
            digest = None if delivery is None else await self._digest(work, keeper, delivery, rows, now)
            if digest is None:
                await work.keepers.release(keeper.id, token, keeper.next_wake)
            await work.commit()
        if delivery is None or digest is None:
            return Tally(silent=1)
        return await self._send(keeper, delivery, digest, token, now)

    async def _write_down(
        self, work: UnitOfWork, keeper: KeeperRecord, now: datetime
    ) -> tuple[KeeperRecord, Delivery | None, Sequence[StoredOccurrence]]:
        """The delivery to send now: one that a crash left over, else a new one with everything due."""
        left_over = await work.deliveries.open_of(keeper.id)
        if left_over is not None:
            rows = [row for key in left_over.occurrence_ids if (row := await work.occurrences.get(key)) is not None]
            rows = [row for row in rows if row.state is OccurrenceState.PLANNED]
            tried = replace(left_over, attempts=left_over.attempts + 1)
            if rows:
                await work.deliveries.save(tried)
                return keeper, tried, rows
            await work.deliveries.save(
                replace(tried, state=DeliveryState.FAILED, problem="answered before it was sent")
            )
        keeper = await self.planner.replan_keeper(work, keeper, now)
        due = await work.occurrences.due(keeper.id, now)
        if not due or not keeper.reminders_on:
            return keeper, None, ()
        made = await work.deliveries.add(
            Delivery(
                id=DeliveryId(0),
                keeper_id=keeper.id,
                nonce=nonce_for(keeper, due, now),
                occurrence_ids=tuple(row.id for row in due),
                attempts=1,
                created_at=now,
                first_try_at=now,
            )
        )
        return keeper, made, due

    async def _digest(
        self,
        work: UnitOfWork,
        keeper: KeeperRecord,
        delivery: Delivery,
        rows: Sequence[StoredOccurrence],
        now: datetime,
    ) -> Digest:
        today = local_day(now, keeper.settings.zone)
        names = {record.id: record.colony.name for record in await work.colonies.of(keeper.id)}
        lines = tuple(
            DigestLine(
                occurrence_id=row.id,
                colony_name=names.get(row.colony_id, "?"),
                duty=row.occurrence.duty,
                day=row.occurrence.day,
                reason=row.occurrence.reason,
                urgent=row.occurrence.urgency is Urgency.URGENT,
                days_late=max(0, (today - row.occurrence.day).days),
                facts=row.occurrence.facts,
            )
            for row in sorted(rows, key=_importance)
        )
        shown = await work.cautions_shown.of(keeper.id)
        ids = [name for row in rows for name in row.occurrence.cautions]
        return Digest(
            delivery_id=delivery.id,
            keeper_id=keeper.id,
            nonce=delivery.nonce,
            lines=lines,
            cautions=select(ids, self.handbook, shown, today, keeper.mute_notes),
            units=keeper.settings.units,
            catch_up=any(now - row.occurrence.due_at > LATE_AFTER for row in rows),
            notice=KIND_QUESTION if keeper.unanswered == ASK_AFTER else None,
        )

    async def _send(self, keeper: KeeperRecord, delivery: Delivery, digest: Digest, token: str, now: datetime) -> Tally:
        try:
            posted = await self._post(keeper, delivery, digest, now)
        except DeliveryError as problem:
            return await self._not_sent(keeper, delivery, token, now, problem)
        async with self.units() as work:
            await self._record(work, keeper, delivery, digest, posted, now)
            keeper = await self._answered_door(work, keeper, posted, now)
            await work.keepers.release(keeper.id, token, keeper.next_wake)
            await work.commit()
        return Tally(sent=1)

    async def _post(self, keeper: KeeperRecord, delivery: Delivery, digest: Digest, now: datetime) -> Posted:
        channel = keeper.channel_id
        if channel is None:
            channel = await self._open_door(keeper)
        if delivery.attempts > 1 and now - (delivery.first_try_at or now) > NONCE_WINDOW:
            found = await self.messenger.find_digest(channel, digest)
            if found is not None:
                return found
        return await self.messenger.send_digest(channel, digest, quiet=not any(line.urgent for line in digest.lines))

    async def _open_door(self, keeper: KeeperRecord) -> int:
        """The channel, written down before anything goes through it: a later try must find what an earlier one sent."""
        channel = await self.messenger.open_door(keeper.id)
        async with self.units() as work:
            fresh = await work.keepers.get(keeper.id) or keeper
            await work.keepers.save(replace(fresh, channel_id=channel))
            await work.commit()
        return channel

    async def _record(
        self,
        work: UnitOfWork,
        keeper: KeeperRecord,
        delivery: Delivery,
        digest: Digest,
        posted: Posted,
        now: datetime,
    ) -> None:
        sent = replace(
            delivery,
            state=DeliveryState.SENT,
            sent_at=now,
            channel_id=posted.channel_id,
            message_id=posted.message_id,
            problem=None,
        )
        await work.deliveries.save(sent)
        await work.occurrences.set_state(delivery.occurrence_ids, OccurrenceState.SENT)
        today = local_day(now, keeper.settings.zone)
        await work.cautions_shown.record(keeper.id, [caution.id for caution in digest.cautions], today)

    async def _answered_door(
        self, work: UnitOfWork, keeper: KeeperRecord, posted: Posted, now: datetime
    ) -> KeeperRecord:
        fresh = await work.keepers.get(keeper.id) or keeper
        fresh = replace(
            fresh,
            channel_id=posted.channel_id,
            door=Door.OPEN,
            refusals=0,
            unanswered=fresh.unanswered + 1,
        )
        return await self.planner.replan_keeper(work, fresh, now)

    async def _not_sent(
        self, keeper: KeeperRecord, delivery: Delivery, token: str, now: datetime, problem: DeliveryError
    ) -> Tally:
        """Nothing is lost: in doubt the delivery waits for its next try, else its lines go back to the plan."""
        async with self.units() as work:
            if isinstance(problem, TryLaterError | OutcomeUnknownError):
                wait = problem.after if isinstance(problem, TryLaterError) else DOUBT_SECONDS
                tally = Tally(later=1)
                wake: datetime | None = now + timedelta(seconds=wait)
            else:
                failed = replace(delivery, state=DeliveryState.FAILED, problem=type(problem).__name__)
                await work.deliveries.save(failed)
                await work.occurrences.set_state(delivery.occurrence_ids, OccurrenceState.PLANNED)
                fresh = after_failure(await work.keepers.get(keeper.id) or keeper, problem, now)
                await work.keepers.save(fresh)
                tally = Tally(failed=1) if isinstance(problem, BadMessageError) else Tally(refused=1)
                wake = fresh.next_wake
            await work.keepers.release(keeper.id, token, wake)
            await work.commit()
        return tally


def after_failure(keeper: KeeperRecord, problem: DeliveryError, now: datetime) -> KeeperRecord:
    """The keeper after a delivery that cannot be repeated at once: when to knock again, or to wait for their return."""
    if isinstance(problem, KeeperGoneError):
        return replace(keeper, door=Door.GONE, next_wake=None)
    if isinstance(problem, DoorRefusedError):
        refusals = keeper.refusals + 1
        wake = None if refusals >= REFUSALS_UNTIL_PAUSE else now + timedelta(hours=12 * refusals)
        return replace(keeper, door=Door.REFUSED, refusals=refusals, next_wake=wake)
    return replace(keeper, next_wake=now + timedelta(hours=1))


def nonce_for(keeper: KeeperRecord, rows: Sequence[StoredOccurrence], now: datetime) -> str:
    """A key of at most 25 characters, the same for all tries of one delivery and different for any other."""
    text = f"{keeper.id}:{now.isoformat()}:{','.join(str(row.id) for row in rows)}"
    return b32encode(hashlib.sha256(text.encode()).digest()).decode()[:24]


def _importance(row: StoredOccurrence) -> tuple[int, date, int, str]:
    """Urgent first, then the longest overdue; one colony's duties stay together."""
    found = row.occurrence
    return (-found.urgency, found.day, row.colony_id, found.duty)
