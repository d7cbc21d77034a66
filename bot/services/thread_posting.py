"""Reminds in private threads what direct messages could not: how much is due, never what, exactly once.

As with direct messages: taken with a lease, written down with its nonce before anything is sent, looked for before
it is sent again, and recorded. Moderators are told what keeps threads from being opened, at most once a week.
"""

from __future__ import annotations

import asyncio
import hashlib
from base64 import b32encode
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.localtime import local_day
from bot.services.composing import due_rows
from bot.services.delivery import DOUBT_SECONDS, LEASE, LONGEST_WAIT_SECONDS, NONCE_WINDOW, SEND_SECONDS
from bot.services.errors import BadMessageError, DeliveryError, OutcomeUnknownError, TryLaterError
from bot.services.fallback import next_word
from bot.services.looks import LOOK_DAYS
from bot.services.planner import Planner
from bot.services.ports import Posted, UnitOfWork, UnitOfWorkMaker
from bot.services.records import Door, KeeperId, KeeperRecord
from bot.services.season_drafts import nonce_of
from bot.services.season_errors import HallClosedError
from bot.services.season_hall import SeasonHall
from bot.services.season_records import SeasonSetup
from bot.services.thread_records import ThreadReminder
from bot.services.threads import NotHereError, ThreadGoneError, Threads

BATCH = 20
MOST_TRIES = 5
"""So often a word is tried on one day; removed threads and silent platforms are not fought for longer."""
TELL_AGAIN = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class ThreadDispatcher:
    """The use case behind every beat, beside the one for direct messages."""

    units: UnitOfWorkMaker
    threads: Threads
    hall: SeasonHall
    planner: Planner
    on_failure: Callable[[KeeperId, Exception], None]

    async def next_due(self) -> datetime | None:
        """The earliest moment at which a thread must be looked at."""
        async with self.units() as work:
            return await work.threads.next_due()

    async def remind_due(self, now: datetime) -> int:
        """Say what is due in every thread whose moment has come; returns how many words appeared."""
        count = 0
        while True:
            async with self.units() as work:
                taken = [replace(found, lease_until=now + LEASE) for found in await work.threads.due(now, BATCH)]
                for reminder in taken:
                    await work.threads.save(reminder)
                await work.commit()
            for reminder in taken:
                try:
                    count += await self._serve(reminder, now)
                except Exception as surprise:  # noqa: BLE001 - told; the lease brings it back, and the others go out
                    self.on_failure(reminder.keeper_id, surprise)
            if len(taken) < BATCH:
                return count

    async def _serve(self, taken: ThreadReminder, now: datetime) -> int:
        try:
            ways, setup = await self._way(taken.keeper_id, now)
            word = await self._write_down(taken.keeper_id, ways, setup, now)
            if word is None:
                return 0
            async with asyncio.timeout(SEND_SECONDS):
                posted = await self._post(word, now)
        except TimeoutError:
            await self._later(taken.keeper_id, DOUBT_SECONDS, now)
        except (TryLaterError, OutcomeUnknownError) as doubt:
            await self._later(taken.keeper_id, doubt.after if isinstance(doubt, TryLaterError) else DOUBT_SECONDS, now)
        except DeliveryError as refused:
            await self._refused(taken.keeper_id, refused, now)
        else:
            return await self._posted(word, posted, now)
        return 0

    async def _way(self, keeper_id: KeeperId, now: datetime) -> tuple[Sequence[SeasonSetup], SeasonSetup | None]:
        """Where the keeper agreed, and the first of those where a thread can be opened now."""
        async with self.units() as work:
            ways = await work.threads.ways(keeper_id)
        for setup in ways:
            lacks = await self.threads.lacks(setup)
            if not lacks:
                await self._told(setup, None)
                return ways, setup
            await self._tell_moderators(setup, lacks, now)
        return ways, None

    async def _write_down(
        self, keeper_id: KeeperId, ways: Sequence[SeasonSetup], setup: SeasonSetup | None, now: datetime
    ) -> ThreadReminder | None:
        """The word to send now: one that a crash or doubt left over, else a new one when something is due."""
        async with self.units() as work:
            keeper, known = await work.keepers.get(keeper_id), await work.threads.get(keeper_id)
            word = None
            if keeper is not None and known is not None:
                word = await self._word(work, keeper, known, (ways, setup), now)
                await work.threads.save(word)
            await work.commit()
        return word if word is not None and word.nonce is not None else None

    async def _word(
        self,
        work: UnitOfWork,
        keeper: KeeperRecord,
        known: ThreadReminder,
        where: tuple[Sequence[SeasonSetup], SeasonSetup | None],
        now: datetime,
    ) -> ThreadReminder:
        """What is kept from now on; with a nonce where something is to be said."""
        ways, setup = where
        idle = replace(known, nonce=None, lease_until=None)
        if not ways or keeper.door is not Door.REFUSED or not keeper.reminders_on:
            return replace(idle, next_at=None)
        if setup is None or setup.thread_channel_id is None:
            return replace(idle, next_at=next_word(keeper, now))
        if known.nonce is not None and known.guild_id == setup.guild_id:
            return replace(known, attempts=known.attempts + 1)
        allowed = keeper.settings.quiet.next_allowed(now, keeper.settings.zone)
        if allowed > now:
            return replace(idle, next_at=allowed)
        planned = await self.planner.replan_keeper(work, keeper, now, LOOK_DAYS)
        await work.keepers.save(replace(planned, next_wake=keeper.next_wake))  # when to knock again stays as it was
        count = len((await due_rows(work, [keeper], now)).get(keeper.id, ()))
        if not count:
            return replace(idle, next_at=next_word(keeper, now))
        same = known.channel_id == setup.thread_channel_id
        return replace(
            known,
            guild_id=setup.guild_id,
            channel_id=setup.thread_channel_id,
            thread_id=known.thread_id if same else None,
            nonce=_nonce(keeper.id, now),
            count=count,
            attempts=1,
            first_try_at=now,
        )

    async def _post(self, word: ThreadReminder, now: datetime) -> Posted | None:
        """Where the word stands, or `None` when a try in doubt never arrived and is too old to be repeated."""
        thread = word.thread_id
        if thread is None:
            thread = await self.threads.open(word)
            async with self.units() as work:
                await work.threads.save(replace(word, thread_id=thread))
                await work.commit()
        if word.attempts > 1:
            found = await self.threads.find(thread, word)
            if found is not None or now - (word.first_try_at or now) > NONCE_WINDOW:
                return found
        return await self.threads.remind(thread, word)

    async def _posted(self, word: ThreadReminder, posted: Posted | None, now: datetime) -> int:
        """Record the result, unless the keeper was erased or another process did so meanwhile."""
        async with self.units() as work:
            keeper, fresh = await work.keepers.get(word.keeper_id), await work.threads.get(word.keeper_id)
            if keeper is None or fresh is None or fresh.nonce != word.nonce:
                return 0
            idle = replace(fresh, nonce=None, attempts=0, lease_until=None)
            if posted is None:
                await work.threads.save(replace(idle, next_at=now))
            else:
                arrived = word.first_try_at or now
                today = local_day(arrived, keeper.settings.zone)
                at = max(next_word(keeper, arrived), now)
                told = replace(idle, told_on=today, sent_at=arrived, message_id=posted.message_id, next_at=at)
                await work.threads.save(replace(told, problem=None))
                await work.keepers.save(replace(keeper, unanswered=keeper.unanswered + 1))
            await work.commit()
        return int(posted is not None)

    async def _later(self, keeper_id: KeeperId, seconds: float, now: datetime) -> None:
        """Nothing is lost: the next try waits, longer each time."""
        async with self.units() as work:
            fresh = await work.threads.get(keeper_id)
            if fresh is not None:
                wait = max(seconds, min(seconds * 2 ** min(fresh.attempts, 10), LONGEST_WAIT_SECONDS))
                await work.threads.save(replace(fresh, lease_until=now + timedelta(seconds=wait)))
            await work.commit()

    async def _refused(self, keeper_id: KeeperId, refused: DeliveryError, now: datetime) -> None:
        """The word did not arrive: another thread, another community, or another day."""
        async with self.units() as work:
            keeper, known = await work.keepers.get(keeper_id), await work.threads.get(keeper_id)
            if keeper is None or known is None:
                return
            setup = await work.seasons.setup(known.guild_id)
            again = replace(known, lease_until=None, problem=type(refused).__name__)
            if isinstance(refused, ThreadGoneError) and known.attempts < MOST_TRIES:
                await work.threads.save(replace(again, thread_id=None, next_at=now))
            elif isinstance(refused, NotHereError):
                consent = await work.seasons.consent(known.guild_id, keeper_id)
                await work.seasons.save_consent(replace(consent, threads=False))
                await work.threads.save(replace(again, thread_id=None, nonce=None, next_at=now))
            else:
                await work.threads.save(replace(again, nonce=None, next_at=next_word(keeper, now)))
            await work.commit()
        if isinstance(refused, BadMessageError):
            self.on_failure(keeper_id, refused)
        if isinstance(refused, HallClosedError) and setup is not None:
            await self._tell_moderators(setup, (str(refused),), now)

    async def _tell_moderators(self, setup: SeasonSetup, sentences: Sequence[str], now: datetime) -> None:
        today = now.date()
        if setup.thread_told_on is not None and today - setup.thread_told_on < TELL_AGAIN:
            return
        try:
            await self.hall.tell_trouble(setup, sentences, nonce_of("threads", setup.guild_id, today))
        except (TryLaterError, OutcomeUnknownError):
            return
        except DeliveryError:
            pass  # `/season setup` shows it; asked again next week
        await self._told(setup, today)

    async def _told(self, setup: SeasonSetup, day: date | None) -> None:
        if setup.thread_told_on == day:
            return
        async with self.units() as work:
            fresh = await work.seasons.setup(setup.guild_id)
            if fresh is not None:
                await work.seasons.save_setup(replace(fresh, thread_told_on=day))
            await work.commit()


def _nonce(keeper_id: KeeperId, now: datetime) -> str:
    """A key of at most 25 characters for all tries of one word."""
    return b32encode(hashlib.sha256(f"thread:{keeper_id}:{now.isoformat()}".encode()).digest()).decode()[:24]
