"""A logger's file from the keeper's hand to the plan, through the real reader and the real store."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bot.adapters.logger_files.reader import read_logger_file
from bot.care.logger.readings import Quantity
from bot.care.logger.use import Measured
from bot.services.errors import NotYoursError
from bot.services.logger_reading import Hints, LoggerFileError
from bot.services.loggers import Loggers
from bot.services.planner import Planner
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, World


def loggers(world: World) -> Loggers:
    book = builders.handbook()
    return Loggers(world.units, Planner(book), book, read_logger_file)


def file(start: datetime, *daily: float, unit: str = "°C") -> bytes:
    midnight = start.replace(hour=0)
    lines = [
        f"{midnight + timedelta(days=day, hours=hour):%Y-%m-%d %H:%M};{value}"
        for day, value in enumerate(daily)
        for hour in range(24)
    ]
    return "\n".join([f"time;{unit}", *lines]).encode()


@pytest.mark.asyncio
async def test_a_file_is_judged_before_anything_changes(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    before = await world.keepers.get(ALMA)
    view = await loggers(world).look(ALMA, colony.id, file(START - timedelta(days=4), 25, 26, 33), START)
    assert view.preview.used == 72
    assert view.found[Quantity.TEMPERATURE].hours_above == pytest.approx(24, abs=1)  # 33 °C against 21 to 27 °C
    assert [warning.cautions for warning in view.warnings] == [("HEAT-WALL",)]
    assert view.measured.room_c == pytest.approx(28, abs=0.2)
    assert await world.keepers.get(ALMA) == before


@pytest.mark.asyncio
async def test_kept_values_change_the_room_and_the_plan(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    view = await loggers(world).look(ALMA, colony.id, file(START - timedelta(days=4), 27, 27, 27), START)
    await loggers(world).keep(ALMA, colony.id, view.measured, START)
    keeper = await world.keepers.get(ALMA)
    assert keeper.places[0].temperature_c == 27.0
    assert keeper.places[0].humidity_percent == 50  # as it was: the file held none


@pytest.mark.asyncio
async def test_a_winter_of_the_past_is_held_against_its_own_rest(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    winter = datetime(2027, 1, 10)  # noqa: DTZ001 - a wall time of the file
    view = await loggers(world).look(ALMA, colony.id, file(winter, 6, 6, 12, 6), START)
    assert view.wanted(winter.date()) == builders.profile().rest_band_c
    assert "rest was too warm" in view.warnings[0].sentence
    kept = await loggers(world).keep(ALMA, colony.id, view.measured, START)
    assert (kept.colony.rest.place_low_c, kept.colony.rest.place_high_c) == (6.0, 12.0)
    assert (await world.keepers.get(ALMA)).places[0].temperature_c == 24


@pytest.mark.asyncio
async def test_hints_reach_the_reader(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    data = file(START - timedelta(days=4), 40, 40, unit="value")
    view = await loggers(world).look(ALMA, colony.id, data, START, Hints(fahrenheit=True))
    assert view.found[Quantity.TEMPERATURE].mean == pytest.approx(4.44, abs=0.01)  # 40 °F


@pytest.mark.asyncio
async def test_nobody_reads_into_the_colony_of_another(world: World) -> None:
    await world.settle()
    await world.settle(BRUNO)
    colony = (await world.register()).record
    with pytest.raises(NotYoursError):
        await loggers(world).look(BRUNO, colony.id, file(START, 20, 20), START)
    with pytest.raises(NotYoursError):
        await loggers(world).keep(BRUNO, colony.id, Measured(room_c=20), START)


@pytest.mark.asyncio
async def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    with pytest.raises(LoggerFileError, match="is empty"):
        await loggers(world).look(ALMA, colony.id, b"", START)
