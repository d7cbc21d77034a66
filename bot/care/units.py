"""Bands and the few unit conversions a keeper meets. Inside, everything is Celsius, millilitres, grams and days."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Units(StrEnum):
    """The temperature scale a keeper reads."""

    CELSIUS = "C"
    FAHRENHEIT = "F"


@dataclass(frozen=True, slots=True)
class Band:
    """A closed range `low <= high` in one unit."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.high:
            raise ValueError(f"a band runs from low to high, not from {self.low} to {self.high}")

    def clamp(self, value: float) -> float:
        """The nearest value inside the band."""
        return min(max(value, self.low), self.high)

    def __contains__(self, value: float) -> bool:
        return self.low <= value <= self.high

    @property
    def middle(self) -> float:
        """Halfway between both ends."""
        return (self.low + self.high) / 2


def fahrenheit(celsius: float) -> float:
    """A temperature in Fahrenheit."""
    return celsius * 9 / 5 + 32


def celsius(value: float, units: Units) -> float:
    """A temperature that a keeper typed in their own scale, in Celsius."""
    return value if units is Units.CELSIUS else (value - 32) * 5 / 9


def say_temperature(value: float, units: Units) -> str:
    """`22 °C`, `5.5 °C` or `72 °F`: half a degree Celsius is close to a whole one in Fahrenheit."""
    shown = round(value * 2) / 2 if units is Units.CELSIUS else round(fahrenheit(value))
    return f"{shown:g} °{units.value}"


def say_temperatures(band: Band, units: Units) -> str:
    """`5–8 °C` or `41–46 °F`."""
    low, high = (band.low, band.high) if units is Units.CELSIUS else (fahrenheit(band.low), fahrenheit(band.high))
    if round(low) == round(high):
        return f"{low:.0f} °{units.value}"
    return f"{low:.0f}–{high:.0f} °{units.value}"
