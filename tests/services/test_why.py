"""The reason for what comes next is read from a short plan where it can be; it is the same as in the long one."""

from __future__ import annotations

import pytest

from bot.care.duty import Duty
from bot.services.care_views import SOON_DAYS, WHY_DAYS
from bot.services.records import ColonyId
from tests.services.kit import ALMA, START, World

pytestmark = pytest.mark.asyncio


async def test_a_short_plan_has_the_same_first_occurrences_as_a_long_one(world: World) -> None:
    await world.settle()
    view = await world.register()
    short, long = (
        world.views._plan(view.keeper, view.record, START, days).occurrences for days in (SOON_DAYS, WHY_DAYS)
    )
    assert short
    assert short == long[: len(short)]


async def test_what_comes_later_is_found_too(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    far = await world.views.why(ALMA, ColonyId(colony.id), Duty.REST_BEGIN, START)
    assert far.occurrence is not None, far.no_reason
    assert (far.occurrence.day - START.date()).days > SOON_DAYS
