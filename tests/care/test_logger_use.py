"""Which measured values take the place of which assumed ones."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from bot.care.colony import Heater
from bot.care.errors import BadValueError
from bot.care.logger.readings import Evaluation, Quantity, Reading, Series, evaluate
from bot.care.logger.spot import Spot
from bot.care.logger.use import Measured, measured
from bot.care.phase import Phase
from tests.care import builders

DAY = date(2027, 1, 10)


def steady(*daily: float, quantity: Quantity = Quantity.TEMPERATURE) -> Evaluation:
    """Hourly readings from DAY on, the same through each day."""
    start = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC)
    hours = [value for value in daily for _ in range(24)]
    readings = tuple(Reading(start + timedelta(hours=place), value) for place, value in enumerate(hours))
    return evaluate(Series(quantity, readings), UTC)


def test_the_active_season_speaks_for_the_room() -> None:
    found = {Quantity.TEMPERATURE: steady(23, 25), Quantity.HUMIDITY: steady(40, 44, quantity=Quantity.HUMIDITY)}
    values = measured(found, (), Spot.ROOM, heated=False)
    assert values == Measured(room_c=24.0, humidity_percent=42.0)
    assert values.place(builders.place()) == builders.place(temperature_c=24.0, humidity_percent=42.0)
    assert values.colony(builders.colony()) == builders.colony()


def test_a_rest_speaks_for_its_place_and_never_for_the_room() -> None:
    rest = builders.rest_plan(Phase.REST, DAY)
    values = measured({Quantity.TEMPERATURE: steady(4, 7)}, (rest,), Spot.REST, heated=False)
    # The last hour of the first day runs towards the second, so the extremes are those of readings.
    assert (values.room_c, values.rest_low_c, values.rest_high_c) == (None, 4.0, 7.0)
    resting = values.colony(builders.colony()).rest
    assert (resting.place_low_c, resting.place_high_c) == (4.0, 7.0)
    assert values.place(builders.place()) == builders.place()


@pytest.mark.parametrize("phase", [Phase.COOL_DOWN, Phase.WARM_UP])
def test_a_ramp_speaks_for_neither(phase: Phase) -> None:
    found = {Quantity.TEMPERATURE: steady(15, 15)}
    assert measured(found, (builders.rest_plan(phase, DAY),), Spot.ROOM, heated=False).empty


def test_a_file_that_is_too_short_changes_nothing() -> None:
    start = datetime(2027, 1, 10, tzinfo=UTC)
    short = Series(Quantity.TEMPERATURE, (Reading(start, 20.0), Reading(start + timedelta(hours=1), 21.0)))
    found = {Quantity.TEMPERATURE: evaluate(short, UTC)}
    assert measured(found, (), Spot.ROOM, heated=False).empty
    assert measured(found, (), Spot.REST, heated=False).empty


def test_what_no_room_is_like_is_refused() -> None:
    with pytest.raises(BadValueError):
        measured({Quantity.TEMPERATURE: steady(60, 60)}, (), Spot.ROOM, heated=False).place(builders.place())


@pytest.mark.parametrize(
    ("spot", "heated", "wanted"),
    [
        (Spot.ROOM, True, Measured(room_c=24.0, humidity_percent=42.0)),
        (Spot.WARM_WALL, True, Measured(wall_c=24.0)),
        (Spot.WARM_WALL, False, Measured()),
        (Spot.NEST, True, Measured()),
        (Spot.NEST, False, Measured(room_c=24.0)),
        (Spot.OUTWORLD, False, Measured(room_c=24.0)),
        (Spot.REST, True, Measured(rest_low_c=23.0, rest_high_c=25.0)),
    ],
)
def test_each_spot_is_used_for_what_it_is(spot: Spot, *, heated: bool, wanted: Measured) -> None:
    found = {Quantity.TEMPERATURE: steady(23, 25), Quantity.HUMIDITY: steady(40, 44, quantity=Quantity.HUMIDITY)}
    assert measured(found, (), spot, heated=heated) == wanted


def test_the_warm_wall_becomes_the_heaters_and_leaves_the_room_alone() -> None:
    kept = builders.colony(heater=Heater(hot_c=26.0))
    values = Measured(wall_c=28.5)
    assert values.colony(kept).heater == Heater(hot_c=28.5)
    assert values.place(builders.place()) == builders.place()
    assert values.colony(builders.colony(heater=None)).heater is None


def test_the_room_in_winter_says_nothing_of_the_place_of_rest() -> None:
    rest = builders.rest_plan(Phase.REST, DAY)
    assert measured({Quantity.TEMPERATURE: steady(21, 21)}, (rest,), Spot.ROOM, heated=False).empty


def test_a_place_of_rest_measured_in_autumn_counts_before_the_rest() -> None:
    values = measured({Quantity.TEMPERATURE: steady(9, 6)}, (), Spot.REST, heated=False)
    assert (values.rest_low_c, values.rest_high_c) == (6.0, 9.0)
