"""The air around a nest, with defaults where the keeper has not measured.

Order: what the keeper measured, else the usual air of a resting place, else what the outdoor mean allows (EN 15026,
read second hand), else the season. Seasons and resting places are judgement.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bot.care.duty import Input
from bot.care.phase import COLD_PHASES
from bot.care.physics.drying import Air
from bot.care.place import Keeper
from bot.care.situation import Situation
from bot.care.units import Band, say_temperature

MODEL_C = Band(2, 38)
"""Room temperatures the drying model is used for."""
MODEL_PERCENT = Band(15, 90)

REST_PLACE_PERCENT = {"cellar": 75.0, "fridge": 50.0, "unheated room": 60.0, "outdoors": 75.0}
"""Judgement, on the dry side where it varies: too dry only means an early look."""
UNSAID_REST_PERCENT = 50.0
YEAR_ROUND_PERCENT = 50.0


@dataclass(frozen=True, slots=True)
class RoomAir:
    """Air as the drying model takes it, and how each value is explained."""

    air: Air
    inputs: tuple[Input, ...]


def indoor_temperature(outdoor_c: float) -> float:
    """Indoor air temperature in C from the outdoor daily mean (EN 15026)."""
    return Band(20, 25).clamp(15 + 0.5 * outdoor_c)


def indoor_humidity(outdoor_c: float, *, crowded: bool = False) -> float:
    """Indoor relative humidity in % from the outdoor daily mean (EN 15026, normal or high occupancy)."""
    return Band(40, 70).clamp(outdoor_c + 50) if crowded else Band(30, 60).clamp(outdoor_c + 40)


def season_humidity(day: date, keeper: Keeper) -> float:
    """Indoor relative humidity in % by season: heated winter 40, summer 55, else 50.

    The tropics and keepers of unknown latitude get 50 all year: we do not know their season.
    """
    if keeper.hemisphere is None or keeper.tropical:
        return YEAR_ROUND_PERCENT
    month = day.month if keeper.hemisphere == "north" else (day.month + 5) % 12 + 1
    if month in {12, 1, 2}:
        return 40.0
    return 55.0 if month in {6, 7, 8} else 50.0


def room_air(situation: Situation, outdoor_c: float | None = None) -> RoomAir:
    """The air for a situation. `outdoor_c` is the outdoor daily mean, where somebody knows it.

    Temperatures outside 2 to 38 °C and humidities outside 15 to 90 % are moved to the nearest the model can take.
    """
    warmth, temperature = _temperature(situation, outdoor_c)
    humidity, measured = _humidity(situation, outdoor_c)
    draughty = situation.place.draughty and situation.phase not in COLD_PHASES
    air = Air(MODEL_C.clamp(warmth), MODEL_PERCENT.clamp(humidity), draughty)
    shown = Input("humidity of the air around it", f"{air.humidity_percent:.0f} %", not measured)
    return RoomAir(air, (temperature, shown))


def _temperature(situation: Situation, outdoor_c: float | None) -> tuple[float, Input]:
    """Room temperature in C and its explanation; the outdoor mean stands in only where the default would."""
    shown = situation.room_input
    if outdoor_c is None or not shown.defaulted:
        return situation.room_c, shown
    indoor = indoor_temperature(outdoor_c)
    return indoor, Input(shown.label, say_temperature(indoor, situation.keeper.units), defaulted=True)


def _humidity(situation: Situation, outdoor_c: float | None) -> tuple[float, bool]:
    """Relative humidity in % and whether it was measured."""
    measured = situation.place.humidity_percent
    if situation.phase in COLD_PHASES:
        resting_place = situation.colony.rest.place
        if resting_place is not None:
            return REST_PLACE_PERCENT.get(resting_place, UNSAID_REST_PERCENT), False
        return (UNSAID_REST_PERCENT, False) if measured is None else (measured, True)
    if measured is not None:
        return measured, True
    if outdoor_c is not None:
        return indoor_humidity(outdoor_c), False
    return season_humidity(situation.day, situation.keeper), False
