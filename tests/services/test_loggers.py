"""A logger's file from the keeper's hand to the plan, through the real reader and the real store."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from bot.adapters.logger_files.reader import read_logger_file
from bot.care.colony import Heater
from bot.care.errors import BadValueError
from bot.care.logger.readings import Quantity
from bot.care.logger.spot import Spot
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
    view = await loggers(world).look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 25, 26, 33), START)
    assert view.preview is not None
    assert view.preview.used == 72
    assert view.found[Quantity.TEMPERATURE].hours_above == pytest.approx(24, abs=1)  # 33 °C against 21 to 27 °C
    assert [warning.cautions for warning in view.warnings] == [("HEAT-WALL",)]
    assert view.measured.room_c == pytest.approx(28, abs=0.2)
    assert await world.keepers.get(ALMA) == before


@pytest.mark.asyncio
async def test_kept_values_change_the_room_and_the_plan(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    await loggers(world).look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 27, 27, 27), START)
    await loggers(world).keep(ALMA, colony.id, START)
    keeper = await world.keepers.get(ALMA)
    assert keeper.places[0].temperature_c == 27.0
    assert keeper.places[0].humidity_percent == 50  # as it was: the file held none


@pytest.mark.asyncio
async def test_a_winter_of_the_past_is_held_against_its_own_rest(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    winter = datetime(2027, 1, 10)  # noqa: DTZ001 - a wall time of the file
    view = await loggers(world).look(ALMA, colony.id, Spot.REST, file(winter, 6, 6, 12, 6), START)
    assert view.wanted(winter.date()) == builders.profile().rest_band_c
    assert "rest was too warm" in view.warnings[0].sentence
    kept = (await loggers(world).keep(ALMA, colony.id, START)).colony
    assert (kept.colony.rest.place_low_c, kept.colony.rest.place_high_c) == (6.0, 12.0)
    assert (await world.keepers.get(ALMA)).places[0].temperature_c == 24


@pytest.mark.asyncio
async def test_hints_reach_the_reader(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    data = file(START - timedelta(days=4), 40, 40, unit="value")
    view = await loggers(world).look(ALMA, colony.id, Spot.ROOM, data, START, Hints(fahrenheit=True))
    assert view.found[Quantity.TEMPERATURE].mean == pytest.approx(4.44, abs=0.01)  # 40 °F


@pytest.mark.asyncio
async def test_nobody_reads_into_the_colony_of_another(world: World) -> None:
    await world.settle()
    await world.settle(BRUNO)
    colony = (await world.register()).record
    with pytest.raises(NotYoursError):
        await loggers(world).look(BRUNO, colony.id, Spot.ROOM, file(START, 20, 20), START)
    with pytest.raises(NotYoursError):
        await loggers(world).keep(BRUNO, colony.id, START)


@pytest.mark.asyncio
async def test_a_file_that_cannot_be_read_is_refused_in_a_sentence(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    with pytest.raises(LoggerFileError, match="is empty"):
        await loggers(world).look(ALMA, colony.id, Spot.ROOM, b"", START)


@pytest.mark.asyncio
async def test_several_uploads_join_and_all_of_it_is_judged(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    cases = loggers(world)
    await cases.look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=10), 24, 24, -1), START)
    await cases.keep(ALMA, colony.id, START)
    view = await cases.look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 24, 24), START)
    assert view.earlier == (START - timedelta(days=10)).date()
    assert view.found[Quantity.TEMPERATURE].lowest.value == -1
    assert view.warnings[0].cautions == ("REST-TOO-COLD",), "the frost of the earlier file is not forgotten"
    await cases.keep(ALMA, colony.id, START)
    (kept,) = await cases.history(ALMA, colony.id, START)
    assert len(kept.series[Quantity.TEMPERATURE].readings) == 5 * 24
    assert len(kept.found[Quantity.TEMPERATURE].gaps) == 1


@pytest.mark.asyncio
async def test_spots_are_kept_apart(world: World) -> None:
    await world.settle()
    colony = (await world.colonies.add(ALMA, builders.colony(name="Dusk", heater=Heater()), START)).record
    cases = loggers(world)
    for spot, warmth in ((Spot.ROOM, 22), (Spot.WARM_WALL, 29)):
        await cases.look(ALMA, colony.id, spot, file(START - timedelta(days=3), warmth, warmth), START)
        await cases.keep(ALMA, colony.id, START)
    views = await cases.history(ALMA, colony.id, START)
    assert [view.spot for view in views] == [Spot.ROOM, Spot.WARM_WALL]
    assert views[0].colony.colony.heater is not None
    assert views[0].colony.colony.heater.hot_c == 29
    assert (await world.keepers.get(ALMA)).places[0].temperature_c == 22, "never the warm wall for the room"


@pytest.mark.asyncio
async def test_what_waits_is_replaced_by_the_next_file_and_goes_after_a_day(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    cases = loggers(world)
    await cases.look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 30, 30), START)
    await cases.look(ALMA, colony.id, Spot.NEST, file(START - timedelta(days=4), 25, 25), START)
    view = await cases.keep(ALMA, colony.id, START)
    assert view.spot is Spot.NEST
    with pytest.raises(BadValueError, match="waits no longer"):
        await cases.keep(ALMA, colony.id, START)
    await cases.look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 30, 30), START)
    with pytest.raises(BadValueError, match="waits no longer"):
        await cases.keep(ALMA, colony.id, START + timedelta(days=2))


@pytest.mark.asyncio
async def test_readings_can_be_forgotten(world: World) -> None:
    await world.settle()
    colony = (await world.register()).record
    cases = loggers(world)
    await cases.look(ALMA, colony.id, Spot.ROOM, file(START - timedelta(days=4), 25, 25), START)
    await cases.keep(ALMA, colony.id, START)
    assert await cases.forget(ALMA, colony.id) == 1
    assert not await cases.history(ALMA, colony.id, START)
    assert (await world.keepers.get(ALMA)).places[0].temperature_c == 25
