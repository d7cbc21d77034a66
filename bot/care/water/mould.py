"""Mould: how long a side may stay wet. A days-wet index for nests, built on the model behind it.

Model: Hukka and Viitanen 1999 (index 1 is traces under the microscope, 3 is visible) with later material classes;
lowest growth humidity after Zeng et al. 2023. The step from clean building materials to a nest that ants tend is
judgement, of low confidence.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import cosh, exp, log

from bot.care.errors import BadValueError

DRY_REST_DAYS = 7
"""A side with a high index stays dry this long before it is watered again (judgement)."""
HIGH_INDEX = 1.0
"""From here on traces of mould are expected."""


@dataclass(frozen=True, slots=True)
class GrowthClass:
    """Figures of one material class: pace below and from index 1, the parabola of the highest index, lowest RH in %."""

    early: float
    late: float
    a: float
    b: float
    c: float
    lowest_percent: float


class Sensitivity(Enum):
    """Material classes of the model (Viitanen and Ojanen 2007)."""

    VERY_SENSITIVE = GrowthClass(1, 2, 1, 7, 2, 80)
    SENSITIVE = GrowthClass(0.578, 0.386, 0.3, 6, 1, 80)
    MEDIUM = GrowthClass(0.072, 0.097, 0, 5, 1.5, 85)
    RESISTANT = GrowthClass(0.033, 0.014, 0, 3, 1, 85)


def critical_humidity(temperature_c: float) -> float:
    """Lowest relative humidity at which mould grows on pine, %, for 0 to 50 °C.

    Raises:
        BadValueError: outside the range the model was made for.
    """
    if not 0 <= temperature_c <= 50:
        raise BadValueError("temperature_c", "The mould model holds for 0 to 50 °C.")
    if temperature_c > 20:
        return 80.0
    cold = ((-0.00267 * temperature_c + 0.160) * temperature_c - 3.13) * temperature_c + 100
    return max(cold, 80.0)


def weeks_to_traces(temperature_c: float, humidity_percent: float) -> float:
    """Weeks until index 1 on pine sapwood under constant conditions."""
    return exp(-0.68 * log(temperature_c) - 13.9 * log(humidity_percent) + 66.02)


def weeks_to_visible(temperature_c: float, humidity_percent: float) -> float:
    """Weeks until index 3 on pine sapwood under constant conditions."""
    return exp(-0.74 * log(temperature_c) - 12.72 * log(humidity_percent) + 61.50)


def highest_index(sensitivity: Sensitivity, temperature_c: float, humidity_percent: float) -> float:
    """The index that growth approaches and never passes; at least 0."""
    kind = sensitivity.value
    critical = max(critical_humidity(temperature_c), kind.lowest_percent)
    excess = (critical - humidity_percent) / (critical - 100)
    return max(kind.a + kind.b * excess - kind.c * excess**2, 0.0)


def daily_growth(sensitivity: Sensitivity, temperature_c: float, humidity_percent: float, index: float) -> float:
    """Growth of the index a day; 0 where it is too dry or too cold to grow."""
    kind = sensitivity.value
    if temperature_c <= 0 or humidity_percent < max(critical_humidity(temperature_c), kind.lowest_percent):
        return 0.0
    pace = kind.early if index < 1 else kind.late
    room = max(1 - exp(2.3 * (index - highest_index(sensitivity, temperature_c, humidity_percent))), 0.0)
    return pace * room / (7 * weeks_to_traces(temperature_c, humidity_percent))


def growth_limit(temperature_c: float, k: float = 0.7153) -> float:
    """Relative humidity of a growth line, %: `k` 0.7153 is no growth, 0.8701 is 4 mm a day (Zeng et al. 2023)."""
    return 100 * (0.02633 * cosh(0.10083 * (temperature_c - 30)) + k)


DAYS_TO_TRACES = 7 * weeks_to_traces(25, 97)
"""8.92 days at 25 °C over a wet wall."""


@dataclass(frozen=True, slots=True)
class WetIndex:
    """Index of one side. It grows with wet days and falls to half in a dry spell of a week (less in a shorter one)."""

    value: float = 0.0

    def wet(self, days: float, temperature_c: float, sensitivity: float) -> WetIndex:
        """After more wet days. `sensitivity` is 1 for wood, cork and scraps, 0.58 for a used porous nest."""
        grown = sensitivity * (max(temperature_c, 0) / 25) ** 0.68 / DAYS_TO_TRACES * max(days, 0)
        return WetIndex(self.value + grown)

    def dry(self, days: float) -> WetIndex:
        """After a dry spell: seven days or more halve the index, they do not erase it."""
        share = min(max(days, 0) / DRY_REST_DAYS, 1)
        return WetIndex(self.value * 0.5**share)

    @property
    def level(self) -> int:
        """0 below 0.5, 1 from 0.5, 2 from 1 (traces expected), 3 from 2."""
        return sum(self.value >= step for step in (0.5, HIGH_INDEX, 2.0))
