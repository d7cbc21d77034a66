"""Feeder cultures: how long they take to grow, and when they want care.

Linear model: days = degree-days / (temperature - threshold), nothing at or below the observed stop (Tenebrio molitor:
2564 degree-days above 6 C, seen to stop at 15 C; Korean seven-temperature study). Unknown figures stay unknown.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.duty import Duty, Input, Why
from bot.care.evidence import PRACTICE
from bot.care.goods import FeederCulture
from bot.care.situation import Advice
from bot.care.units import Band, Units, say_temperature, say_temperatures

SPREAD = 0.15
"""Relative half-width of the time to grow (judgement: model and observation differ by 5 %, households by more)."""
MOST_DEATHS = 0.1
"""More unexplained deaths in a week than this share: discard the culture (judgement)."""
CAUTIONS = ("FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE")
_TOO_LONG_DAYS = 3650


@dataclass(frozen=True, slots=True)
class Growing:
    """How long a culture grows at a temperature; days are `None` where it does not, or where nobody knows."""

    days: float | None
    reason: str


def degree_days(temperatures: Iterable[float], culture: FeederCulture) -> float | None:
    """Degree-days gathered over daily mean temperatures; `None` where the threshold is unknown."""
    if culture.threshold_c is None:
        return None
    return sum(_gain(culture.threshold_c, culture.stop_c, day) for day in temperatures)


def _gain(threshold_c: float, stop_c: float | None, temperature_c: float) -> float:
    stopped = stop_c is not None and temperature_c <= stop_c
    return 0.0 if stopped else max(0.0, temperature_c - threshold_c)


def growing(culture: FeederCulture, temperature_c: float, units: Units = Units.CELSIUS) -> Growing:
    """Days a culture takes at a steady temperature."""
    if culture.threshold_c is None or culture.degree_days is None:
        return Growing(None, f"I have no figure for how fast {culture.name} grows.")
    gain = _gain(culture.threshold_c, culture.stop_c, temperature_c)
    shown = say_temperature(temperature_c, units)
    if gain == 0:
        return Growing(None, f"At {shown} {culture.name} does not grow.")
    days = culture.degree_days / gain
    return Growing(days, f"At {shown} {culture.name} takes about {days:.0f} days.")


def ready_between(culture: FeederCulture, temperature_c: float, started: date) -> tuple[date, date] | None:
    """First and last likely day on which a culture begun on `started` is grown; `None` where it never is."""
    days = growing(culture, temperature_c).days
    if days is None or days * (1 + SPREAD) > _TOO_LONG_DAYS:
        return None
    early, late = math.floor(days * (1 - SPREAD)), math.ceil(days * (1 + SPREAD))
    return started + timedelta(days=early), started + timedelta(days=late)


def is_failing(died: int, alive_before: int) -> bool:
    """Whether so many died within a week, without a known reason, that the whole culture goes."""
    return died > MOST_DEATHS * alive_before


def advise_feeder_care(
    culture: FeederCulture, temperature_c: float, started: date, units: Units = Units.CELSIUS
) -> Advice:
    """Care of one culture at its own interval, with the days on which it will be grown."""
    ready = ready_between(culture, temperature_c, started)
    facts: dict[str, float | str] = {"interval_days": culture.care_days, "culture": culture.id}
    reason = f"{culture.tasks} {growing(culture, temperature_c, units).reason}"
    if ready is not None:
        facts |= {"ready_from": ready[0].isoformat(), "ready_until": ready[1].isoformat()}
    if culture.best_c is not None and temperature_c not in culture.best_c:
        reason += f" It does best at {say_temperatures(culture.best_c, units)}."
    return Advice(
        duty=Duty.FEEDER_CARE,
        interval_days=culture.care_days,
        band_days=Band(max(1, culture.care_days - 2), culture.care_days + 2),
        reason=reason,
        why=Why(
            rule="Cultures are looked after at a fixed interval; growth adds up the warmth above a threshold.",
            inputs=(Input("temperature", say_temperature(temperature_c, units)), Input("begun", started.isoformat())),
            evidence=culture.evidence.get("care_days", PRACTICE),
            would_change=("A warmer or cooler place.", "Mites, mould or many deaths: discard the whole culture."),
        ),
        facts=facts,
        cautions=tuple(dict.fromkeys([*CAUTIONS, *culture.cautions])),
    )
