"""Whether what a keeper said can be true. Every refusal is a sentence that says what would be right.

The bounds are generous judgement: they catch slips of the finger, not unusual colonies.
"""

from __future__ import annotations

from datetime import date

from bot.care.colony import Colony
from bot.care.culture import Culture
from bot.care.errors import BadValueError
from bot.care.handbook import Handbook

NAME_LIMIT = 40
NOTE_LIMIT = 500
OLDEST = date(1950, 1, 1)


def check_colony(colony: Colony, handbook: Handbook, today: date) -> None:
    """Refuse what cannot be.

    Raises:
        BadValueError: the first impossible value.
        UnknownNameError: a species, material, barrier or heater that the handbook does not hold.
    """
    check_name(colony.name)
    handbook.profile(colony.species)
    _goods(colony, handbook)
    _nest(colony)
    _heater(colony)
    for field, day in (("founded", colony.founded), ("arrived", colony.arrived), ("changed", colony.nest.changed)):
        check_past(field, day, today)
    if colony.outworld is not None:
        check_past("renewed", colony.outworld.renewed, today)
    _rest(colony)


def check_culture(culture: Culture, handbook: Handbook, today: date) -> None:
    """Refuse what cannot be.

    Raises:
        BadValueError: the first impossible value, or a kind of feeder insect that the handbook does not hold.
    """
    check_name(culture.name)
    if culture.kind not in handbook.feeders:
        raise _unknown("kind", culture.kind, tuple(handbook.feeders))
    check_past("started", culture.started, today)


def check_name(name: str) -> None:
    """A name is 1 to 40 visible characters on one line."""
    if not name.strip() or len(name) > NAME_LIMIT or not name.isprintable():
        raise BadValueError("name", f"A name has 1 to {NAME_LIMIT} letters, digits or signs, on one line.")


def check_past(field: str, day: date | None, today: date) -> None:
    """A day between 1950 and today."""
    if day is not None and not OLDEST <= day <= today:
        raise BadValueError(
            field,
            f"{day.isoformat()} cannot be “{field}”: give a day from {OLDEST.year} up to today, {today.isoformat()}.",
        )


def _goods(colony: Colony, handbook: Handbook) -> None:
    if colony.nest.material is not None and colony.nest.material not in handbook.materials:
        raise _unknown("material", colony.nest.material, tuple(handbook.materials))
    if colony.outworld is not None and colony.outworld.barrier is not None:
        barrier = colony.outworld.barrier
        if barrier not in handbook.barriers:
            raise _unknown("barrier", barrier, tuple(handbook.barriers))
    if colony.heater is not None and colony.heater.kind not in handbook.heaters:
        raise _unknown("heater", colony.heater.kind, tuple(handbook.heaters))


def _unknown(kind: str, name: str, known: tuple[str, ...]) -> BadValueError:
    return BadValueError(kind, f"“{name[:40]}” is no {kind} I know; it would be one of: {', '.join(sorted(known))}.")


def _nest(colony: Colony) -> None:
    nest = colony.nest
    _within("water_ml", nest.water_ml, 0.5, 500, "The water for one side is 0.5 to 500 ml.")
    _within("wetted_cm2", nest.wetted_cm2, 2, 2000, "The wetted area is 2 to 2000 cm².")
    _within("openness", nest.openness, 0.02, 1, "Openness is a share from 0.02 (closed) to 1 (bare walls).")
    _within("volume_cm3", nest.volume_cm3, 0.5, 1_000_000, "The room inside a nest is 0.5 to 1,000,000 cm³.")
    _within("bore_mm", nest.bore_mm, 3, 60, "The inner width of a tube is 3 to 60 mm.")


def _heater(colony: Colony) -> None:
    if colony.heater is None:
        return
    _within("hot_c", colony.heater.hot_c, 5, 60, "The temperature at the heated wall lies between 5 and 60 °C.")
    _within("share", colony.heater.share, 0, 1, "The warmed share of the nest lies between 0 and 1.")
    _within("watts", colony.heater.watts, 0.1, 500, "The power of a heater lies between 0.1 and 500 W.")


def _rest(colony: Colony) -> None:
    rest = colony.rest
    _within("weeks", rest.weeks, 1, 30, "A winter rest lasts 1 to 30 weeks.")
    for value in (rest.place_low_c, rest.place_high_c):
        _within("place_c", value, -30, 40, "The temperature of the resting place lies between -30 and 40 °C.")
    if rest.place_low_c is not None and rest.place_high_c is not None and rest.place_low_c > rest.place_high_c:
        raise BadValueError("place_low_c", "The coldest temperature of the resting place cannot be above the warmest.")
    _within("origin_latitude", rest.origin_latitude, -90, 90, "Latitude lies between -90 (south) and 90 (north).")


def _within(field: str, value: float | None, low: float, high: float, sentence: str) -> None:
    if value is not None and not low <= value <= high:
        raise BadValueError(field, sentence)
