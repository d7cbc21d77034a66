"""Arithmetic of mixed diets: protein against carbohydrate, alarms for a lopsided one, and the classic agar batch.

Sources: Dussutour & Simpson 2009/2012 (ratios, one day of pure protein cost a fifth of a colony); Bhatkar & Whitcomb
1970 (agar batch, second hand). The days without food that raise an alarm are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.care.errors import BadValueError


class Alarm(StrEnum):
    """How urgent a lopsided diet is."""

    AMBER = "amber"
    RED = "red"


@dataclass(frozen=True, slots=True)
class Batch:
    """Ingredients of the agar diet. Grams and millilitres."""

    agar_g: float
    water_ml: float
    honey_ml: float
    egg_g: float
    vitamins_g: float
    minerals_g: float


CLASSIC_BATCH = Batch(agar_g=5, water_ml=500, honey_ml=62, egg_g=50, vitamins_g=1, minerals_g=1)
"""One batch after Bhatkar & Whitcomb 1970; vitamins and minerals from memory of a handbook. Poor in protein: offer prey
beside it."""
BATCH_RATIO = 11.0
"""Carbohydrate per protein of that batch (derived)."""
SMALLEST_SCALE = 0.05
"""Below this a household scale cannot weigh the agar."""


def scale_batch(scale: float) -> Batch:
    """The classic batch times `scale`, every ingredient alike.

    Raises:
        BadValueError: the scale is too small to weigh.
    """
    if not SMALLEST_SCALE <= scale <= 20:
        raise BadValueError("scale", "A batch can be scaled from 0.05 to 20; below that it cannot be weighed.")
    batch = CLASSIC_BATCH
    return Batch(
        agar_g=batch.agar_g * scale,
        water_ml=batch.water_ml * scale,
        honey_ml=batch.honey_ml * scale,
        egg_g=batch.egg_g * scale,
        vitamins_g=batch.vitamins_g * scale,
        minerals_g=batch.minerals_g * scale,
    )


def grams_per_litre(total_g: float, protein_parts: float, carbohydrate_parts: float) -> tuple[float, float]:
    """Protein and carbohydrate in g/L of a diet with `total_g` of both per litre, mixed in these parts.

    Raises:
        BadValueError: negative figures, or no parts at all.
    """
    parts = protein_parts + carbohydrate_parts
    if min(total_g, protein_parts, carbohydrate_parts) < 0 or parts == 0:
        raise BadValueError("parts", "Give the parts of protein and carbohydrate as positive numbers, such as 1 and 2.")
    return total_g * protein_parts / parts, total_g * carbohydrate_parts / parts


def balance_alarm(ratio: float, days: int) -> Alarm | None:
    """Red when less carbohydrate than protein was eaten for more than a day (`ratio` is carbohydrate per protein)."""
    return Alarm.RED if ratio < 1 and days > 1 else None


def sugar_gap_alarm(days: int) -> Alarm | None:
    """Amber when an active colony had no sugar for more than three days (common practice)."""
    return Alarm.AMBER if days > 3 else None


def protein_gap_alarm(days: int, *, larvae: bool) -> Alarm | None:
    """Amber when larvae had no protein for more than two weeks (common practice)."""
    return Alarm.AMBER if larvae and days > 14 else None
