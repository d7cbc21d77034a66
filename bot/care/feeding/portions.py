"""Amounts a keeper can see: pieces of prey and drops of sugar water, from the energy model, with their doubt.

The offer is one and a half times the need (shells, evaporation), never over five times it. The doubt is half the amount
where the worker's mass is estimated, else a quarter (one standard deviation of the anchor study).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bot.care.colony import Amount
from bot.care.feeding.energy import (
    CRICKET,
    Composition,
    carbohydrate_ratio,
    colony_mass_g,
    phase_factor,
    split_diet,
    weekly_energy,
)
from bot.care.feeding.sugar import HOUSE_PERCENT
from bot.care.goods import Food
from bot.care.phase import Phase
from bot.care.species import Guild, SpeciesProfile
from bot.care.units import Band

DROP_G = 0.05
"""A drop of sugar water, twenty to the millilitre (common practice)."""
SEED_KCAL_PER_GRAM = 4.5
"""Energy of dry seeds (memory)."""
DEFAULT_PACE = 0.6
"""A medium pace where the profile has none (judgement)."""
BESIDE_SEEDS = 0.5
"""Harvesters need less prey than others: their seeds hold energy and protein too (judgement)."""
WASTE = 1.5
MOST_OVER_NEED = 5.0
LEAST_G = 0.001
"""Below a milligram nothing can be offered."""
_MOST_PIECES = 12
_NIGER_MG, _NIGER_MM = 2.0, 4.0
_STEPS = (0.125, 0.25, 0.5)
_SPOKEN_STEPS = {0.125: "an eighth of one", 0.25: "a quarter of one", 0.5: "half of one"}


@dataclass(frozen=True, slots=True)
class Mass:
    """Mean mass of a worker in mg, and how far amounts may be off: a share of the amount."""

    worker_mg: float
    doubt: float
    estimated: bool


@dataclass(frozen=True, slots=True)
class Eaters:
    """Who eats: workers, their mass, larvae, and how warm and in which phase they live."""

    workers: int
    mass: Mass
    larvae: Amount
    guild: Guild
    temperature_c: float
    phase: Phase = Phase.ACTIVE
    phase_day: int = 0
    pace: float = DEFAULT_PACE

    @property
    def energy_kcal(self) -> float:
        """Need of a week."""
        mass = colony_mass_g(self.workers, self.mass.worker_mg, self.larvae)
        phase = phase_factor(self.phase, self.temperature_c, self.phase_day)
        return weekly_energy(mass, self.temperature_c, pace=self.pace, phase=phase)

    def weekly_prey_g(self, prey: Composition = CRICKET) -> float:
        """Wet prey a week in g."""
        ratio = carbohydrate_ratio(self.larvae, self.guild, self.phase)
        share = BESIDE_SEEDS if self.guild is Guild.SEEDS else 1
        return share * split_diet(self.energy_kcal, ratio, prey).prey_dry_g / prey.dry_share

    def weekly_sugar_g(self, percent: float = HOUSE_PERCENT) -> float:
        """Sugar solution of `percent` a week in g."""
        ratio = carbohydrate_ratio(self.larvae, self.guild, self.phase)
        return split_diet(self.energy_kcal, ratio, CRICKET).sugar_dry_g / (percent / 100)

    def weekly_seeds_g(self) -> float:
        """Dry seeds a week in g, if they cover the whole need."""
        return self.energy_kcal / SEED_KCAL_PER_GRAM


@dataclass(frozen=True, slots=True)
class Portion:
    """One feeding: a figure with its band, and how a person says it. `grams` is what it weighs."""

    count: float
    band: Band
    grams: float
    words: str


def worker_mass(profile: SpeciesProfile) -> Mass | None:
    """Mass of a worker: the profile's, else from its length by the cube, anchored at Lasius niger (2 mg, 4 mm; memory).

    `None` when neither is known: then no amount is named.
    """
    if profile.worker_mg is not None:
        sure = profile.rank == "species" and profile.pace is not None
        return Mass(profile.worker_mg, 0.25 if sure else 0.5, estimated=False)
    if profile.worker_mm is None:
        return None
    return Mass(_NIGER_MG * (profile.worker_mm.middle / _NIGER_MM) ** 3, 0.5, estimated=True)


def offer_g(weekly_g: float, days: float, feedback: float = 1.0) -> float:
    """Grams for one feeding every `days`: the need, waste and feedback, at least 1 mg, at most five times the need.

    Nothing stays nothing.
    """
    need = weekly_g * days / 7
    if need <= 0:
        return 0.0
    return min(max(need * WASTE * feedback, LEAST_G), most_g(weekly_g, days))


def most_g(weekly_g: float, days: float) -> float:
    """The most that one feeding may weigh: five times the need, or 1 mg."""
    return max(LEAST_G, MOST_OVER_NEED * weekly_g * days / 7)


def prey_portion(grams: float, most: float, item_g: float, doubt: float) -> Portion:
    """Pieces of one prey for an offer of `grams`; small offers become an eighth, a quarter or half of a piece.

    Rounding up to what can be cut never lifts the portion over `most` grams.
    """
    exact = grams / item_g
    step = next((step for step in _STEPS if exact <= step), float(math.ceil(exact)))
    if exact <= _STEPS[0] / 2 or step * item_g > most:
        step = exact
    band = Band(step * (1 - doubt), step * (1 + doubt))
    return Portion(step, band, step * item_g, _say_pieces(step, band))


def _say_pieces(count: float, band: Band) -> str:
    if count in _SPOKEN_STEPS:
        return _SPOKEN_STEPS[count]
    if count < _STEPS[0]:
        return "a crumb no larger than a worker"
    if count < 1:
        return "a small piece"
    low, high = max(1, math.floor(band.low)), math.ceil(band.high)
    if count <= 1 and band.high < 1.5:
        return "one"
    if count <= 2:
        return "one or two" if high > 1 else "one"
    return f"about {_round_figure(count):.0f} ({_round_figure(low):.0f}–{_round_figure(high):.0f})"


def _round_figure(value: float) -> float:
    """Steps of five above twenty and of ten above a hundred: nobody counts more closely."""
    step = 1 if value < 20 else 5 if value < 100 else 10
    return round(value / step) * step


def sugar_portion(grams: float, doubt: float) -> Portion:
    """Drops of sugar water for an offer of `grams`."""
    drops = grams / DROP_G
    band = Band(drops * (1 - doubt), drops * (1 + doubt))
    if drops < 0.5:
        words = "a smear the size of a pinhead"
    elif drops < 1.5:
        words = "one drop"
    elif drops < 20:
        words = f"about {drops:.0f} drops ({max(1, math.floor(band.low))}–{math.ceil(band.high)})"
    else:
        words = f"about {_round_figure(drops * DROP_G):.0f} ml"
    return Portion(drops, band, grams, words)


def prey_that_fit(foods: Sequence[Food], grams: float, kinds: int = 1) -> tuple[Food, ...]:
    """Prey of which `grams` is an eighth of one to a dozen, nearest to one piece first.

    Where fewer than `kinds` are, the nearest others fill up, and small colonies get a crumb of them.
    """
    pieces = {food.id: grams / food.item_g for food in foods if food.item_g}
    weighed = sorted(
        (food for food in foods if food.item_g), key=lambda food: (abs(math.log(pieces[food.id])), food.id)
    )
    fitting = [food for food in weighed if _STEPS[0] <= pieces[food.id] <= _MOST_PIECES]
    others = [food for food in weighed if food not in fitting]
    return (*fitting, *others[: max(0, kinds - len(fitting))])
