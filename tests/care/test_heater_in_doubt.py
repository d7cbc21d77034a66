"""A rest that runs by the calendar alone: the heater may still be on, so heat and water stay on the warm side of care.

That a heater which nobody switched off goes on heating is plain sense; the intervals compared are the project's own.
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import Any

import pytest

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.colony import Heater, LogEntry, Nest, NestKind
from bot.care.duty import Duty, Outcome
from bot.care.place import Place
from tests.care import builders

DAY = date(2027, 12, 15)
"""In the middle of the rest that the calendar of the north gives."""
NEST = Nest(kind=NestKind.NEST, material="plaster", water_ml=20)
HOT = Heater(kind="heat-mat", hot_c=34)


def planned(*told: Duty, start: date = DAY, **changes: Any) -> ColonyPlan:
    log = tuple(LogEntry(day=date(2027, 11, 20), duty=duty, outcome=Outcome.DONE) for duty in told)
    colony = builders.colony(nest=NEST, heater=HOT, log=log, **changes)
    handbook = builders.handbook()
    return plan_colony(colony, builders.keeper(), Place(temperature_c=22), handbook, start, 60)


def test_a_hot_wall_is_looked_at_daily_until_the_rest_is_told() -> None:
    first = planned().first(Duty.HEAT_CHECK)
    assert first is not None
    assert first.day == DAY
    assert "you have not told me that the rest began" in first.reason
    assert "34 °C" in first.reason


@pytest.mark.parametrize("told", [Duty.REST_COOL_DOWN, Duty.REST_BEGIN])
def test_once_the_rest_is_told_the_heater_counts_as_off(told: Duty) -> None:
    assert planned(told).first(Duty.HEAT_CHECK) is None


def test_a_plan_made_before_the_rest_takes_its_steps_as_done() -> None:
    plan = planned(start=date(2027, 10, 1))
    cool = plan.first(Duty.REST_COOL_DOWN)
    assert cool is not None
    assert all(found.day < cool.day for found in plan.occurrences if found.duty is Duty.HEAT_CHECK)


def gaps(plan: ColonyPlan) -> list[int]:
    """Days between looks at the water."""
    days = [found.day for found in plan.occurrences if found.duty is Duty.WATER]
    return [(later - day).days for day, later in pairwise(days)]


def test_water_comes_no_later_than_in_the_warm_season() -> None:
    in_doubt, told, warm = gaps(planned()), gaps(planned(Duty.REST_BEGIN)), gaps(planned(start=date(2027, 6, 15)))
    assert max(in_doubt) <= max(warm) < min(told)
