"""Where colonies stand: zone, latitude, room air; and the household that owns them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import time, tzinfo

from bot.care.colony import Colony
from bot.care.culture import Culture
from bot.care.errors import BadValueError
from bot.care.localtime import QuietHours
from bot.care.units import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A room with colonies. `None`: the keeper has not said; engines default and say so.

    Units: temperatures in C, humidity in % relative.
    """

    name: str = "home"
    temperature_c: float | None = None
    humidity_percent: float | None = None
    winter_temperature_c: float | None = None
    """Room temperature in the cold season, where it differs."""
    draughty: bool = False

    def __post_init__(self) -> None:
        for value in (self.temperature_c, self.winter_temperature_c):
            if value is not None and not -20 <= value <= 45:
                raise BadValueError("temperature_c", "A room temperature lies between -20 and 45 °C (-4 and 113 °F).")
        if self.humidity_percent is not None and not 1 <= self.humidity_percent <= 100:
            raise BadValueError("humidity_percent", "Relative humidity lies between 1 and 100 %.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """Settings of one keeper that the plan depends on. `zone` is the tzinfo of `zone_name`."""

    zone_name: str
    zone: tzinfo
    latitude: float | None = None
    """Signed, north positive; the adapters default it to the zone's principal location. `None`: unknown."""
    country: str | None = None
    """ISO 3166-1 alpha-2."""
    units: Units = Units.CELSIUS
    digest_at: time = time(18, 0)
    quiet: QuietHours = QuietHours(time(22, 0), time(7, 0))

    def __post_init__(self) -> None:
        if self.latitude is not None and not -90 <= self.latitude <= 90:
            raise BadValueError("latitude", "Latitude lies between -90 (south) and 90 (north).")

    @property
    def hemisphere(self) -> str | None:
        """`north` or `south` by the sign of the latitude; `None` when unknown. Inside the tropics it decides little."""
        if self.latitude is None:
            return None
        return "north" if self.latitude >= 0 else "south"

    @property
    def tropical(self) -> bool:
        """Whether the place lies between the tropics, where the calendar season must be asked, never assumed."""
        return self.latitude is not None and abs(self.latitude) < 23.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Household:
    """A keeper with places, colonies and feeder cultures. The first place stands in for whatever names none."""

    keeper: Keeper
    places: tuple[Place, ...] = field(default_factory=lambda: (Place(),))
    colonies: tuple[Colony, ...] = ()
    cultures: tuple[Culture, ...] = ()

    def place_of(self, kept: Colony | Culture) -> Place:
        """The place a colony or culture stands on.

        Raises:
            BadValueError: it names a place that the household does not have.
        """
        if kept.place is None:
            return self.places[0]
        for place in self.places:
            if place.name == kept.place:
                return place
        known = ", ".join(place.name for place in self.places)
        raise BadValueError("place", f"“{kept.name}” stands in “{kept.place}”, but the places are: {known}.")
