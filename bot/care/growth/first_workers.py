"""When a founding queen's first workers may be expected, from the day eggs were seen and the warmth of the brood.

Linear degree-days of the species' profile, or an honest "not known". Brood no longer speeds up above the optimum
(fire ants 32 C, Porter & Tschinkel 1993), so no date is named there.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.physics.thermal_time import development_days
from bot.care.species import SpeciesProfile
from bot.care.units import Band

LINEAR_UP_TO_C = 32.0
LONGEST_DAYS = 400


@dataclass(frozen=True, slots=True)
class FirstWorkers:
    """When the first workers may be seen; the dates are `None` where it cannot be said, and the sentence says why."""

    sentence: str
    earliest: date | None = None
    expected: date | None = None
    latest: date | None = None


def brood_days(temperature_c: float, profile: SpeciesProfile) -> Band | None:
    """Days from egg to worker at a steady temperature, `None` where no figure is known or nothing develops."""
    model = profile.development
    days = None if model is None else development_days(model, temperature_c)
    if model is None or days is None or days > LONGEST_DAYS or temperature_c > LINEAR_UP_TO_C:
        return None
    return Band(days * (1 - model.spread), days * (1 + model.spread))


def expected_first_workers(eggs_seen: date, temperature_c: float, profile: SpeciesProfile) -> FirstWorkers:
    """When workers from eggs seen on a day may be expected, at the temperature of the brood."""
    band = brood_days(temperature_c, profile)
    if band is not None:
        early, middle, late = (eggs_seen + timedelta(days=round(d)) for d in (band.low, band.middle, band.high))
        sentence = f"First workers about {middle.isoformat()}, between {early.isoformat()} and {late.isoformat()}."
        return FirstWorkers(f"{sentence} This is an estimate from warmth alone.", early, middle, late)
    model = profile.development
    if model is None:
        return FirstWorkers(f"I have no figure for how fast {profile.name} brood grows, so I name no date.")
    if temperature_c > LINEAR_UP_TO_C:
        return FirstWorkers(
            "In such heat brood no longer grows faster and may die, so I name no date: offer a cooler end."
        )
    return FirstWorkers("At this temperature the brood hardly grows or not at all, so I name no date: keep it warmer.")
