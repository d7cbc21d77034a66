"""Time zones out of the pinned tzdata package, so that every host plans with the same rules.

Names, links and principal locations come from the tz database's own tables (`zone.tab`, `tzdata.zi`), which ship in
that package. The host's own copy is never asked: two copies can differ in which zones still change their clocks.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import tzinfo
from difflib import get_close_matches
from importlib import resources
from zoneinfo import ZoneInfo

import tzdata

from bot.care.errors import BadValueError, UnknownNameError

FIXED = re.compile(r"^(Etc/|SystemV/|[A-Z]{3}$|[A-Z]{3}\d[A-Z]{3}$|Factory$|UCT|Universal|Zulu|GMT|Greenwich)")
"""Names without a place: offsets and abbreviations. `Etc/UTC` and `UTC` stay choosable."""
COORDINATE = re.compile(r"^([+-])(\d{2})(\d{2})(\d{2})?[+-]")


class TzDatabase:
    """Implements `services.ports.Zones`."""

    def __init__(self) -> None:
        self.version: str = tzdata.IANA_VERSION
        folder = resources.files("tzdata")
        listed = folder.joinpath("zones").read_text("utf-8").split()
        self._links = _links(folder.joinpath("zoneinfo/tzdata.zi").read_text("utf-8"))
        self._places = _places(folder.joinpath("zoneinfo/zone.tab").read_text("utf-8"))
        self._names = tuple(sorted(name for name in listed if name == "UTC" or not FIXED.match(name)))
        self._by_folded = {name.casefold(): name for name in self._names}
        self._loaded: dict[str, ZoneInfo] = {}

    def names(self) -> Sequence[str]:
        """Every zone of a place, and UTC."""
        return self._names

    def get(self, name: str) -> tzinfo:
        """The rules of a zone, whatever the case of its letters.

        Raises:
            BadValueError: a bare abbreviation or offset, which has no clock changes.
            UnknownNameError: with the nearest names.
        """
        known = self._by_folded.get(name.strip().replace(" ", "_").casefold())
        if known is None:
            if FIXED.match(name):
                raise BadValueError(
                    "zone",
                    f"“{name[:30]}” is an abbreviation or an offset; choose the zone of a town, like Europe/Vienna.",
                )
            raise UnknownNameError("time zone", name, self.nearest(name))
        if known not in self._loaded:
            path = resources.files("tzdata").joinpath("zoneinfo", *known.split("/"))
            with path.open("rb") as file:
                self._loaded[known] = ZoneInfo.from_file(file, key=known)
        return self._loaded[known]

    def nearest(self, name: str, count: int = 3) -> tuple[str, ...]:
        """Zone names that resemble `name`; a town's name alone is enough."""
        wanted = name.strip().replace(" ", "_").casefold()
        towns = {folded.rsplit("/", 1)[-1]: zone for folded, zone in self._by_folded.items()}
        close = [self._by_folded[found] for found in get_close_matches(wanted, list(self._by_folded), count, 0.7)]
        close += [towns[found] for found in get_close_matches(wanted, list(towns), count, 0.7)]
        return tuple(dict.fromkeys(close))[:count]

    def latitude(self, name: str) -> float | None:
        """Latitude of the zone's principal location in degrees, north positive; `None` where the table has none."""
        place = self._place(name)
        return None if place is None else place[1]

    def country(self, name: str) -> str | None:
        """Country of the zone's principal location; `None` where the table has none."""
        place = self._place(name)
        return None if place is None else place[0]

    def _place(self, name: str) -> tuple[str, float] | None:
        return self._places.get(name) or self._places.get(self._links.get(name, ""))


def _places(table: str) -> dict[str, tuple[str, float]]:
    """Zone name -> (country, latitude) from the lines of `zone.tab`."""
    places: dict[str, tuple[str, float]] = {}
    for line in table.splitlines():
        if line.startswith("#"):
            continue
        country, coordinates, name = line.split("\t")[:3]
        found = COORDINATE.match(coordinates)
        if found is not None:
            sign, degrees, minutes, seconds = found.groups()
            size = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
            places[name] = (country, size if sign == "+" else -size)
    return places


def _links(rules: str) -> dict[str, str]:
    """Link name -> target from the `L` lines of `tzdata.zi`."""
    parts = (line.split() for line in rules.splitlines() if line.startswith("L "))
    return {link: target for _, target, link in parts}
