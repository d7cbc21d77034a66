"""Numbers of a logger: decimal points or commas, a unit behind them, and what the heading says of the unit."""

from __future__ import annotations

import re
from enum import StrEnum

from bot.care.logger.readings import Quantity
from bot.care.units import Band, Units, celsius

NUMBER = re.compile(r"([+\-\u2212]?\d{1,5}(?:[.,]\d{1,9})?)\s*(°?\s?[CF]|%(?:\s?R\.?H\.?)?)?", re.IGNORECASE | re.ASCII)
HUMID = re.compile(r"hum|feucht|moist|%|\br\.?h\b", re.IGNORECASE)
WARM = re.compile(r"temp|°|celsius|fahrenheit|\bt\b", re.IGNORECASE)
OTHER = re.compile(
    r"dew|taupunkt|batt|volt|press|druck|lux|light|licht|co2|vpd|signal|rssi|index|alarm|\babs", re.IGNORECASE
)
"""Columns that speak of something else, even where they carry a degree or a percent sign."""
SAYS_F = re.compile(r"°\s?f|fahrenheit|[\[(_ ]f[\])]?$", re.IGNORECASE)
SAYS_C = re.compile(r"°\s?c|celsius|[\[(_ ]c[\])]?$", re.IGNORECASE)
POSSIBLE = {Quantity.TEMPERATURE: Band(-60, 100), Quantity.HUMIDITY: Band(0, 100)}
"""What a room, a nest or a winter can show; beyond it a sensor fails (common ones then say 127, 999 or -127)."""
HOT_MEDIAN = 45.0
"""Readings around this and above are taken for Fahrenheit: no colony lives at 45 C."""


class UnitFound(StrEnum):
    """How the scale of a temperature column was found."""

    HEADING = "as its heading says"
    VALUES = "as written behind the values"
    GIVEN = "as you said"
    GUESSED = "by the size of the values"
    ASSUMED = "since nothing says otherwise"


def parts(text: str) -> tuple[float, str] | None:
    """The number in a cell and its unit in small letters (`c`, `f`, `%` or nothing); `None`: no number."""
    found = NUMBER.fullmatch(text.strip())
    if found is None:
        return None
    unit = (found.group(2) or "").lower().replace("°", "").strip()
    return float(found.group(1).replace(",", ".").replace("\u2212", "-")), unit[:1]


def is_number(text: str) -> bool:
    """Whether a cell is a number with or without a unit."""
    return parts(text) is not None


def is_other(heading: str) -> bool:
    """Whether a heading speaks of something we do not keep."""
    return OTHER.search(heading) is not None


def quantity_of(heading: str) -> Quantity | None:
    """What a heading says a column holds; `None`: nothing we keep."""
    if is_other(heading):
        return None
    if HUMID.search(heading) and not re.search(r"temp|°", heading, re.IGNORECASE):
        return Quantity.HUMIDITY
    return Quantity.TEMPERATURE if WARM.search(heading) else None


def scale(heading: str, units_behind: set[str], median: float, *, fahrenheit: bool | None) -> tuple[Units, UnitFound]:
    """The scale of a temperature column and how it was found; what the keeper says outranks the file."""
    said = (
        (UnitFound.GIVEN, fahrenheit is True, fahrenheit is False),
        (UnitFound.HEADING, SAYS_F.search(heading) is not None, SAYS_C.search(heading) is not None),
        (UnitFound.VALUES, "f" in units_behind, "c" in units_behind),
        (UnitFound.GUESSED, median >= HOT_MEDIAN, False),
    )
    for how, warm, cool in said:
        if warm or cool:
            return (Units.FAHRENHEIT if warm else Units.CELSIUS), how
    return Units.CELSIUS, UnitFound.ASSUMED


def possible(value: float, quantity: Quantity, units: Units) -> float | None:
    """The value in C or %; `None` where it cannot be."""
    kept = celsius(value, units) if quantity is Quantity.TEMPERATURE else value
    return kept if kept in POSSIBLE[quantity] else None
