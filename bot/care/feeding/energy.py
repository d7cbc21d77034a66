"""How much energy a colony needs in a week, and how it splits into prey and sugar.

Anchor: fire ant colonies eat 1.14 ± 0.29 kcal per gram live mass and week (Macom & Porter 1995). Temperature: Q10 1.8
(Camponotus vicinus, Lighton 1988). Phase and pace factors are engineering judgement; amounts are therefore estimates.
"""

from __future__ import annotations

from dataclasses import dataclass

from bot.care.colony import Amount, Brood
from bot.care.goods import Food
from bot.care.phase import Phase
from bot.care.species import Guild
from bot.care.units import Band

KCAL_PER_GRAM = 1.14
"""Per gram of colony and week at the reference temperature (Macom & Porter 1995, abstract)."""
KCAL_PER_GRAM_BAND = Band(0.85, 1.43)
"""One standard deviation around it."""
KCAL_PER_GRAM_SUGAR = 3.94
"""Gross energy of sucrose."""
Q10 = 1.8
REFERENCE_C = 28.0
"""Assumed temperature of the anchor study (low confidence)."""
NO_FOOD_C = 12.0
"""Outside the active season a colony at or below this eats nothing (common practice)."""
COOL_REST_C = 16.0
"""Up to here a resting colony takes a little sugar only (common practice)."""
WAKE_DAYS = 14
"""Days over which appetite returns after waking (judgement)."""

_BROOD_MASS = {Amount.NONE: 0.0, Amount.FEW: 0.25, Amount.SOME: 0.5, Amount.MANY: 1.0}
_RATIO = {Amount.NONE: 4.0, Amount.FEW: 2.0, Amount.SOME: 2.0, Amount.MANY: 1.5}
_MOST_RATIO = 8.0


@dataclass(frozen=True, slots=True)
class Composition:
    """Prey: energy in kcal per g dry mass, protein as a share of dry mass, dry mass as a share of wet mass."""

    energy_dry: float
    protein_dry: float
    dry_share: float


CRICKET = Composition(5.34, 0.649, 0.308)
"""House cricket after Barker et al. 1998 and Finke 2002 (second hand); stands in where a prey has no figures."""


@dataclass(frozen=True, slots=True)
class Diet:
    """One week's food in grams of dry mass."""

    prey_dry_g: float
    sugar_dry_g: float


def larvae_level(brood: Brood) -> tuple[Amount, bool]:
    """How many larvae feed, and whether that is assumed: the keeper's level, none without larvae, `some` if unknown."""
    if brood.larvae is False:
        return Amount.NONE, False
    if brood.level is None or (brood.larvae and brood.level is Amount.NONE):
        return Amount.SOME, True
    return brood.level, False


def colony_mass_g(workers: int, worker_mg: float, larvae: Amount) -> float:
    """Live mass in g of workers and larvae; a thriving colony carries as much brood as workers (Porter et al. 2015)."""
    return workers * worker_mg * (1 + _BROOD_MASS[larvae]) / 1000


def metabolic_factor(temperature_c: float) -> float:
    """Appetite against the reference temperature: 1 at 28 C, 0.625 at 20 C."""
    return float(Q10 ** ((temperature_c - REFERENCE_C) / 10))


def phase_factor(phase: Phase, temperature_c: float, phase_day: int = 0) -> float:
    """Share of the normal appetite, 0..1: nothing in deep rest, a tenth in a cool one, rising over two weeks after."""
    if phase is Phase.ACTIVE:
        return 1.0
    if temperature_c <= NO_FOOD_C:
        return 0.0
    if phase is Phase.RESUME:
        return min(1.0, 0.3 + 0.7 * max(phase_day, 0) / WAKE_DAYS)
    if phase is Phase.WIND_DOWN:
        return 0.7
    return 0.1 if temperature_c <= COOL_REST_C or phase is Phase.REST else 0.3


def weekly_energy(mass_g: float, temperature_c: float, *, pace: float = 1.0, phase: float = 1.0) -> float:
    """Energy need in kcal per week of a colony of `mass_g`; `pace` 1 is a fast tropical ant, `phase` as above."""
    return KCAL_PER_GRAM * mass_g * metabolic_factor(temperature_c) * pace * phase


def carbohydrate_ratio(larvae: Amount, guild: Guild, phase: Phase = Phase.ACTIVE) -> float:
    """Grams of carbohydrate per gram of protein to aim at, at most 8.

    Near 1.5 to 2 with larvae, 4 without (Dussutour & Simpson 2009 and 2012; a rule of thumb across species). Honeydew
    feeders lean further to sugar, and every colony doubles the share before its rest.
    """
    ratio = _RATIO[larvae]
    if guild in {Guild.HONEYDEW, Guild.HONEYPOT}:
        ratio *= 1.5
    if phase is Phase.WIND_DOWN:
        ratio *= 2
    return min(ratio, _MOST_RATIO)


def split_diet(energy_kcal: float, ratio: float, prey: Composition) -> Diet:
    """Splits a week's energy into prey and sugar so that sugar : protein equals `ratio`; 0 means prey alone."""
    prey_g = energy_kcal / (prey.energy_dry + KCAL_PER_GRAM_SUGAR * ratio * prey.protein_dry)
    return Diet(prey_g, ratio * prey.protein_dry * prey_g)


def composition_of(food: Food | None) -> Composition:
    """Composition of a prey from the handbook, or of a house cricket where a figure is missing."""
    if food is None or food.energy_dry is None or food.water_percent is None or food.protein_percent is None:
        return CRICKET
    dry = 100 - food.water_percent
    return Composition(food.energy_dry, food.protein_percent / dry, dry / 100)
