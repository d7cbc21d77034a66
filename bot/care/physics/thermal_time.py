"""Arithmetic of warmth and cold over time: degree-days, chill counters, rates, growing season, warmth of the soil.

Formulas: Baskerville & Emin 1969 (single sine), extension pages of Oregon, Michigan and California (averages, triangle,
upper cut-off), Richardson et al. 1974 (Utah units), ETCCDI (growing season), soil-physics texts of Oklahoma State
(damping). The rest-day counter is a proposal of ours. Temperatures in C unless a name says otherwise.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import asin, cos, exp, pi, sqrt

from bot.care.errors import BadValueError
from bot.care.species import Development
from bot.care.units import Band, fahrenheit

BOLTZMANN_EV_PER_K = 8.617e-5
KELVIN = 273.15
UTAH_LIMITS_F = (34, 36, 48, 54, 60, 65)
UTAH_UNITS = (0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0)
FULL_CREDIT_C = Band(2, 8)
"""A day whose mean lies here counts as one rest day (proposal; the shape follows work on butterfly pupae)."""
FULL_CREDIT_MILD_C = Band(6, 14)
"""The same for species of mild winters."""
HALF_CREDIT_C = Band(0, 12)


def degree_days_average(low: float, high: float, threshold: float) -> float:
    """Degree-days of one day by the mean of its extremes; loses warmth on days that straddle the threshold."""
    _ordered(low, high)
    return max(0.0, (low + high) / 2 - threshold)


def degree_days_substituted(low: float, high: float, threshold: float, upper: float) -> float:
    """Degree-days of one day by the mean, after both extremes are drawn inside `threshold`..`upper`."""
    _ordered(low, high)
    usable = Band(threshold, upper)
    return (usable.clamp(low) + usable.clamp(high)) / 2 - threshold


def degree_days_sine(low: float, high: float, threshold: float, upper: float | None = None) -> float:
    """Degree-days of one day under a single sine curve; warmth above `upper` is cut off level (our default method)."""
    return _cut_off(_sine, low, high, threshold, upper)


def degree_days_triangle(low: float, high: float, threshold: float, upper: float | None = None) -> float:
    """Degree-days of one day under a single triangle, with the same level cut-off."""
    return _cut_off(_triangle, low, high, threshold, upper)


def development_days(development: Development, temperature: float) -> float | None:
    """Days from egg to worker at a steady temperature; `None` at or below the threshold: never."""
    warmth = temperature - development.threshold_c
    return development.degree_days / warmth if warmth > 0 else None


def q10_factor(temperature: float, q10: float = 2.0, reference: float = 25.0) -> float:
    """Rate at a temperature relative to the rate at `reference`."""
    return float(q10 ** ((temperature - reference) / 10))


def q10_between(cool: float, rate_cool: float, warm: float, rate_warm: float) -> float:
    """The Q10 that two rates at two temperatures imply."""
    return float((rate_warm / rate_cool) ** (10 / (warm - cool)))


def q10_of_activation_energy(electronvolts: float, cool: float, warm: float) -> float:
    """The Q10 that an activation energy implies between two temperatures (Boltzmann factor)."""
    inverse = 1 / (cool + KELVIN) - 1 / (warm + KELVIN)
    return q10_between(cool, 1.0, warm, exp(electronvolts / BOLTZMANN_EV_PER_K * inverse))


def mass_factor(times: float, exponent: float = 0.75) -> float:
    """How much more a whole colony burns when it weighs `times` as much (about 3/4 power across social insects)."""
    return float(times**exponent)


def chilling_hours(hourly: Iterable[float]) -> int:
    """Hours above 0 and up to 7.2 C (UC Davis)."""
    return sum(1 for temperature in hourly if 0 < temperature <= 7.2)


def utah_units(hourly: Iterable[float]) -> float:
    """Utah chill units of hourly temperatures. Made for fruit trees: nothing supports their negative units for ants."""
    return sum(UTAH_UNITS[bisect_left(UTAH_LIMITS_F, fahrenheit(temperature))] for temperature in hourly)


def rest_days(daily_means: Iterable[float], full: Band = FULL_CREDIT_C) -> float:
    """Rest days earned: one a day inside `full`, half outside it but within 0..12 C, else none; never negative."""
    return sum(1.0 if mean in full else 0.5 if mean in HALF_CREDIT_C else 0.0 for mean in daily_means)


@dataclass(frozen=True, slots=True)
class GrowingSeason:
    """First day of the season and first day after it; `None` where the year brought no such run."""

    start: date | None
    end: date | None

    @property
    def days(self) -> int | None:
        """Length in days, when both ends are known."""
        return None if self.start is None or self.end is None else (self.end - self.start).days


def growing_season(
    daily_means: Sequence[float], first_day: date, threshold: float = 5.0, run: int = 6
) -> GrowingSeason:
    """Growing season of one year of daily means by the rule of the ETCCDI.

    Args:
        daily_means: one value a day without gaps, starting on `first_day`.
        first_day: 1 January in the north, 1 July in the south; the season may end from half a year later.
        threshold: the season lives above it.
        run: how many days in a row decide.
    """
    half = (date(first_day.year, 7, 1) if first_day.month < 7 else date(first_day.year + 1, 1, 1)) - first_day
    start = first_run(daily_means, lambda mean: mean > threshold, run)
    end = first_run(daily_means, lambda mean: mean < threshold, run, half.days)
    if start is not None and end is not None and end <= start:
        end = None
    return GrowingSeason(
        None if start is None else first_day + timedelta(days=start),
        None if end is None else first_day + timedelta(days=end),
    )


def first_run(values: Sequence[float], holds: Callable[[float], bool], run: int, begin: int = 0) -> int | None:
    """Position at which the first `run` values in a row that hold begin, from `begin` on; `None` without such a run."""
    length = 0
    for position in range(begin, len(values)):
        length = length + 1 if holds(values[position]) else 0
        if length == run:
            return position - run + 1
    return None


def damping_depth_m(diffusivity_m2_s: float, period_s: float) -> float:
    """Depth at which a temperature wave of the surface is down to 1/e."""
    return sqrt(diffusivity_m2_s * period_s / pi)


def damped_amplitude(surface: float, depth_m: float, damping_m: float) -> float:
    """Amplitude of a surface wave at a depth, in the unit of `surface`."""
    return surface * exp(-depth_m / damping_m)


def _ordered(low: float, high: float) -> None:
    if low > high:
        raise BadValueError("temperature_c", f"The low of a day ({low:g}) cannot lie above its high ({high:g}).")


def _cut_off(
    method: Callable[[float, float, float], float], low: float, high: float, threshold: float, upper: float | None
) -> float:
    _ordered(low, high)
    below = method(low, high, threshold)
    return below if upper is None else below - method(low, high, upper)


def _sine(low: float, high: float, threshold: float) -> float:
    if high <= threshold:
        return 0.0
    middle, half = (low + high) / 2, (high - low) / 2
    if low >= threshold:
        return middle - threshold
    rise = asin((threshold - middle) / half)
    return ((middle - threshold) * (pi / 2 - rise) + half * cos(rise)) / pi


def _triangle(low: float, high: float, threshold: float) -> float:
    if high <= threshold:
        return 0.0
    if low >= threshold:
        return (low + high) / 2 - threshold
    return (high - threshold) ** 2 / (2 * (high - low))
