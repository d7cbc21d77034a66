"""Physics of a drying nest: what a wet face, a warmed edge or a tube loses, and when the water is nearly gone.

Surface loss after Penman 1948 without sun, with a still-air coefficient in the middle of the published ones; the two
drying stages have the shape of FAO-56 eq. 74. All losses are in g/day, water in ml (1 ml = 1 g), areas in cm2.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, log, pi

from bot.care.physics.air import (
    absolute_humidity,
    pressure_deficit,
    saturation_pressure,
    saturation_slope,
    vaporisation_heat,
    vapour_diffusivity,
    vapour_pressure,
)
from bot.care.units import Band

STILL_AIR = 2.0e-8
"""Mass transfer in still room air, kg/(m2 s Pa). Published forms reach from 0.8e-8 to 4e-8; judgement."""
DRAUGHT = 2 * STILL_AIR
"""The same with a fan or an open window on the nest."""
SURFACE_COEFFICIENT = 8.0
"""Heat that a face takes up from the room by air and radiation, W/(m2 K)."""
SECONDS_A_DAY = 86_400
CM2 = 1e-4


@dataclass(frozen=True, slots=True)
class Air:
    """Air around the nest: C, % relative humidity, and whether it moves."""

    temperature_c: float
    humidity_percent: float
    draughty: bool = False


@dataclass(frozen=True, slots=True)
class Warmth:
    """A heater at the wall: wall temperature in C, share of the wet area it warms, power in W where known."""

    wall_c: float
    share: float
    watts: float | None = None


def open_loss(air: Air, openness: float = 1.0) -> float:
    """Loss of an unheated wet face that cools itself, g/m2/h; 0 in saturated air."""
    coefficient = (DRAUGHT if air.draughty else STILL_AIR) * openness
    missing = pressure_deficit(air.temperature_c, air.humidity_percent)
    cooling = vaporisation_heat(air.temperature_c) * coefficient * saturation_slope(air.temperature_c)
    return coefficient * missing / (1 + cooling / SURFACE_COEFFICIENT) * 3600 * 1000


def held_loss(air: Air, wall_c: float, openness: float = 1.0) -> float:
    """Loss of a wet face that a heater holds at `wall_c`, g/m2/h; never below 0."""
    coefficient = (DRAUGHT if air.draughty else STILL_AIR) * openness
    missing = saturation_pressure(wall_c) - vapour_pressure(air.temperature_c, air.humidity_percent)
    return coefficient * max(missing, 0) * 3600 * 1000


def nest_loss(air: Air, wetted_cm2: float, openness: float, warmth: Warmth | None = None) -> float:
    """Loss of one watered side while its faces are wet, g/day.

    A wall that is no warmer than the room counts as unheated. The warmed part cannot evaporate more than its power
    allows.
    """
    square_metre_hours = wetted_cm2 * CM2 * 24
    cool = open_loss(air, openness) * square_metre_hours
    if warmth is None or warmth.wall_c <= air.temperature_c:
        return cool
    warm = warmth.share * held_loss(air, warmth.wall_c, openness) * square_metre_hours
    if warmth.watts is not None:
        warm = min(warm, warmth.watts / vaporisation_heat(warmth.wall_c) * SECONDS_A_DAY * 1000)
    # A weak heater only tempers a face; it never makes it lose less than it would unheated.
    return (1 - warmth.share) * cool + max(warm, warmth.share * cool)


def tube_loss(air: Air, bore_mm: float, path_cm: float, stirring: float = 1.0) -> float:
    """Loss through the open end of a tube by diffusion, g/day; `path_cm` from the wet cotton to the open end.

    `stirring` is 1 behind a loose second plug and about 2 in an open tube in use (both within a factor of 2).
    """
    area = pi * (bore_mm / 2000) ** 2
    missing = absolute_humidity(air.temperature_c, 100) - absolute_humidity(air.temperature_c, air.humidity_percent)
    return stirring * vapour_diffusivity(air.temperature_c) * area / (path_cm / 100) * missing * SECONDS_A_DAY


def supply(left: float, critical: float) -> float:
    """Share of the full loss that still happens: 1 in stage one, then in proportion to what is left (FAO-56 eq. 74)."""
    return 1.0 if left >= critical else max(left, 0) / critical


def stage_factor(critical_share: float, dry_share: float) -> float:
    """Days to fall to `dry_share`, as a multiple of water over loss; both are shares of the water given."""
    if critical_share <= dry_share:
        return 1 - dry_share
    return 1 - critical_share + critical_share * log(critical_share / dry_share)


def days_until(water_ml: float, loss: float, critical_share: float, dry_share: float, limits: Band) -> float:
    """Days until `dry_share` of the water is left, inside `limits`; no loss at all gives the upper limit."""
    longest = water_ml * stage_factor(critical_share, dry_share)
    if loss * limits.high <= longest:
        return limits.high
    return limits.clamp(longest / loss)


def water_curve(days: float, critical_share: float, dry_share: float, until: float) -> Iterator[tuple[float, float]]:
    """Share of the water left on 33 days spread over `until`, on the course that reaches `dry_share` after `days`."""
    pace = stage_factor(critical_share, dry_share) / days
    for step in range(33):
        day = until * step / 32
        past = pace * day - (1 - critical_share)
        share = 1 - pace * day if past <= 0 else critical_share * exp(-past / critical_share)
        yield day, max(share, 0.0)
