"""Which readings warn of what. Caution ids must exist in `config/cautions`; limits are those of their lines."""

from __future__ import annotations

import tomllib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.care.colony import Heater
from bot.care.logger.readings import Quantity, Reading, Series, evaluate
from bot.care.logger.spot import Spot
from bot.care.logger.warnings import (
    LoggerWarning,
    logger_warnings,
    rest_credit,
    rests_during,
    say_difference,
    wanted_band,
)
from bot.care.phase import Phase
from bot.care.physics.thermal_time import FULL_CREDIT_C, FULL_CREDIT_MILD_C
from bot.care.species import DormancyClass
from bot.care.units import Band, Units
from bot.care.upkeep.heat import heat_limits
from tests.care import builders

DAY = date(2027, 1, 10)
ROOT = Path(__file__).parents[2]


def seen(
    *daily: float,
    quantity: Quantity = Quantity.TEMPERATURE,
    phase: Phase = Phase.ACTIVE,
    spot: Spot = Spot.NEST,
    **changes: Any,
) -> tuple[LoggerWarning, ...]:
    """Warnings for hourly readings that stay the same through each day."""
    start = datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC)
    hours = [value for value in daily for _ in range(24)]
    readings = tuple(Reading(start + timedelta(hours=place), value) for place, value in enumerate(hours))
    situation = builders.situation(phase=phase, day=DAY, **changes)
    return logger_warnings(evaluate(Series(quantity, readings), UTC), situation, (situation.rest,), spot)


def ids(found: tuple[LoggerWarning, ...]) -> list[str]:
    return [name for warning in found for name in warning.cautions]


def test_a_good_room_and_a_good_rest_raise_nothing() -> None:
    assert seen(24, 25, 24) == ()
    assert seen(6, 7, 6, phase=Phase.REST) == ()


def test_frost_is_a_danger_wherever_it_is_seen() -> None:
    (frost,) = seen(3, -1, 3, phase=Phase.REST)
    assert frost.cautions == ("REST-TOO-COLD",)
    assert "-1 °C on 11 January 2027 at 00:00" in frost.sentence
    assert ids(seen(24, 1.5)) == ["REST-TOO-COLD"]


@pytest.mark.parametrize(
    ("dormancy", "value", "expected"),
    [
        (DormancyClass.HOMO, 17, ["REST-TROPICAL"]),
        (DormancyClass.HOMO, 18, []),
        (DormancyClass.QUASI, 14, ["REST-NONE"]),
        (DormancyClass.QUASI, 15, []),
        (DormancyClass.EXO, 14, []),
    ],
)
def test_ants_without_a_winter_are_warned_early(dormancy: DormancyClass, value: float, expected: list[str]) -> None:
    assert ids(seen(value, profile=builders.profile(dormancy=dormancy))) == expected


@pytest.mark.parametrize(
    ("value", "heated", "expected"),
    [
        (30, True, []),
        (31, True, ["HEAT-WALL"]),
        (36, True, ["HEAT-OFF", "HEAT-WALL"]),
        (36, False, ["FIX-03", "HEAT-WALL"]),
    ],
)
def test_heat_is_judged_by_the_limits_of_the_species(value: float, heated: bool, expected: list[str]) -> None:  # noqa: FBT001 - a case
    heater = Heater(thermostat=True) if heated else None
    assert ids(seen(value, colony=builders.colony(heater=heater))) == expected


def test_a_warm_rest_is_counted_in_days() -> None:
    (warm,) = seen(7, 11, 12, 9, phase=Phase.REST)
    assert "2 of 4 days" in warm.sentence
    assert warm.cautions == ("REST-TOO-WARM",)


def test_a_mild_rest_does_not_borrow_the_line_for_cold_climates() -> None:
    (warm,) = seen(14, 18, phase=Phase.REST, rest=builders.rest_plan(Phase.REST, DAY, Band(12, 15)))
    assert warm.cautions == ()


def test_a_fall_of_a_week_in_one_day_is_named() -> None:
    found = seen(20, 14, phase=Phase.COOL_DOWN)
    assert ids(found) == ["REST-COOL-SLOWLY"]
    assert "6 °C" in found[0].sentence
    assert ids(seen(24, 20, phase=Phase.COOL_DOWN)) == []


def test_dry_air_matters_in_the_rest_only() -> None:
    assert ids(seen(30, quantity=Quantity.HUMIDITY, phase=Phase.REST)) == ["REST-DRY-AIR"]
    assert seen(30, quantity=Quantity.HUMIDITY) == ()


def test_keepers_read_their_own_scale() -> None:
    (frost, *_) = seen(-5, keeper=builders.keeper(units=Units.FAHRENHEIT))
    assert "23 °F" in frost.sentence
    # Derived: a difference of 10 C is one of 18 F, without the 32.
    assert say_difference(10, Units.FAHRENHEIT) == "18 °F"


def test_the_wanted_band_follows_the_phase() -> None:
    rest = builders.rest_plan(Phase.REST, DAY)
    wanted = wanted_band(builders.profile(), (rest,), Spot.ROOM)
    assert wanted(DAY) == Band(5, 8)
    assert wanted(DAY + timedelta(days=90)) == Band(21, 27)
    assert wanted_band(builders.profile(active_c=None), (), Spot.ROOM)(DAY) == Band(20, 30)


def test_the_wanted_band_follows_the_spot() -> None:
    rest = builders.rest_plan(Phase.REST, DAY)
    summer = DAY + timedelta(days=90)
    assert wanted_band(builders.profile(), (rest,), Spot.REST)(summer) == Band(5, 8)
    assert wanted_band(builders.profile(), (), Spot.REST)(summer) is None
    assert wanted_band(builders.profile(), (rest,), Spot.OUTWORLD)(DAY) is None
    wall = wanted_band(builders.profile(), (), Spot.WARM_WALL)(summer)
    assert wall is not None
    assert (wall.low, wall.high) == (21, max(27, heat_limits(builders.profile()).warn_c))


def test_a_warm_room_is_no_warm_rest_and_a_hot_cellar_in_summer_harms_nobody() -> None:
    assert ids(seen(14, phase=Phase.REST, spot=Spot.NEST)) == ["REST-TOO-WARM"]
    assert seen(14, phase=Phase.REST, spot=Spot.ROOM) == ()
    assert "HEAT-WALL" in ids(seen(40, spot=Spot.NEST))
    assert seen(40, spot=Spot.REST) == ()
    assert ids(seen(-2, spot=Spot.REST)) == ["REST-TOO-COLD"], "frost counts before the rest begins"


def test_rests_of_the_past_are_found_for_a_long_series() -> None:
    days = [DAY + timedelta(days=ahead) for ahead in range(0, 800, 7)]
    rests = rests_during(builders.situation(), days)
    winters = [rest.phases[0].start.year for rest in rests]
    assert winters == [2026, 2027, 2028]
    wanted = wanted_band(builders.profile(), rests, Spot.NEST)
    assert wanted(DAY) == wanted(DAY + timedelta(days=365)) == Band(5, 8)
    homo = builders.situation(profile=builders.profile(dormancy=DormancyClass.HOMO))
    assert [rest.phases for rest in rests_during(homo, days)] == [()]


def test_rest_credit_is_milder_for_mild_winters() -> None:
    assert rest_credit(builders.profile()) == FULL_CREDIT_C
    assert rest_credit(builders.profile(rest_target_c=14)) == FULL_CREDIT_MILD_C


def test_every_id_is_a_caution_of_the_handbook() -> None:
    raised = {"REST-TOO-COLD", "REST-TROPICAL", "REST-NONE", "HEAT-WALL", "HEAT-OFF", "FIX-03", "REST-TOO-WARM"}
    raised |= {"REST-COOL-SLOWLY", "REST-DRY-AIR"}
    files = (ROOT / "config" / "cautions").glob("*.toml")
    assert raised <= {name for file in files for name in tomllib.loads(file.read_text("utf-8"))}
