"""Delivers what is due: claim keepers with a lease, write the delivery down, send it, record the result.

At least once by design, and once for the member: every try of a delivery carries the same nonce, which the platform
folds for some minutes, and every try but the first looks for the message itself before it sends. A crash between any
two steps leaves a row that a later beat finishes.
"""

from __future__ import annotations

import asyncio
import hashlib
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.services.composing import Letter, digest_of, due_notes, due_rows, new_delivery, waiting_rows
from bot.services.errors import (
    BadMessageError,
    DeliveryError,
    DoorRefusedError,
    KeeperGoneError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.fallback import ask_for_thread
from bot.services.looks import LOOK_DAYS, REFUSALS_UNTIL_PAUSE
from bot.services.planner import Planner
from bot.services.ports import Messenger, Posted, UnitOfWork, UnitOfWorkMaker
from bot.services.records import DeliveryState, Door, KeeperId, KeeperRecord, OccurrenceState
from bot.services.sitting_end import hand_back, settle_sittings

LEASE = timedelta(minutes=2)
BEGIN_SECONDS = 45.0
"""A claimed keeper whose turn comes later than this is given back, so that a lease always outlives a try."""
SEND_SECONDS = 60.0
"""Longest try: opening the door, looking and sending together. With `BEGIN_SECONDS` it stays below the lease."""
NONCE_WINDOW = timedelta(minutes=2)
"""After this the platform may have forgotten the nonce (its window is unpublished: “the past few minutes”)."""
BATCH = 50
AT_ONCE = 8
"""Keepers served side by side: one that hangs keeps few others waiting."""
DOUBT_SECONDS = 5.0
"""How soon a try of unknown outcome is repeated: inside the window, so that the platform can fold it."""
LONGEST_WAIT_SECONDS = 900.0
SURPRISE_WAIT = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What one beat did."""

    claimed: int = 0
    sent: int = 0
    late: int = 0
    """Of those sent: which came late enough to say that the bot was away."""
    silent: int = 0
    """Keepers with nothing due, or served by another process meanwhile."""
    later: int = 0
    refused: int = 0
    failed: int = 0
    threads: int = 0
    """Words in private threads, where direct messages are refused."""

    def plus(self, other: Tally) -> Tally:
        """Both together."""
        return Tally(
            claimed=self.claimed + other.claimed,
            sent=self.sent + other.sent,
            late=self.late + other.late,
            silent=self.silent + other.silent,
            later=self.later + other.later,
            refused=self.refused + other.refused,
            failed=self.failed + other.failed,
            threads=self.threads + other.threads,
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
        """Serve every keeper whose moment has come. Safe to call at any time, by several processes at once.

        Returns early when it took so long that `now` no longer holds; whoever is left is due at the next beat.
        """
        total, last_start = Tally(), _steady() + BEGIN_SECONDS
        while True:
            token = uuid.uuid4().hex
            async with self.units() as work:
                claimed = await work.keepers.claim_due(now, now + LEASE, token, BATCH)
                await work.commit()
            tallies = await self._serve_all(claimed, token, now, last_start)
            for tally in tallies:
                total = total.plus(tally)
            total = replace(total, claimed=total.claimed + len(claimed))
            if len(claimed) < BATCH or _steady() > last_start:
                return total

    async def _serve_all(
        self, claimed: Sequence[KeeperRecord], token: str, now: datetime, last_start: float
    ) -> Sequence[Tally]:
        places = asyncio.Semaphore(AT_ONCE)

        async def in_turn(keeper: KeeperRecord) -> Tally:
            async with places:
                return await self._serve_safely(keeper, token, now, last_start)

        async with asyncio.TaskGroup() as group:
            tasks = [group.create_task(in_turn(keeper)) for keeper in claimed]
        return [task.result() for task in tasks]

    async def _serve_safely(self, keeper: KeeperRecord, token: str, now: datetime, last_start: float) -> Tally:
        """One keeper's broken row must not keep the others waiting; it is tried again after a while."""
        try:
            if _steady() > last_start:
                await self._release(keeper.id, token, keeper.next_wake)
                return Tally(later=1)
            return await self._serve(keeper.id, token, now)
        except Exception as surprise:  # noqa: BLE001 - counted and told, never swallowed
            self.on_failure(keeper.id, surprise)
            await self._step_back(keeper.id, token, now)
            return Tally(failed=1)

    async def _step_back(self, keeper_id: KeeperId, token: str, now: datetime) -> None:
        """After a surprise: not again for a while. When even that cannot be written, the lease runs out by itself."""
        try:
            await self._release(keeper_id, token, now + SURPRISE_WAIT)
        except Exception as surprise:  # noqa: BLE001 - as above
            self.on_failure(keeper_id, surprise)

    async def _release(self, keeper_id: KeeperId, token: str, wake: datetime | None) -> None:
        async with self.units() as work:
            await work.keepers.release(keeper_id, token, wake)
            await work.commit()

    async def _serve(self, keeper_id: KeeperId, token: str, now: datetime, attempts: int = 1) -> Tally:
        async with self.units() as work:
            letter = await self._write_down(work, keeper_id, token, now, attempts)
            await work.commit()
        if letter is None:
            return Tally(silent=1)
        try:
            async with asyncio.timeout(SEND_SECONDS):
                posted = await self._post(letter, now)
        except TimeoutError:
            return await self._not_sent(letter, token, now, OutcomeUnknownError("no answer in time"))
        except DeliveryError as problem:
            return await self._not_sent(letter, token, now, problem)
        if posted is None:
            await self._unwrite(letter)
            return await self._serve(keeper_id, token, now, letter.delivery.attempts)
        return await self._sent(letter, token, now, posted)

    async def _write_down(
        self, work: UnitOfWork, keeper_id: KeeperId, token: str, now: datetime, attempts: int
    ) -> Letter | None:
        """The delivery to send now: one that a crash or doubt left over, else a new one with everything due."""
        keeper = await work.keepers.get(keeper_id)
        if keeper is None or not await work.keepers.renew(keeper_id, token, now + LEASE):
            return None
        await settle_sittings(work, keeper_id, now)
        left_over = await work.deliveries.open_of(keeper_id)
        if left_over is not None:
            tried = replace(left_over, attempts=left_over.attempts + 1)
            rows = await waiting_rows(work, tried)
            if rows or await work.notes.of_delivery(tried.id):
                await work.deliveries.save(tried)
                return Letter(keeper, tried, await digest_of(work, self.handbook, keeper, tried, rows, now))
            await work.deliveries.save(
                replace(tried, state=DeliveryState.FAILED, problem="nothing in it waits any more")
            )
        keeper = await self.planner.replan_keeper(work, keeper, now, LOOK_DAYS)
        rows, notes = await due_rows(work, keeper, now), await due_notes(work, keeper, now)
        if not rows and not notes:
            await work.keepers.release(keeper_id, token, keeper.next_wake)
            return None
        made = await work.deliveries.add(new_delivery(keeper, rows, now, attempts))
        await work.notes.tie(notes, made.id)
        return Letter(keeper, made, await digest_of(work, self.handbook, keeper, made, rows, now))

    async def _post(self, letter: Letter, now: datetime) -> Posted | None:
        """Where the message stands, or `None` when a try in doubt never arrived and is too old to be repeated."""
        keeper, delivery, digest = letter.keeper, letter.delivery, letter.digest
        channel = keeper.channel_id
        if channel is None:
            channel = await self._open_door(keeper)
        if delivery.attempts > 1:
            found = await self.messenger.find_digest(channel, digest)
            if found is not None:
                return found
            if not keeper.reminders_on or now - (delivery.first_try_at or now) > NONCE_WINDOW:
                return None
        # Reminders make a sound: the keeper chose the hour. Only words that ask for nothing come silently.
        return await self.messenger.send_digest(channel, digest, quiet=not digest.lines)

    async def _open_door(self, keeper: KeeperRecord) -> int:
        """The channel, written down before anything goes through it: a later try must find what an earlier one sent."""
        channel = await self.messenger.open_door(keeper.id)
        async with self.units() as work:
            fresh = await work.keepers.get(keeper.id)
            if fresh is not None:
                await work.keepers.save(replace(fresh, channel_id=channel))
            await work.commit()
        return channel

    async def _sent(self, letter: Letter, token: str, now: datetime, posted: Posted) -> Tally:
        delivery = letter.delivery
        sent = replace(
            delivery,
            state=DeliveryState.SENT,
            sent_at=delivery.first_try_at or now,  # a try in doubt is found later, but it arrived then
            channel_id=posted.channel_id,
            message_id=posted.message_id,
            problem=None,
        )
        async with self.units() as work:
            keeper = await self._still_open(work, letter)
            if keeper is None:
                return Tally(silent=1)
            await work.deliveries.save(sent)
            await work.occurrences.settle(delivery.id, OccurrenceState.SENT)
            await work.notes.told(delivery.id)
            today = local_day(now, keeper.settings.zone)
            await work.cautions_shown.record(keeper.id, [caution.id for caution in letter.digest.cautions], today)
            unanswered = keeper.unanswered + bool(letter.digest.lines)
            reached = replace(keeper, channel_id=posted.channel_id, door=Door.OPEN, refusals=0, unanswered=unanswered)
            reached = await self.planner.wake(work, reached, now)
            await work.keepers.release(keeper.id, token, reached.next_wake)
            await work.commit()
        return Tally(sent=1, late=int(letter.digest.catch_up))

    async def _unwrite(self, letter: Letter) -> None:
        """A try in doubt never arrived: its lines go back to the plan, which may have moved on."""
        async with self.units() as work:
            if await self._still_open(work, letter) is not None:
                failed = replace(letter.delivery, state=DeliveryState.FAILED, problem="it never arrived")
                await work.deliveries.save(failed)
                await work.occurrences.settle(letter.delivery.id, OccurrenceState.PLANNED)
                await work.notes.untie(letter.delivery.id)
                await work.commit()

    async def _not_sent(self, letter: Letter, token: str, now: datetime, problem: DeliveryError) -> Tally:
        """Nothing is lost: in doubt the delivery waits for its next try, else its lines go back to the plan."""
        async with self.units() as work:
            keeper = await self._still_open(work, letter)
            if keeper is None:
                return Tally(silent=1)
            if isinstance(problem, TryLaterError | OutcomeUnknownError):
                await work.keepers.release(keeper.id, token, now + wait_after(letter, problem))
                await work.commit()
                return Tally(later=1)
            failed = replace(letter.delivery, state=DeliveryState.FAILED, problem=type(problem).__name__)
            await work.deliveries.save(failed)
            await work.occurrences.settle(letter.delivery.id, OccurrenceState.PLANNED)
            await work.notes.untie(letter.delivery.id)
            keeper = after_failure(keeper, problem, now)
            await work.keepers.save(keeper)
            await hand_back(work, self.planner, keeper, now)
            if isinstance(problem, DoorRefusedError):
                await ask_for_thread(work, keeper, now)
            await work.keepers.release(keeper.id, token, keeper.next_wake)
            await work.commit()
        return Tally(failed=1) if isinstance(problem, BadMessageError) else Tally(refused=1)

    async def _still_open(self, work: UnitOfWork, letter: Letter) -> KeeperRecord | None:
        """The keeper as they are now, unless they were erased or another process brought the delivery to its end."""
        keeper = await work.keepers.get(letter.keeper.id)
        stored = await work.deliveries.get(letter.delivery.id)
        return keeper if stored is not None and stored.state is DeliveryState.SENDING else None


def wait_after(letter: Letter, problem: TryLaterError | OutcomeUnknownError) -> timedelta:
    """How long the next try waits: as asked or a few seconds, doubled with each try, spread by keeper, with a limit."""
    asked = problem.after if isinstance(problem, TryLaterError) else DOUBT_SECONDS
    doubled = asked * 2 ** min(letter.delivery.attempts - 1, 10)
    spread = hashlib.sha256(letter.delivery.nonce.encode()).digest()[0] / 255 / 4
    return timedelta(seconds=max(asked, min(doubled, LONGEST_WAIT_SECONDS)) * (1 + spread))


def after_failure(keeper: KeeperRecord, problem: DeliveryError, now: datetime) -> KeeperRecord:
    """The keeper after a delivery that cannot be repeated at once: when to knock again, or to wait for their return."""
    if isinstance(problem, KeeperGoneError):
        return replace(keeper, door=Door.GONE, next_wake=None)
    if isinstance(problem, DoorRefusedError):
        refusals = keeper.refusals + 1
        wake = None if refusals >= REFUSALS_UNTIL_PAUSE else now + timedelta(hours=12 * refusals)
        return replace(keeper, door=Door.REFUSED, refusals=refusals, next_wake=wake)
    return replace(keeper, next_wake=now + timedelta(hours=1))


def _steady() -> float:
    return asyncio.get_running_loop().time()
