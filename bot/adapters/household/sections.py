"""What a household file may hold, table by table: names, kinds of value, and bounds."""

from __future__ import annotations

from datetime import date, time
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from bot.care.colony import Amount, NestKind, Side, Stage
from bot.care.culture import MOST_ANIMALS, CultureEvent
from bot.care.duty import Duty, Outcome
from bot.care.units import Units


class Section(BaseModel):
    """A table of the file; keys that it does not know are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class KeeperSection(Section):
    """`[keeper]`."""

    timezone: str
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    country: Annotated[str, Field(pattern="^[A-Za-z]{2}$")] | None = None
    units: Units = Units.CELSIUS
    digest_at: time = time(18, 0)
    quiet_hours: tuple[time, time] = (time(22, 0), time(7, 0))


class PlaceSection(Section):
    """`[[place]]`. Temperatures in C."""

    name: str
    temperature_c: Annotated[float, Field(ge=-20, le=45)] | None = None
    humidity_percent: Annotated[float, Field(ge=1, le=100)] | None = None
    winter_temperature_c: Annotated[float, Field(ge=-20, le=45)] | None = None
    draughty: bool = False


class NestSection(Section):
    """`[colony.nest]`."""

    kind: NestKind | None = None
    material: str | None = None
    water_ml: Annotated[float, Field(ge=0.5, le=500)] | None = None
    wetted_cm2: Annotated[float, Field(ge=2, le=2000)] | None = None
    openness: Annotated[float, Field(ge=0.02, le=1)] | None = None
    volume_cm3: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    bore_mm: Annotated[float, Field(ge=3, le=60)] | None = None
    changed: date | None = None
    watered_side: Side = Side.A


class HeaterSection(Section):
    """`[colony.heater]`."""

    kind: str = "heat-cable"
    hot_c: Annotated[float, Field(ge=5, le=60)] | None = None
    share: Annotated[float, Field(ge=0, le=1)] | None = None
    watts: Annotated[float, Field(gt=0, le=500)] | None = None
    thermostat: bool | None = None


class OutworldSection(Section):
    """`[colony.outworld]`."""

    barrier: str | None = None
    renewed: date | None = None
    dusty: bool = False
    limestone: bool = False


class RestSection(Section):
    """`[colony.rest]`."""

    skip: bool = False
    start: date | None = None
    weeks: Annotated[float, Field(ge=1, le=30)] | None = None
    place: Literal["unheated room", "cellar", "fridge", "outdoors"] | None = None
    place_low_c: Annotated[float, Field(ge=-30, le=40)] | None = None
    place_high_c: Annotated[float, Field(ge=-30, le=40)] | None = None
    origin_latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    from_other_hemisphere_since: date | None = None
    first_year_queen: bool = False


class LogSection(Section):
    """`[[colony.log]]`."""

    day: date
    duty: Duty
    outcome: Outcome = Outcome.DONE
    side: Side | None = None
    food: str | None = None
    count: Annotated[int, Field(ge=0)] | None = None
    note: str | None = None


class ColonySection(Section):
    """`[[colony]]`."""

    name: str
    species: str
    workers: Annotated[int, Field(ge=0, le=20_000_000)] = 0
    queens: Annotated[int, Field(ge=0, le=100_000)] = 1
    brood: Amount | None = None
    eggs: bool | None = None
    larvae: bool | None = None
    pupae: bool | None = None
    stage: Stage | None = None
    founding: Literal["claustral", "semi-claustral", "parasitic", "budding"] | None = None
    founded: date | None = None
    arrived: date | None = None
    place: str | None = None
    nest: NestSection = NestSection()
    heater: HeaterSection | None = None
    outworld: OutworldSection | None = None
    rest: RestSection = RestSection()
    log: tuple[LogSection, ...] = ()


class NotedSection(Section):
    """`[[culture.noted]]`."""

    day: date
    event: CultureEvent = CultureEvent.CARE
    animals: Annotated[int, Field(ge=0, le=MOST_ANIMALS)] | None = None


class CultureSection(Section):
    """`[[culture]]`. Temperature in C."""

    name: str
    kind: str
    started: date | None = None
    animals: Annotated[int, Field(ge=0, le=MOST_ANIMALS)] | None = None
    place: str | None = None
    temperature_c: Annotated[float, Field(ge=-20, le=45)] | None = None
    noted: tuple[NotedSection, ...] = ()


class HouseholdFile(Section):
    """The whole file."""

    keeper: KeeperSection
    place: tuple[PlaceSection, ...] = ()
    colony: tuple[ColonySection, ...] = ()
    culture: tuple[CultureSection, ...] = ()


SECTIONS: dict[str, type[BaseModel]] = {
    "keeper": KeeperSection,
    "place": PlaceSection,
    "colony": ColonySection,
    "nest": NestSection,
    "heater": HeaterSection,
    "outworld": OutworldSection,
    "rest": RestSection,
    "log": LogSection,
    "culture": CultureSection,
    "noted": NotedSection,
}
"""Tables by the last word of their header."""
