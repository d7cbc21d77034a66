"""Reminders in private threads: only where both sides agreed, once a day, a number and nothing else, exactly once."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import pytest
import pytest_asyncio

from bot.care.localtime import local_day
from bot.services.delivery import NONCE_WINDOW
from bot.services.errors import DoorRefusedError, OutcomeUnknownError, TryLaterError
from bot.services.keepers import ReminderChanges
from bot.services.ports import Posted
from bot.services.records import Door, KeeperId, KeeperRecord
from bot.services.season import SetupChanges
from bot.services.season_errors import HallClosedError
from bot.services.season_records import SeasonSetup
from bot.services.silence import ASK_AFTER
from bot.services.thread_posting import ThreadDispatcher
from bot.services.thread_records import ThreadReminder
from bot.services.threads import NotHereError, ThreadGoneError
from tests.services.kit import ALMA, START, Crash, World
from tests.services.season_kit import HALL, MARA, OTHER, Community, open_community

pytestmark = pytest.mark.asyncio
UNDER = 720
"""The channel under which threads hang."""


@dataclass
class Platform:
    """The platform's threads: folds a nonce for some minutes, and can make trouble."""

    now: datetime = START
    opened: dict[int, tuple[int, KeeperId]] = field(default_factory=dict)
    """Thread -> under which channel, and who was let in."""
    seen: list[tuple[int, ThreadReminder]] = field(default_factory=list)
    missing: dict[int, tuple[str, ...]] = field(default_factory=dict)
    """What is lacking, by community."""
    trouble: list[BaseException] = field(default_factory=list)
    """Raised before a word is sent, one a call."""
    shut: list[BaseException] = field(default_factory=list)
    """Raised when a thread is asked for, one a call."""
    crash_after_word: bool = False
    _nonces: dict[str, tuple[datetime, int]] = field(default_factory=dict)

    async def lacks(self, setup: SeasonSetup) -> tuple[str, ...]:
        return self.missing.get(setup.guild_id, ())

    async def open(self, reminder: ThreadReminder) -> int:
        if self.shut:
            raise self.shut.pop(0)
        wanted = (reminder.channel_id, reminder.keeper_id)
        for thread, found in self.opened.items():
            if found == wanted:
                return thread
        thread = 8000 + len(self.opened)
        self.opened[thread] = wanted
        return thread

    async def remind(self, thread_id: int, reminder: ThreadReminder) -> Posted:
        if self.trouble:
            raise self.trouble.pop(0)
        nonce = reminder.nonce or ""
        at, number = self._nonces.get(nonce, (None, 0))
        if at is None or self.now - at > NONCE_WINDOW:
            self.seen.append((thread_id, reminder))
            number = len(self.seen)
            self._nonces[nonce] = (self.now, number)
        if self.crash_after_word:
            self.crash_after_word = False
            raise Crash
        return Posted(thread_id, number)

    async def find(self, thread_id: int, reminder: ThreadReminder) -> Posted | None:
        for number, (thread, earlier) in enumerate(self.seen, start=1):
            if thread == thread_id and earlier.nonce == reminder.nonce:
                return Posted(thread, number)
        return None


@dataclass
class Town:
    """A community that allows threads, and Alma, whose direct messages are closed."""

    community: Community
    platform: Platform
    dispatcher: ThreadDispatcher
    surprises: list[Exception]

    @property
    def world(self) -> World:
        return self.community.world

    async def agree(self, *, yes: bool = True, now: datetime = START) -> None:
        await self.community.season.agree(HALL, ALMA, now, threads=yes)

    async def refused(self) -> datetime:
        """Beat until a direct message was refused; the moment."""
        self.world.mailbox.refuse[ALMA] = DoorRefusedError("closed")
        at = START
        while self.world.mailbox.tries == 0:
            async with self.world.units() as work:
                wake = await work.keepers.next_wake()
            assert wake is not None
            at = max(at, wake)
            await self.world.beat(at)
        return at

    async def beat(self, now: datetime) -> int:
        """What the bot does at a moment: direct messages, then threads."""
        await self.world.beat(now)
        self.platform.now = now
        return await self.dispatcher.remind_due(now)

    async def walk(self, start: datetime, days: int) -> None:
        """Beat at every moment that somebody is due, for some days."""
        now, end = start, start + timedelta(days=days)
        while True:
            async with self.world.units() as work:
                wake = await work.keepers.next_wake()
            moments = [at for at in (wake, await self.dispatcher.next_due()) if at is not None]
            if not moments or min(moments) >= end:
                return
            now = max(now + timedelta(seconds=1), min(moments))
            await self.beat(now)

    async def kept(self) -> ThreadReminder:
        async with self.world.units() as work:
            found = await work.threads.get(ALMA)
        assert found is not None
        return found


@pytest_asyncio.fixture
async def town(world: World) -> AsyncIterator[Town]:
    community, platform, surprises = open_community(world), Platform(), list[Exception]()
    await world.settle()
    await world.register()
    await community.found(START, thread_channel_id=UNDER)
    yield Town(
        community,
        platform,
        ThreadDispatcher(
            world.units, platform, community.hall, world.keepers.planner, lambda _, found: surprises.append(found)
        ),
        surprises,
    )
    assert not surprises, surprises


async def test_t28_who_agreed_is_told_a_number_in_a_thread_of_their_own(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    assert await town.beat(at) == 1
    ((thread, word),) = town.platform.seen
    assert town.platform.opened == {thread: (UNDER, ALMA)}
    async with town.world.units() as work:
        due = await work.occurrences.due([ALMA], at)
    assert word.count == len(due) > 0
    kept = await town.kept()
    assert (kept.told_on, kept.nonce, kept.message_id, kept.sent_at) == (at.date(), None, 1, at)


async def test_nothing_is_said_unless_the_keeper_agreed(town: Town) -> None:
    at = await town.refused()
    assert await town.beat(at) == 0
    assert await town.dispatcher.next_due() is None
    assert not town.platform.opened


async def test_nothing_is_said_unless_the_moderators_allow_it(town: Town) -> None:
    await town.community.season.change(HALL, SetupChanges(thread_channel_id=0), MARA, START)
    await town.agree()
    assert await town.beat(await town.refused()) == 0
    assert not town.platform.opened


async def test_once_a_local_day_in_the_same_thread_and_slower_when_nobody_answers(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.walk(at, 40)
    days = [local_day(word.first_try_at or at, (await _alma(town)).settings.zone) for _, word in town.platform.seen]
    assert len(set(days)) == len(days) > 3
    assert len({thread for thread, _ in town.platform.seen}) == 1
    assert (await _alma(town)).unanswered >= min(len(days), ASK_AFTER)
    assert days[-1] >= (at + timedelta(days=30)).date(), "water is never silent"


async def _alma(town: Town) -> KeeperRecord:
    return await town.world.keepers.get(ALMA)


async def test_consent_withdrawn_stops_it(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.beat(at)
    await town.agree(yes=False, now=at)
    await town.walk(at, 5)
    assert len(town.platform.seen) == 1
    assert (await town.kept()).next_at is None


async def test_moderators_who_take_the_channel_away_stop_it(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.beat(at)
    await town.community.season.change(HALL, SetupChanges(thread_channel_id=0), MARA, at)
    await town.walk(at, 5)
    assert len(town.platform.seen) == 1


async def test_t29_an_open_door_ends_it(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.beat(at)
    town.world.mailbox.refuse.clear()
    assert await town.world.keepers.came_back(ALMA, at + timedelta(hours=1)) is Door.REFUSED
    await town.walk(at + timedelta(hours=1), 3)
    assert len(town.platform.seen) == 1
    assert town.world.mailbox.seen


async def test_reminders_off_means_silence_here_too(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.world.keepers.set_reminders(ALMA, ReminderChanges(on=False), at)
    assert await town.beat(at) == 0
    assert not town.platform.seen


async def test_t1_killed_after_the_word_arrived_it_is_not_said_twice(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.crash_after_word = True
    with pytest.raises(Crash):
        await town.beat(at)
    assert await town.beat(at + timedelta(minutes=3)) == 1
    assert len(town.platform.seen) == 1
    kept = await town.kept()
    assert (kept.told_on, kept.sent_at) == (at.date(), at)


async def test_t2_killed_and_restarted_hours_later_it_is_looked_for(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.crash_after_word = True
    with pytest.raises(Crash):
        await town.beat(at)
    await town.beat(at + timedelta(hours=2))
    assert len(town.platform.seen) == 1


async def test_t5_a_word_in_doubt_that_never_arrived_is_said_anew(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.trouble = [OutcomeUnknownError("no answer")]
    assert await town.beat(at) == 0
    later = at + timedelta(hours=1)
    assert await town.beat(later) == 0, "looked for, and given up"
    assert await town.beat(later) == 1
    ((_, word),) = town.platform.seen
    assert word.first_try_at == later


async def test_t4_trouble_waits_as_asked_and_keeps_its_nonce(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.trouble = [TryLaterError(60)]
    assert await town.beat(at) == 0
    nonce = (await town.kept()).nonce
    assert nonce is not None
    due = await town.dispatcher.next_due()
    assert due is not None
    assert due >= at + timedelta(seconds=60)
    assert await town.dispatcher.remind_due(at + timedelta(seconds=30)) == 0
    await town.dispatcher.remind_due(due)
    assert [word.nonce for _, word in town.platform.seen] == [nonce]


async def test_missing_rights_are_told_to_moderators_once_and_tried_again_another_day(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.missing[HALL] = ("Grant me Create Private Threads.",)
    await town.beat(at)
    await town.walk(at, 4)
    assert town.community.hall.trouble_told == [("Grant me Create Private Threads.",)]
    assert not town.platform.seen
    town.platform.missing.clear()
    await town.walk(at + timedelta(days=4), 3)
    assert town.platform.seen
    assert (await town.community.season.setup(HALL)).thread_told_on is None


async def test_a_refusal_by_the_platform_is_told_too(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.trouble = [HallClosedError("It was locked.")]
    assert await town.beat(at) == 0
    assert town.community.hall.trouble_told == [("It was locked.",)]
    assert await town.beat(at + timedelta(minutes=10)) == 0, "not fought for on the same day"


async def test_another_community_stands_in_for_one_that_cannot(town: Town) -> None:
    await town.community.found(START, OTHER, thread_channel_id=UNDER + 1)
    await town.agree()
    await town.community.season.agree(OTHER, ALMA, START, threads=True)
    at = await town.refused()
    town.platform.missing[HALL] = ("no",)
    assert await town.beat(at) == 1
    assert list(town.platform.opened.values()) == [(UNDER + 1, ALMA)]


async def test_who_left_the_community_is_not_looked_for_there_again(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.shut = [NotHereError("left")]
    assert await town.beat(at) == 0
    assert not (await town.community.season.consent(HALL, ALMA)).threads
    assert await town.beat(at + timedelta(minutes=1)) == 0
    assert (await town.kept()).next_at is None


async def test_a_removed_thread_is_opened_anew(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    await town.beat(at)
    town.platform.opened.clear()
    town.platform.trouble = [ThreadGoneError("removed")]
    await town.walk(at, 3)
    assert len(town.platform.seen) >= 2
    assert len(town.platform.opened) == 1


async def test_t57_erased_with_everything_else_even_while_it_is_on_its_way(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    town.platform.trouble = [OutcomeUnknownError("no answer")]
    await town.beat(at)
    async with town.world.units() as work:
        await work.keepers.erase(ALMA)
        await work.commit()
    assert await town.beat(at + timedelta(minutes=1)) == 0
    async with town.world.units() as work:
        assert await work.threads.get(ALMA) is None
    assert await town.dispatcher.next_due() is None


async def test_when_to_knock_again_stays_as_it_was(town: Town) -> None:
    await town.agree()
    at = await town.refused()
    async with town.world.units() as work:
        before = await work.keepers.peek(ALMA)
    await town.beat(at)
    async with town.world.units() as work:
        after = await work.keepers.peek(ALMA)
    assert before is not None
    assert after is not None
    assert replace(after, unanswered=0).next_wake == before.next_wake
