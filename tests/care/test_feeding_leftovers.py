"""Leftovers: how long they may lie, and when the duty falls due."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome, Urgency
from bot.care.feeding.leftovers import advise_leftovers, keeping_hours, leftovers_after, leftovers_hours
from tests.care import builders

DAY = builders.DAY


@pytest.mark.parametrize(
    ("temperature", "humidity", "hours"),
    [(20, 50, 48), (25, 50, 33.9), (25, 85, 17.0), (30, 85, 12), (15, 50, 67.9), (10, 50, 72)],
)
def test_value_15_keeping_hours(temperature: float, humidity: float, hours: float) -> None:
    # Engineering default of the project's dossier, built on mould growth by water activity.
    assert keeping_hours(temperature, humidity) == pytest.approx(hours, abs=0.06)


@pytest.mark.parametrize(
    ("temperature", "humidity", "hours"), [(20, 50, 48), (25, 50, 30), (25, 85, 12), (15, 50, 66), (10, 50, 72)]
)
def test_rule_10_hours_round_down_to_six(temperature: float, humidity: float, hours: int) -> None:
    assert leftovers_hours(temperature, humidity) == hours


def test_rule_10_a_weekend_does_not_delay_leftovers() -> None:
    friday = datetime(2027, 6, 4, 18, 0, tzinfo=UTC)
    assert leftovers_after(friday, 25, 50) == friday + timedelta(hours=30)
    fed = DAY + timedelta(days=3)
    advice = advise_leftovers(builders.situation(day=fed, done={Duty.PROTEIN: fed}))
    assert fed.isoweekday() == 5
    assert advice is not None
    assert advice.first_after_days == 1
    assert advice.urgency is Urgency.SOON


def test_a_feeding_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        leftovers_after(datetime(2027, 6, 4, 18, 0), 25, 50)  # noqa: DTZ001 -- the bad input under test


@given(st.floats(-40, 60), st.none() | st.floats(0, 100))
def test_hours_are_a_multiple_of_six_between_12_and_72(temperature: float, humidity: float | None) -> None:
    hours = leftovers_hours(temperature, humidity)
    assert 12 <= hours <= 72
    assert hours % 6 == 0


def test_unknown_humidity_counts_as_damp() -> None:
    assert leftovers_hours(20, None) == leftovers_hours(20, 70) == 36


def test_p04_leftovers_follow_the_last_perishable_feeding() -> None:
    # Common practice, no source.
    done = {Duty.SUGAR: DAY - timedelta(days=1), Duty.PROTEIN: DAY, Duty.SEEDS: DAY + timedelta(days=1)}
    advice = advise_leftovers(builders.situation(done=done))
    assert advice is not None
    assert "protein" in advice.reason
    assert advice.first_after_days == 1
    assert advice.facts["leftovers_hours"] == 36
    assert advice.cautions == ("MOULD-LEFTOVERS",)


def test_one_removal_does_for_all_that_was_fed_on_a_day() -> None:
    advice = advise_leftovers(builders.situation(done={Duty.SUGAR: DAY, Duty.PROTEIN: DAY}))
    assert advice is not None
    assert "sugar and protein" in advice.reason


def test_nothing_is_due_where_nothing_lies() -> None:
    yesterday = DAY - timedelta(days=1)
    assert advise_leftovers(builders.situation()) is None
    assert advise_leftovers(builders.situation(done={Duty.SEEDS: DAY})) is None
    assert advise_leftovers(builders.situation(done={Duty.SUGAR: yesterday, Duty.LEFTOVERS: DAY})) is None


@pytest.mark.parametrize("outcome", [Outcome.TAKEN, Outcome.GONE_QUICKLY])
def test_what_was_eaten_up_leaves_nothing(outcome: Outcome) -> None:
    log = (LogEntry(day=DAY, duty=Duty.SUGAR, outcome=outcome),)
    colony = builders.colony(log=log)
    assert advise_leftovers(builders.situation(colony=colony, done={Duty.SUGAR: DAY - timedelta(days=1)})) is None
    assert advise_leftovers(builders.situation(colony=colony, done={Duty.SUGAR: DAY + timedelta(days=1)})) is not None


def test_the_interval_counts_from_the_last_removal() -> None:
    done = {Duty.LEFTOVERS: DAY - timedelta(days=4), Duty.PROTEIN: DAY}
    advice = advise_leftovers(builders.situation(done=done))
    assert advice is not None
    assert done[Duty.LEFTOVERS] + timedelta(days=advice.interval_days) == DAY + timedelta(days=1)


def test_removed_and_fed_on_one_day_means_removed_first() -> None:
    advice = advise_leftovers(builders.situation(done={Duty.LEFTOVERS: DAY, Duty.PROTEIN: DAY}))
    assert advice is not None
    assert advice.interval_days == 1
