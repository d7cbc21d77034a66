"""Keepers who are gone: found, waited for as the privacy page promises, erased; any contact ends it."""

from __future__ import annotations

from collections.abc import AsyncIterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import pytest
import pytest_asyncio

from bot.services.errors import TryLaterError
from bot.services.keepers import ReminderChanges
from bot.services.leaving import CHECK_EVERY, GONE_MARK, KEPT_FOR, LONGEST_GAP, Leaving, Presence
from bot.services.records import Door, KeeperId
from tests.services.kit import ALMA, BRUNO, START, World

pytestmark = pytest.mark.asyncio


@dataclass
class Street:
    """Who is where; `None` for a platform that does not tell."""

    world: World
    where: dict[KeeperId, Presence] = field(default_factory=dict)
    asked: list[KeeperId] = field(default_factory=list)
    down: bool = False

    async def presence_of(self, keeper_id: KeeperId) -> Presence:
        if self.down:
            raise TryLaterError(60)
        self.asked.append(keeper_id)
        return self.where.get(keeper_id, Presence.HERE)

    async def walk(self, start: datetime, days: int) -> datetime | None:
        """Look every day; the moment at which somebody was erased."""
        for day in range(days):
            now = start + timedelta(days=day)
            if (await Leaving(self.world.units, self).look(now)).erased:
                return now
        return None

    async def close_door(self, keeper_id: KeeperId, door: Door = Door.REFUSED) -> None:
        async with self.world.units() as work:
            keeper = await work.keepers.get(keeper_id)
            assert keeper is not None
            await work.keepers.save(replace(keeper, door=door, refusals=3, next_wake=None))
            await work.commit()


@pytest_asyncio.fixture
async def street(world: World) -> AsyncIterator[Street]:
    for who in (ALMA, BRUNO):
        await world.settle(who)
        await world.register(who)
    yield Street(world)


@pytest.mark.parametrize("presence", [Presence.LEFT, Presence.DELETED])
async def test_t31_who_is_gone_is_erased_after_the_promised_term(street: Street, presence: Presence) -> None:
    await street.close_door(ALMA)
    street.where[ALMA] = presence
    erased = await street.walk(START, 400)
    assert erased is not None
    term = KEPT_FOR[presence]
    assert term <= erased - START <= term + CHECK_EVERY
    assert await street.world.keepers.find(ALMA) is None
    assert await street.world.keepers.find(BRUNO) is not None
    async with street.world.units() as work:
        assert await work.marks.get(GONE_MARK) == "1"
        assert not await work.colonies.of(ALMA)
        assert await work.absentees.get(ALMA) is None


async def test_t30_closed_direct_messages_alone_are_no_reason(street: Street) -> None:
    await street.close_door(ALMA)
    assert await street.walk(START, 800) is None
    assert len(street.asked) == 800 // (CHECK_EVERY.days + 1), "looked for on the first day after a week"


async def test_only_who_was_not_heard_of_is_looked_for(street: Street) -> None:
    street.where = {ALMA: Presence.LEFT, BRUNO: Presence.LEFT}
    assert await street.walk(START, 30) is None
    assert not street.asked
    await street.world.keepers.set_reminders(BRUNO, ReminderChanges(on=False), START)
    await street.walk(START, 1)
    assert street.asked == [BRUNO]


async def test_any_contact_ends_it(street: Street) -> None:
    await street.world.keepers.set_reminders(ALMA, ReminderChanges(on=False), START)
    street.where[ALMA] = Presence.LEFT
    assert await street.walk(START, 360) is None
    assert await street.world.keepers.came_back(ALMA, START + timedelta(days=360)) is None
    erased = await street.walk(START + timedelta(days=361), 400)
    assert erased is not None
    assert erased - START >= timedelta(days=361) + KEPT_FOR[Presence.LEFT]


async def test_who_returns_to_a_server_is_no_longer_gone(street: Street) -> None:
    await street.close_door(ALMA)
    street.where[ALMA] = Presence.LEFT
    assert await street.walk(START, 300) is None
    street.where[ALMA] = Presence.HERE
    assert await street.walk(START + timedelta(days=300), 100) is None
    async with street.world.units() as work:
        known = await work.absentees.get(ALMA)
    assert known is not None
    assert known.since is None


async def test_t43_a_clock_that_jumps_erases_nobody(street: Street) -> None:
    await street.close_door(ALMA)
    street.where[ALMA] = Presence.LEFT
    await street.walk(START, 10)
    jumped = START + timedelta(days=900)
    assert (await Leaving(street.world.units, street).look(jumped)).erased == 0
    assert jumped - START > LONGEST_GAP
    assert await street.world.keepers.find(ALMA) is not None


async def test_t35_a_platform_that_does_not_tell_changes_nothing(street: Street) -> None:
    await street.close_door(ALMA)
    street.down = True
    assert (await Leaving(street.world.units, street).look(START)).checked == 0
    async with street.world.units() as work:
        assert await work.absentees.get(ALMA) is None
