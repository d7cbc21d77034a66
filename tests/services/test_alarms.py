"""Alarms: raised once, logged at once, told once when messages go out again, listed until they are over."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from datetime import timedelta

import pytest
import pytest_asyncio

from bot.services.alarms import TELL_AGAIN, Alarm, Alarms, Trouble, incident_of, standing
from bot.services.errors import BadMessageError, ServiceError, TryLaterError
from bot.services.ports import UnitOfWork
from bot.services.season_records import SeasonSetup
from tests.services.kit import START, World
from tests.services.season_kit import HALL, OTHER, open_community

pytestmark = pytest.mark.asyncio
MINUTE = timedelta(minutes=1)


@dataclass
class Tower:
    """Communities, and a bell that remembers."""

    world: World
    rung: list[tuple[int, str, str]] = field(default_factory=list)
    trouble: list[Exception] = field(default_factory=list)
    raised: list[Alarm] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.alarms = Alarms(self.world.units, self, self.raised.append)

    async def ring(self, setup: SeasonSetup, sentence: str, nonce: str) -> None:
        if self.trouble:
            raise self.trouble.pop(0)
        self.rung.append((setup.guild_id, sentence, nonce))

    async def standing(self) -> list[Trouble]:
        async with self.world.units() as work:
            return [alarm.trouble for alarm in await standing(work)]


@pytest_asyncio.fixture
async def tower(world: World) -> AsyncIterator[Tower]:
    community = open_community(world)
    await community.found(START)
    await community.found(START, OTHER, helper_channel_id=0)
    yield Tower(world)


async def test_an_alarm_is_raised_once_told_once_and_ends(tower: Tower) -> None:
    for minute in range(5):
        now = START + minute * MINUTE
        await tower.alarms.judge({Trouble.SENDING: True, Trouble.BEAT: False}, now)
        await tower.alarms.tell(now)
    number = incident_of(Trouble.SENDING, START)
    assert [(alarm.trouble, alarm.incident) for alarm in tower.raised] == [(Trouble.SENDING, number)]
    ((guild, sentence, nonce),) = tower.rung
    assert guild == HALL, "the other has no channel for moderators"
    assert sentence.startswith("Since 2027-06-01 06:00 UTC the platform refused many of my requests")
    assert number in sentence
    assert nonce == f"A{number}"
    assert await tower.standing() == [Trouble.SENDING]
    await tower.alarms.judge({Trouble.SENDING: False}, START + 9 * MINUTE)
    assert await tower.standing() == []
    assert await tower.alarms.tell(START + 10 * MINUTE) == 0


async def test_t33_it_waits_until_messages_go_out_again(tower: Tower) -> None:
    tower.trouble = [TryLaterError(600), TryLaterError(540)]
    for minute in range(4):
        now = START + minute * MINUTE
        await tower.alarms.judge({Trouble.DOORS: minute < 2}, now)
        await tower.alarms.tell(now)
    assert len(tower.rung) == 1
    assert "opening new direct messages" in tower.rung[0][1]


async def test_trouble_that_comes_and_goes_is_logged_each_time_and_told_once_a_day(tower: Tower) -> None:
    for hour in range(0, 30, 3):
        now = START + timedelta(hours=hour)
        await tower.alarms.judge({Trouble.BEAT: True}, now)
        await tower.alarms.tell(now)
        await tower.alarms.judge({Trouble.BEAT: False}, now + MINUTE)
    assert len(tower.raised) == 10
    assert len(tower.rung) == 1 + int(timedelta(hours=27) / TELL_AGAIN)


async def test_a_channel_that_is_closed_keeps_no_other_waiting(tower: Tower) -> None:
    await open_community(tower.world).found(START, OTHER)
    tower.trouble = [BadMessageError("refused")]
    await tower.alarms.judge({Trouble.BEAT: True}, START)
    assert await tower.alarms.tell(START) == 1
    assert await tower.alarms.tell(START + MINUTE) == 0


async def test_it_is_raised_even_when_the_store_is_out_of_reach(tower: Tower) -> None:
    def shut() -> UnitOfWork:
        raise ServiceError("no store")

    working, tower.alarms.units = tower.alarms.units, shut
    for _ in range(3):
        with pytest.raises(ServiceError):
            await tower.alarms.judge({Trouble.BEAT: True}, START)
    assert len(tower.raised) == 1
    tower.alarms.units = working
    await tower.alarms.judge({Trouble.BEAT: True}, START + MINUTE)
    assert await tower.standing() == [Trouble.BEAT]
    assert len(tower.raised) == 1


async def test_the_next_process_ends_what_the_last_one_left(tower: Tower) -> None:
    await tower.alarms.judge({Trouble.BEAT: True}, START)
    restarted = Tower(tower.world)
    await restarted.alarms.judge(dict.fromkeys(Trouble, False), START + MINUTE)
    assert await restarted.standing() == []
    assert await restarted.alarms.tell(START + MINUTE) == 1, "moderators hear of it all the same"
