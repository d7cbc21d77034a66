"""A whole season in four servers with a moved clock: northern, southern, mixed and tropical."""

from __future__ import annotations

from datetime import date, datetime

import pytest
import pytest_asyncio

from tests.chat.season_world import Town, on_day, open_town
from tests.chat.world import ChatWorld, text

pytestmark = pytest.mark.asyncio

PREPARE, WIND, COOL = "Time to prepare the winter rest", "The wind-down begins", "The cool-down begins"
HALF, WARM, BACK = "Half-time, look at the water", "The warm-up begins", "Welcome back"
STAGES = [PREPARE, WIND, COOL, HALF, WARM, BACK]


@pytest_asyncio.fixture
async def town(world: ChatWorld) -> Town:
    return open_town(world)


def days(seen: dict[str, datetime]) -> dict[str, date]:
    return {heading: moment.date() for heading, moment in seen.items()}


async def test_a_northern_season_by_members_plans(town: Town) -> None:
    town.world.clock.moment = on_day(2027, 8, 1)
    await town.set_up()
    await town.join(7)
    seen = days(await town.through(on_day(2027, 8, 1), 270))
    assert list(seen) == STAGES
    assert date(2027, 9, 10) <= seen[PREPARE] <= date(2027, 9, 20)
    assert date(2027, 10, 1) <= seen[WIND] <= date(2027, 10, 12)
    assert seen[COOL] < seen[HALF] < seen[WARM] < seen[BACK] < date(2028, 4, 1)
    first, half = town.posted()[0], town.posted()[3]
    assert "About **5** colonies that rest by an inner clock: wind-down from the week of 11 October" in text(first)
    assert "Water is never paused" in text(half)
    log = text(await town.by(town.mara, "log"))
    assert log.count("I: posted “") == 6


async def test_a_southern_season_lies_half_a_year_later(town: Town) -> None:
    town.world.clock.moment = on_day(2027, 1, 20)
    await town.set_up(zone="Australia/Melbourne")
    seen = days(await town.through(on_day(2027, 1, 20), 255))
    assert list(seen) == STAGES
    assert date(2027, 3, 15) <= seen[PREPARE] <= date(2027, 3, 31)
    assert date(2027, 4, 5) <= seen[WIND] <= date(2027, 4, 20)
    assert date(2027, 6, 25) <= seen[HALF] <= date(2027, 7, 20)
    assert "No figures this time" in text(town.posted()[0])


async def test_in_a_mixed_server_each_half_gets_its_own(town: Town) -> None:
    town.world.clock.moment = on_day(2027, 3, 1)
    await town.set_up(members_in="everywhere")
    await town.join(6)
    await town.join(6, zone="Australia/Melbourne", first=50)
    seen = days(await town.through(on_day(2027, 3, 1), 250))
    north = {heading: day for heading, day in seen.items() if heading.startswith("Northern half")}
    south = {heading: day for heading, day in seen.items() if heading.startswith("Southern half")}
    assert {*north, *south} == set(seen)
    assert list(south) == [f"Southern half: {stage[:1].lower()}{stage[1:]}" for stage in STAGES]
    in_order = [WARM, BACK, PREPARE, WIND, COOL]
    assert list(north) == [f"Northern half: {stage[:1].lower()}{stage[1:]}" for stage in in_order]
    calls = [text(message) for message in town.posted() if PREPARE[1:] in text(message)]
    assert len(calls) == 2
    assert all("In the tropics nothing is due" in call for call in calls)
    for message in town.posted():
        assert "About **5** colonies" in text(message)


async def test_a_tropical_server_is_told_that_nothing_is_due(town: Town) -> None:
    town.world.clock.moment = on_day(2027, 8, 1)
    await town.set_up(zone="Asia/Singapore")
    await town.join(6, zone="Asia/Singapore", species="Pheidole megacephala")
    seen = await town.through(on_day(2027, 8, 1), 100)
    assert list(seen) == ["No winter here, and nothing is due"]
    (message,) = town.posted()
    assert "keep it out of fridge and cellar" in text(message)
    assert "colonies that" not in text(message)


async def test_without_an_approval_a_whole_year_posts_nothing(town: Town) -> None:
    await town.set_up()
    for month in range(7, 13):
        await town.at(on_day(2027, month, 6))
    assert not town.posted()
    assert town.told()


async def test_a_server_that_did_nothing_hears_nothing(town: Town) -> None:
    for month in range(7, 13):
        await town.at(on_day(2027, month, 6))
    assert not town.posted()
    assert not town.told()


async def test_months_of_silence_post_no_flood(town: Town) -> None:
    """The bot was away for the whole autumn; what was approved and is long past is left to the moderators."""
    await town.set_up()
    await town.at(on_day(2027, 9, 6, 6))
    await town.mara.click(town.told()[-1], label="Approve")
    assert await town.at(on_day(2027, 12, 20)) == 0
    states = {notice.stage.value: notice.state.value for notice in await town.notices()}
    assert states.get("prepare") in {None, "paused"}
    assert not town.posted()
