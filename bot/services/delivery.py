"""Delivers what is due: claim keepers with a lease, write deliveries down, send them, record the results.

A batch of keepers is claimed, written down and recorded together, each in one unit of work; a batch in which
something is broken is served one by one, so that nobody waits for the broken one.

At least once by design, and once for the member: every try of a delivery carries the same nonce, which the platform
folds for some minutes, and every try but the first looks for the message itself before it sends. A crash between any
two steps leaves a row that a later beat finishes.
"""

from __future__ import annotations

import asyncio
import hashlib
import uuid
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.care.handbook import Handbook
from bot.services.composing import Letter
from bot.services.errors import (
    BadMessageError,
    DeliveryError,
    DoorRefusedError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.fallback import ask_for_thread
from bot.services.letters import Claim, LetterDesk
from bot.services.outcomes import after_failure, as_sent, reached, seen
from bot.services.planner import Planner
from bot.services.ports import Messenger, Posted, UnitOfWork, UnitOfWorkMaker
from bot.services.records import DeliveryState, KeeperId, KeeperRecord, OccurrenceState
from bot.services.sitting_end import hand_back
from bot.services.tally import Tally, summed

LEASE = timedelta(minutes=2)
BEGIN_SECONDS = 45.0
"""A claimed keeper whose turn comes later than this is given back, so that a lease always outlives a try."""
SEND_SECONDS = 60.0
"""Longest try: opening the door, looking and sending together. With `BEGIN_SECONDS` it stays below the lease."""
NONCE_WINDOW = timedelta(minutes=2)
"""After this the platform may have forgotten the nonce (its window is unpublished: “the past few minutes”)."""
BATCH = 100
"""More need fewer statements a keeper; but these, planned anew, take a second, for which others wait on SQLite."""
HANDS = 2
"""Batches on their way at a time: while one is being sent the next is written down."""
GATHER_SECONDS = 0.25
"""Results wait so long at most for others to be recorded with them; one that hangs keeps nobody waiting."""
DOUBT_SECONDS = 5.0
"""How soon a try of unknown outcome is repeated: inside the window, so that the platform can fold it."""
LONGEST_WAIT_SECONDS = 900.0
SURPRISE_WAIT = timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Result:
    """What became of a letter: where it stands, what went wrong, or `None` when an old try never arrived."""

    letter: Letter
    outcome: Posted | Exception | None


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

        Raises:
            Exception: nobody can be claimed.
        """
        last_start = _steady() + BEGIN_SECONDS
        hands = [self._serve_batches(now, last_start) for _ in range(HANDS)]
        done = await asyncio.gather(*hands, return_exceptions=True)  # no hand drops its letters for trouble of another
        for each in done:
            if isinstance(each, BaseException):
                raise each
        return summed(each for each in done if isinstance(each, Tally))

    async def _serve_batches(self, now: datetime, last_start: float) -> Tally:
        total = Tally()
        while True:
            claim = Claim(token=uuid.uuid4().hex, now=now, lease_until=now + LEASE)
            async with self.units() as work:
                ids = sorted(await work.keepers.claim_due(now, claim.lease_until, claim.token, BATCH))
                await work.commit()
            total = total.plus(Tally(claimed=len(ids)))
            if ids:
                total = total.plus(await self._serve_safely(ids, claim, last_start))
            if len(ids) < BATCH or _steady() > last_start:
                return total

    async def _serve_safely(self, ids: Sequence[KeeperId], claim: Claim, last_start: float) -> Tally:
        """One keeper's broken row must not keep the others waiting; it is tried again after a while."""
        try:
            letters = await self._write_down(ids, claim, last_start)
        except Exception as surprise:  # noqa: BLE001 - counted and told, never swallowed
            if len(ids) > 1:
                return summed([await self._serve_safely([each], claim, last_start) for each in ids])
            return await self._surprised(ids[0], claim, surprise)
        if letters is None:
            return Tally(later=len(ids))
        return Tally(silent=len(ids) - len(letters)).plus(await self._send_all(letters, claim))

    async def _write_down(self, ids: Collection[KeeperId], claim: Claim, last_start: float) -> Sequence[Letter] | None:
        """Deliveries that are committed and may be sent; `None` when it is too late, and leases were given back."""
        async with self.units() as work:
            if _steady() > last_start:
                await work.keepers.let_go(ids, claim.token)
                letters = None
            else:
                desk = LetterDesk(self.planner, self.handbook)
                letters = await desk.write_down(work, ids, claim)
            await work.commit()
        return letters

    async def _send_all(self, letters: Sequence[Letter], claim: Claim) -> Tally:
        """Everything at once; the messenger keeps to the platform's limits. Results are recorded as they come in."""
        total = Tally()
        async with asyncio.TaskGroup() as group:
            waiting = {group.create_task(self._try(letter, claim.now)) for letter in letters}
            while waiting:
                done, waiting = await asyncio.wait(waiting, timeout=GATHER_SECONDS)
                if done:
                    total = total.plus(await self._record([task.result() for task in done], claim))
        return total

    async def _try(self, letter: Letter, now: datetime) -> Result:
        try:
            async with asyncio.timeout(SEND_SECONDS):
                return Result(letter, await self._post(letter, now))
        except TimeoutError:
            return Result(letter, OutcomeUnknownError("no answer in time"))
        except Exception as problem:  # noqa: BLE001 - what is no refusal of the platform is told when it is recorded
            return Result(letter, problem)

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

    async def _record(self, results: Sequence[Result], claim: Claim) -> Tally:
        """Bring deliveries to their end: all that arrived together, the rest one by one."""
        arrived = [(each.letter, each.outcome) for each in results if isinstance(each.outcome, Posted)]
        others = [each for each in results if not isinstance(each.outcome, Posted)]
        total = await self._record_sent(arrived, claim) if arrived else Tally()
        for each in others:
            try:
                total = total.plus(await self._record_other(each, claim))
            except Exception as surprise:  # noqa: BLE001 - as above
                total = total.plus(await self._surprised(each.letter.keeper.id, claim, surprise))
        return total

    async def _record_sent(self, arrived: Sequence[tuple[Letter, Posted]], claim: Claim) -> Tally:
        try:
            return await self._sent(arrived, claim)
        except Exception as surprise:  # noqa: BLE001 - as above
            if len(arrived) > 1:
                return summed([await self._record_sent([each], claim) for each in arrived])
            return await self._surprised(arrived[0][0].keeper.id, claim, surprise)

    async def _record_other(self, result: Result, claim: Claim) -> Tally:
        letter, problem = result.letter, result.outcome
        if isinstance(problem, DeliveryError):
            return await self._not_sent(letter, claim, problem)
        if isinstance(problem, Exception):
            return await self._surprised(letter.keeper.id, claim, problem)
        await self._unwrite(letter)
        return await self._serve_safely(
            [letter.keeper.id], replace(claim, attempts=letter.delivery.attempts), _steady() + BEGIN_SECONDS
        )

    async def _sent(self, arrived: Sequence[tuple[Letter, Posted]], claim: Claim) -> Tally:
        async with self.units() as work:
            keepers = await work.keepers.get_all([letter.keeper.id for letter, _ in arrived])
            sending = await work.deliveries.still_sending([letter.delivery.id for letter, _ in arrived])
            ours = [
                (letter, keepers[letter.keeper.id], posted)
                for letter, posted in arrived
                if letter.delivery.id in sending and letter.keeper.id in keepers
            ]
            if not ours:
                return Tally(silent=len(arrived))
            ids = [letter.delivery.id for letter, _, _ in ours]
            await work.deliveries.save_all([as_sent(letter.delivery, posted, claim.now) for letter, _, posted in ours])
            await work.occurrences.settle(ids, OccurrenceState.SENT)
            await work.notes.told(ids)
            await work.cautions_shown.record_all(
                {keeper.id: seen(letter, keeper, claim.now) for letter, keeper, _ in ours}
            )
            await self.planner.wake_all(work, [reached(*each) for each in ours], claim.now)
            await work.keepers.let_go([keeper.id for _, keeper, _ in ours], claim.token)
            await work.commit()
        late = sum(letter.digest.catch_up for letter, _, _ in ours)
        return Tally(sent=len(ours), late=late, silent=len(arrived) - len(ours))

    async def _unwrite(self, letter: Letter) -> None:
        """A try in doubt never arrived: its lines go back to the plan, which may have moved on."""
        async with self.units() as work:
            if await self._still_open(work, letter) is not None:
                failed = replace(letter.delivery, state=DeliveryState.FAILED, problem="it never arrived")
                await work.deliveries.save(failed)
                await work.occurrences.settle([letter.delivery.id], OccurrenceState.PLANNED)
                await work.notes.untie(letter.delivery.id)
                await work.commit()

    async def _not_sent(self, letter: Letter, claim: Claim, problem: DeliveryError) -> Tally:
        """Nothing is lost: in doubt the delivery waits for its next try, else its lines go back to the plan."""
        async with self.units() as work:
            keeper = await self._still_open(work, letter)
            if keeper is None:
                return Tally(silent=1)
            if isinstance(problem, TryLaterError | OutcomeUnknownError):
                await work.keepers.release(keeper.id, claim.token, claim.now + wait_after(letter, problem))
                await work.commit()
                return Tally(later=1)
            failed = replace(letter.delivery, state=DeliveryState.FAILED, problem=type(problem).__name__)
            await work.deliveries.save(failed)
            await work.occurrences.settle([letter.delivery.id], OccurrenceState.PLANNED)
            await work.notes.untie(letter.delivery.id)
            keeper = after_failure(keeper, problem, claim.now)
            await work.keepers.save(keeper)
            await hand_back(work, self.planner, keeper, claim.now)
            if isinstance(problem, DoorRefusedError):
                await ask_for_thread(work, keeper, claim.now)
            await work.keepers.release(keeper.id, claim.token, keeper.next_wake)
            await work.commit()
        return Tally(failed=1) if isinstance(problem, BadMessageError) else Tally(refused=1)

    async def _still_open(self, work: UnitOfWork, letter: Letter) -> KeeperRecord | None:
        """The keeper as they are now, unless they were erased or another process brought the delivery to its end."""
        keeper = await work.keepers.get(letter.keeper.id)
        return keeper if await work.deliveries.still_sending([letter.delivery.id]) else None

    async def _surprised(self, keeper_id: KeeperId, claim: Claim, surprise: Exception) -> Tally:
        """Told, and not again for a while. When even that cannot be written, the lease runs out by itself."""
        self.on_failure(keeper_id, surprise)
        try:
            async with self.units() as work:
                await work.keepers.release(keeper_id, claim.token, claim.now + SURPRISE_WAIT)
                await work.commit()
        except Exception as another:  # noqa: BLE001 - as above
            self.on_failure(keeper_id, another)
        return Tally(failed=1)


def wait_after(letter: Letter, problem: TryLaterError | OutcomeUnknownError) -> timedelta:
    """How long the next try waits: as asked or a few seconds, doubled with each try, spread by keeper, with a limit."""
    asked = problem.after if isinstance(problem, TryLaterError) else DOUBT_SECONDS
    doubled = asked * 2 ** min(letter.delivery.attempts - 1, 10)
    spread = hashlib.sha256(letter.delivery.nonce.encode()).digest()[0] / 255 / 4
    return timedelta(seconds=max(asked, min(doubled, LONGEST_WAIT_SECONDS)) * (1 + spread))


def _steady() -> float:
    return asyncio.get_running_loop().time()
