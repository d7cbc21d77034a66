"""Which food comes next for a colony, and why: turns, likes, and the few kinds of prey that a keeper need have.

Three kinds a month and no prey for more than three weeks are common practice; likes and refusals come from the log.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.care.duty import Why
from bot.care.feeding.meals import explain, foods_named, foods_of
from bot.care.feeding.portions import Portion
from bot.care.feeding.rhythm import Rhythm
from bot.care.feeding.tastes import KINDS, next_food
from bot.care.goods import Food, FoodKind
from bot.care.situation import Situation
from bot.care.species import Guild

FAITHFUL = frozenset({Guild.SMALL_PREY, Guild.BROOD_RAIDER})
"""Guilds that live on one kind of prey: variety is not forced on them."""
SPRINGTAIL_HUNTERS = frozenset({"Strumigenys"})
"""Genera that live on springtails (from memory), of which nobody gives a mass."""


def next_of(situation: Situation, foods: Sequence[Food], *, rotate: bool = True) -> Food | None:
    """Which of some foods comes next, after the log and what the plan itself offers before."""
    return next_food(foods, situation.colony.log, situation.day, situation.offered, rotate=rotate)


def prey_at_hand(situation: Situation, fitting: Sequence[Food]) -> tuple[Food, ...]:
    """Prey that takes turns, in order of fit: what the keeper has given, and what fits best up to three kinds."""
    named = foods_named(situation, FoodKind.PREY)
    if situation.profile.genus in SPRINGTAIL_HUNTERS:
        fitting = [*(food for food in foods_of(situation, FoodKind.PREY) if food.id == "springtail"), *fitting]
    more = [food for food in fitting if food not in named][: max(0, KINDS - len(named))]
    return (
        *(food for food in fitting if food in named or food in more),
        *(food for food in named if food not in fitting),
    )


def explain_prey(situation: Situation, rhythm: Rhythm, food: Food | None, portion: Portion | None) -> Why:
    """As any feeding, and why this prey."""
    why = explain(situation, rhythm, portion)
    if food is None:
        return why
    if FAITHFUL.intersection(situation.profile.guilds):
        return replace(why, rule=f"{why.rule} These ants live on one kind of prey, so the best liked comes again.")
    turns = f"{why.rule} Prey takes turns: of what fits this colony, the kind offered longest ago comes next."
    return replace(why, rule=turns, would_change=(*why.would_change, "Prey that is refused twice waits four weeks."))
