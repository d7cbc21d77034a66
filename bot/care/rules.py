"""One rule a duty: what the engines advise, in the order in which the duties of one visit are done."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.care.duty import Duty
from bot.care.feeding.advice import advise_leaves, advise_protein, advise_seeds, advise_sugar
from bot.care.feeding.leftovers import advise_leftovers
from bot.care.growth.advice import advise_census, advise_space
from bot.care.rest.duties import advise_rest_check
from bot.care.situation import Advice, Situation
from bot.care.upkeep.advice import (
    advise_barrier_check,
    advise_barrier_renew,
    advise_nest_change,
    advise_outside_wipe,
    advise_waste,
)
from bot.care.upkeep.heat import advise_heat_check
from bot.care.water.advice import advise_water

Rule = Callable[[Situation], Advice | None]

RULES: Mapping[Duty, Rule] = {
    Duty.WATER: advise_water,
    Duty.SUGAR: advise_sugar,
    Duty.PROTEIN: advise_protein,
    Duty.SEEDS: advise_seeds,
    Duty.LEAVES: advise_leaves,
    Duty.LEFTOVERS: advise_leftovers,
    Duty.HEAT_CHECK: advise_heat_check,
    Duty.REST_CHECK: advise_rest_check,
    Duty.BARRIER_CHECK: advise_barrier_check,
    Duty.BARRIER_RENEW: advise_barrier_renew,
    Duty.OUTSIDE_WIPE: advise_outside_wipe,
    Duty.WASTE: advise_waste,
    Duty.NEST_CHANGE: advise_nest_change,
    Duty.SPACE: advise_space,
    Duty.CENSUS: advise_census,
}
"""The steps of a winter rest are not among them: they have dates of their own (`rest_steps`)."""
