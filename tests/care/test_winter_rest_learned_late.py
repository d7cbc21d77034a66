"""A colony that the bot learns of in the middle of a season: nothing is assumed to have been done."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase, RestPlan
from bot.care.rest.plan import plan_rest
from tests.care import builders

CALENDAR = date(2026, 10, 12)
"""First day of the wind-down at 50 degrees north by our convention."""


def rest(colony: Colony, day: date) -> RestPlan:
    situation = builders.situation()
    keeper = replace(situation.keeper, latitude=50.0)
    book = builders.handbook()
    return plan_rest(colony, book.profile("Lasius niger"), situation.place, keeper, book, day)


def test_a_warm_colony_registered_in_november_winds_down_before_it_is_cooled() -> None:
    registered = date(2026, 11, 25)
    found = rest(builders.colony(registered=registered, log=()), registered)
    assert found.phase_on(registered) is Phase.WIND_DOWN
    begin = next(span.start for span in found.phases if span.phase is Phase.REST)
    assert begin >= registered + timedelta(days=28)
    assert any("rests already" in problem for problem in found.problems)


def test_its_dates_stay_the_same_on_the_following_days() -> None:
    colony = builders.colony(registered=date(2026, 11, 25), log=())
    assert {rest(colony, date(2026, 11, 25) + timedelta(days=ahead)).phases for ahead in range(40)} == {
        rest(colony, date(2026, 11, 25)).phases
    }


def test_one_that_rests_already_says_so_and_keeps_its_date() -> None:
    registered = date(2026, 12, 20)
    entry = LogEntry(day=date(2026, 11, 20), duty=Duty.REST_BEGIN, outcome=Outcome.DONE)
    found = rest(builders.colony(registered=registered, log=(entry,)), registered)
    assert found.phase_on(registered) is Phase.REST
    assert next(span.start for span in found.phases if span.phase is Phase.REST) == date(2026, 11, 20)


@pytest.mark.parametrize("registered", [date(2027, 2, 20), date(2027, 4, 1), date(2027, 7, 1)])
def test_late_in_the_season_it_waits_for_the_next_one(registered: date) -> None:
    found = rest(builders.colony(registered=registered, log=()), registered)
    assert found.phases[0].start.year == 2027
    assert found.phases[0].start.month == 10
    assert any("too late" in problem for problem in found.problems) is (registered < date(2027, 6, 1))


def test_a_colony_known_before_the_season_follows_the_calendar() -> None:
    found = rest(builders.colony(registered=date(2026, 9, 1), log=()), date(2026, 11, 1))
    assert abs((found.phases[0].start - CALENDAR).days) <= 2
