"""Sugar water: dilution, honey-water, molarity, how long it may stay out, and what must never go in.

Figures: strengths inside the range that ants drink best (Josens et al. 1998, Detrain & Prieur 2014); open times are
common practice; erythritol and boric acid kill ants (Klotz et al. 1997; J Econ Entomol 110:593, 2017).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.care.errors import BadValueError
from bot.care.units import Band

HOUSE_PERCENT = 20.0
"""Sugar water by mass: one part sugar, four parts water (common practice)."""
ALLOWED_PERCENT = Band(10, 30)
HONEY_SUGAR_PERCENT = 80.0
SUCROSE_G_PER_MOL = 342.30
HOT_C = 28.0
"""Above this every open time is halved."""


class Sweet(StrEnum):
    """What is dissolved."""

    SUCROSE = "sugar water"
    HONEY = "honey-water"


class Dish(StrEnum):
    """How it is offered or kept."""

    OPEN = "open dish"
    WICK = "closed feeder with a wick"
    FRIDGE = "stock in the fridge"


_OPEN_HOURS = {
    (Sweet.HONEY, Dish.OPEN): 24,
    (Sweet.SUCROSE, Dish.OPEN): 48,
    (Sweet.HONEY, Dish.WICK): 72,
    (Sweet.SUCROSE, Dish.WICK): 120,
    (Sweet.HONEY, Dish.FRIDGE): 168,
    (Sweet.SUCROSE, Dish.FRIDGE): 336,
}
_NEVER = ("erythritol", "boric acid", "borax")
_AVOID = ("aspartame", "saccharin", "sucralose", "stevia", "xylitol", "sorbitol", "maltitol", "isomalt", "sweetener")


@dataclass(frozen=True, slots=True)
class Mixture:
    """Grams of sugar and of water."""

    sugar_g: float
    water_g: float


@dataclass(frozen=True, slots=True)
class IngredientVerdict:
    """Whether something may be offered as sugar, and the cautions to show with the answer."""

    allowed: bool
    reason: str
    cautions: tuple[str, ...] = ()


def mix(total_g: float, percent: float) -> Mixture:
    """Sugar and water for `total_g` of a solution of `percent` by mass.

    Raises:
        BadValueError: no amount, or a percentage that is none.
    """
    if not (total_g > 0 and 0 < percent < 100):
        raise BadValueError("percent", "Give a positive amount in grams and a strength between 0 and 100 %.")
    sugar = total_g * percent / 100
    return Mixture(sugar, total_g - sugar)


def water_parts(stock_percent: float, wanted_percent: float) -> float:
    """Parts of water by mass for one part of stock, to thin it down to `wanted_percent`.

    Raises:
        BadValueError: the stock is weaker than what is wanted.
    """
    if not 0 < wanted_percent <= stock_percent <= 100:
        raise BadValueError(
            "wanted_percent", "Water only thins: the wanted strength must lie above 0 and below the stock."
        )
    return stock_percent / wanted_percent - 1


def honey_water_percent(parts_water: float) -> float:
    """Sugar percent by mass of one part honey with `parts_water` parts of water.

    Raises:
        BadValueError: a negative part.
    """
    if parts_water < 0:
        raise BadValueError("parts_water", "Parts of water cannot be negative; 3 is a good start.")
    return HONEY_SUGAR_PERCENT / (1 + parts_water)


def grams_per_litre(molar: float) -> float:
    """Sucrose in g per litre of a solution of `molar` mol/L."""
    return molar * SUCROSE_G_PER_MOL


def open_hours(sweet: Sweet, dish: Dish, temperature_c: float = 25.0) -> int:
    """Hours until it is replaced and the feeder washed; halved above 28 C (not in the fridge)."""
    hours = _OPEN_HOURS[sweet, dish]
    return hours // 2 if temperature_c > HOT_C and dish is not Dish.FRIDGE else hours


def is_expired(sweet: Sweet, dish: Dish, hours: float, temperature_c: float = 25.0) -> bool:
    """Whether it stood longer than its open time."""
    return hours > open_hours(sweet, dish, temperature_c)


def judge_ingredients(text: str) -> IngredientVerdict:
    """Reads an ingredient or a label and refuses sugar substitutes and poisons by name."""
    words = text.casefold()
    found = next((name for name in _NEVER if name in words), None)
    if found is not None:
        return IngredientVerdict(
            allowed=False, reason=f"Never: {found} kills ants, and the nest shares it.", cautions=("SUGAR-SWEETENER",)
        )
    found = next((name for name in _AVOID if name in words), None)
    if found is not None:
        reason = f"Leave it out: {found} gives ants no energy, and nobody has shown that it is safe for them."
        return IngredientVerdict(allowed=False, reason=reason, cautions=("SUGAR-SWEETENER",))
    cautions = ("SUGAR-FRESH", "SUGAR-DROWN")
    if "honey" in words:
        reason = "Honey works when thinned; plain sugar water is the safer habit."
        return IngredientVerdict(allowed=True, reason=reason, cautions=(*cautions, "SUGAR-HONEY"))
    return IngredientVerdict(
        allowed=True, reason="No sugar substitute or poison that I know is named here.", cautions=cautions
    )
