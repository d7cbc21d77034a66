"""Sentences on food for the slots of a card: when and how often, or why there is none now.

In the cold nothing is given but water, a walled-in queen lives on her reserves, a fungus feeds its farmers.
"""

from __future__ import annotations

from datetime import date

from bot.care.agenda import ColonyPlan
from bot.care.duty import Duty, Occurrence
from bot.care.feeding.rhythm import FUNGUS_FARMERS
from bot.care.growth.founding import FoundingCare, founding_care
from bot.care.localtime import on_day, say_day
from bot.care.phase import COLD_PHASES, Phase, PhaseSpan
from bot.care.rest.duties import NO_FOOD_BELOW_C
from bot.care.species import Guild

_GARDEN = "fresh food for the fungus"
_NO_PREY_IN_THE_COLD = "No prey while the colony rests."
_NO_PREY_BEFORE_IT = "No prey now, unless larvae ask for it: the rest comes next."


def food_slots(plan: ColonyPlan, day: date) -> dict[str, str]:
    """Sentences on sugar and prey, or on what stands in their place."""
    span = None if plan.rest is None else plan.rest.span_on(day)
    sugar, prey = (_this_season(plan.first(duty), span) for duty in (Duty.SUGAR, Duty.PROTEIN))
    slots = _instead(plan, span, day)
    if sugar is not None:
        slots |= {"next_sugar": _next(plan, sugar, "sugar", day), "feeding_interval": _often(plan, sugar, "sugar")}
    if prey is not None:
        slots |= {"next_protein": _next(plan, prey, "protein", day), "protein_interval": _often(plan, prey, "protein")}
    return {slot: said for slot, said in slots.items() if said}


def _this_season(found: Occurrence | None, span: PhaseSpan | None) -> Occurrence | None:
    """An occurrence, unless it comes only after the cold phase that runs."""
    late = found is not None and span is not None and span.phase in COLD_PHASES and found.day >= span.end
    return None if late else found


def _next(plan: ColonyPlan, found: Occurrence, food: str, day: date) -> str:
    return f"For {plan.colony.name}, {food} is due {on_day(found.day, day)}."


def _often(plan: ColonyPlan, found: Occurrence, food: str) -> str:
    days = found.facts.get("interval_days")
    return f"For {plan.colony.name}, {food} about {_every(days)}." if isinstance(days, int | float) else ""


def _every(days: float) -> str:
    return "every day" if round(days) == 1 else f"every {days:.0f} days"


def _instead(plan: ColonyPlan, span: PhaseSpan | None, day: date) -> dict[str, str]:
    """What is said of food that is not planned."""
    if span is not None and span.phase in COLD_PHASES:
        return _in_the_cold(plan, span, day)
    garden = plan.first(Duty.LEAVES)
    if not FUNGUS_FARMERS.isdisjoint(plan.profile.guilds) and garden is not None:
        next_one, often = _next(plan, garden, _GARDEN, day), _often(plan, garden, _GARDEN)
        prey = "No prey is planned: these ants live on their fungus."
        return {
            "next_sugar": next_one,
            "feeding_interval": often,
            "next_protein": prey,
            "protein_interval": prey,
        }
    care = founding_care(plan.colony, plan.profile)
    if care is FoundingCare.WATER_ONLY:
        alone = "The queen lives on her reserves until her first workers come: no food now, only water."
        prey = "No prey before the first workers."
        return {"next_sugar": alone, "feeding_interval": alone, "next_protein": prey, "protein_interval": prey}
    if care is FoundingCare.NEEDS_WORKERS:
        prey = "No prey before she has workers beside her."
        return {"next_protein": prey, "protein_interval": prey}
    if span is not None and span.phase is Phase.WIND_DOWN:
        return {"next_protein": _NO_PREY_BEFORE_IT, "protein_interval": _NO_PREY_BEFORE_IT}
    return {}


def _in_the_cold(plan: ColonyPlan, span: PhaseSpan, day: date) -> dict[str, str]:
    name, end = plan.colony.name, say_day(_food_from(plan, span), day)
    does = "warms up" if span.phase is Phase.WARM_UP else "rests"
    only = "no food now, only water"
    if plan.profile.guilds[0] is Guild.SEEDS and span.temperature_c.middle >= NO_FOOD_BELOW_C:
        only = "their seeds feed them, so nothing now but water"
    said = f"{name} {does} by your plan until {end}: {only}."
    return {
        "next_sugar": said,
        "feeding_interval": said,
        "next_protein": _NO_PREY_IN_THE_COLD,
        "protein_interval": _NO_PREY_IN_THE_COLD,
    }


def _food_from(plan: ColonyPlan, span: PhaseSpan) -> date:
    """The day on which the cold ends: of the rest, or of the warm-up where that runs already."""
    phases = () if plan.rest is None else plan.rest.phases
    rest = next((one for one in phases if one.phase is Phase.REST), span)
    return span.end if span.phase is Phase.WARM_UP else rest.end
