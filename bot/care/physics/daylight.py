"""How long the light of a day lasts at a latitude, and when it first falls below or climbs above a length.

Declination: low-precision solar theory (Meeus, Astronomical Algorithms, ch. 25), within 0.3 minutes of an ephemeris up
to 65 degrees. Hour angle and zeniths: NOAA and the Almanac for Computers 1990. Polar days and nights are values: 24 and
0 hours. A length of day used for dates is a calendar convention of ours, never a threshold of an ant.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from enum import Enum
from functools import lru_cache
from math import acos, asin, cos, degrees, radians, sin

from bot.care.errors import BadValueError

JULIAN_DAY_OF_ORDINAL_0 = 1_721_424.5
"""Julian day at 00:00 UT of `date.toordinal() == 0`."""
J2000 = 2_451_545.0


class Horizon(Enum):
    """What counts as day: the zenith angle of the sun's centre, in degrees, at both ends of it."""

    SUNRISE = 90 + 50 / 60
    """Upper edge of the sun, with refraction: sunrise to sunset."""
    CENTRE = 90.0
    UPPER_EDGE = 90.26667
    """Upper edge without refraction (Forsythe et al. 1995)."""
    CIVIL = 96.0
    NAUTICAL = 102.0
    ASTRONOMICAL = 108.0


@lru_cache(maxsize=4096)
def declination(day: date) -> float:
    """Declination of the sun in degrees at 12:00 UT."""
    centuries = (day.toordinal() + JULIAN_DAY_OF_ORDINAL_0 + 0.5 - J2000) / 36525
    mean_longitude = 280.46646 + 36000.76983 * centuries + 0.0003032 * centuries**2
    anomaly = radians(357.52911 + 35999.05029 * centuries - 0.0001537 * centuries**2)
    centre = (
        (1.914602 - 0.004817 * centuries - 0.000014 * centuries**2) * sin(anomaly)
        + (0.019993 - 0.000101 * centuries) * sin(2 * anomaly)
        + 0.000289 * sin(3 * anomaly)
    )
    node = radians(125.04 - 1934.136 * centuries)
    longitude = radians(mean_longitude + centre - 0.00569 - 0.00478 * sin(node))
    obliquity = radians(23.4392911 - 0.0130042 * centuries + 0.00256 * cos(node))
    return degrees(asin(sin(obliquity) * sin(longitude)))


def day_length_hours(latitude: float, day: date, horizon: Horizon = Horizon.SUNRISE) -> float:
    """Hours of day at a signed latitude (north positive); 24 in a polar day, 0 in a polar night.

    Raises:
        BadValueError: a latitude outside -90..90.
    """
    if not -90 <= latitude <= 90:
        raise BadValueError("latitude", "Latitude lies between -90 (south) and 90 (north).")
    phi, delta = radians(latitude), radians(declination(day))
    wanted = cos(radians(horizon.value)) - sin(phi) * sin(delta)
    reach = cos(phi) * cos(delta)
    if wanted <= -reach:
        return 24.0
    if wanted >= reach:
        return 0.0
    return degrees(acos(wanted / reach)) * 2 / 15


@lru_cache(maxsize=8192)
def first_day_below(latitude: float, year: int, hours: float) -> date | None:
    """The first day of `year` after the local summer solstice that is shorter than `hours`; `None` if none is."""
    start, end = _half_year(year, falling=True, north=latitude >= 0)
    return _first(start, end, lambda day: day_length_hours(latitude, day) < hours)


@lru_cache(maxsize=8192)
def first_day_at_least(latitude: float, year: int, hours: float) -> date | None:
    """The first day of `year` after the local winter solstice that has at least `hours`; `None` if none has.

    In the north the search begins at the solstice of the year before.
    """
    start, end = _half_year(year, falling=False, north=latitude >= 0)
    return _first(start, end, lambda day: day_length_hours(latitude, day) >= hours)


def _half_year(year: int, *, falling: bool, north: bool) -> tuple[date, date]:
    """The half of the year in which days only shorten, or only lengthen, ending inside `year`."""
    if falling is north:
        return date(year, 6, 22), date(year, 12, 21)
    return date(year - 1, 12, 22), date(year, 6, 21)


def _first(start: date, end: date, holds: Callable[[date], bool]) -> date | None:
    """The first day in `start`..`end` on which `holds`, which stays true once it is; eight looks instead of 183."""
    if not holds(end):
        return None
    low, high = 0, (end - start).days
    while low < high:
        middle = (low + high) // 2
        if holds(start + timedelta(days=middle)):
            high = middle
        else:
            low = middle + 1
    return start + timedelta(days=low)
