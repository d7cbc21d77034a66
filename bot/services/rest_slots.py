"""Sentences on a colony's winter rest for the slots of a card: its dates, or why there are none.

A rest that only the calendar knows of is told as the plan, not as a fact: the keeper has not said that it began.
"""

from __future__ import annotations

from datetime import date

from bot.care.agenda import ColonyPlan
from bot.care.answers.portrait import AWAKE
from bot.care.localtime import on_day, say_day
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.place import Keeper
from bot.care.rest.course import PHASES, STEPS
from bot.care.rest.terms import applied_class
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import say_temperatures

_SKIPPED = {
    "rest_start": "You skip this rest, so there is no day to begin.",
    "rest_end": "You skip this rest, so there is no day on which it ends.",
}
_NONE = {
    "rest_start": "Without a winter rest there is no day to begin.",
    "rest_end": "Without a winter rest there is no day on which it ends.",
    "rest_weeks": "Without a winter rest there are no weeks to name.",
}
_NOT_KNOWN = {
    "rest_start": "I name no date for a rest that it may not need.",
    "rest_end": "I name no end for a rest that it may not need.",
    "rest_weeks": "Whether it rests is not known, so I name no weeks.",
    "rest_temperature": "How cold it may get is not known: keep it out of the cold.",
}
_UNDATED = {
    "rest_start": "I name no date, as your place does not tell me the season: set the first day yourself.",
    "rest_end": "I name no date: the end follows from a first day that you set.",
}


def rest_slots(plan: ColonyPlan, keeper: Keeper, day: date) -> dict[str, str]:
    """Sentences on the rest that runs on a day or comes next, however far ahead; or on why none does."""
    rest = plan.rest
    if rest is None:
        return {}
    slots = {"rest_needed": rest.why, "phase": _phase(plan, rest, day)}
    if not rest.phases:
        return slots | _reasons(plan, keeper)
    return slots | _usual(plan.profile, keeper) | _course(rest, keeper, day)


def _reasons(plan: ColonyPlan, keeper: Keeper) -> dict[str, str]:
    """What stands for the dates of a colony that has none."""
    dormancy = applied_class(plan.colony, plan.profile)
    if dormancy is DormancyClass.UNKNOWN:
        return _NOT_KNOWN
    if dormancy in AWAKE:
        return _NONE | {"rest_temperature": AWAKE[dormancy]}
    return _usual(plan.profile, keeper) | (_SKIPPED if plan.colony.rest.skip else _UNDATED)


def _usual(profile: SpeciesProfile, keeper: Keeper) -> dict[str, str]:
    """What is usual for the species."""
    slots = {
        "rest_weeks": f"How long {profile.name} rests I do not know.",
        "rest_temperature": f"How cold {profile.name} rests I do not know.",
    }
    if (weeks := profile.rest_weeks) is not None:
        slots["rest_weeks"] = f"For {profile.name}, {weeks.low:g} to {weeks.high:g} weeks are usual."
    if (band := profile.rest_band_c) is not None:
        slots["rest_temperature"] = f"For {profile.name}, {say_temperatures(band, keeper.units)} is usual."
    return slots


def _course(rest: RestPlan, keeper: Keeper, day: date) -> dict[str, str]:
    spans = {span.phase: span for span in rest.phases}
    slots = {"rest_start": _turn(rest.phases[0], rest, day)}
    if (cold := spans.get(Phase.REST)) is not None:
        slots["rest_temperature"] = f"Your plan aims at {say_temperatures(cold.temperature_c, keeper.units)}."
    if (warm_up := spans.get(Phase.WARM_UP)) is not None:
        slots["rest_end"] = _turn(warm_up, rest, day)
    return slots


def _turn(span: PhaseSpan, rest: RestPlan, day: date) -> str:
    """When a phase begins or began."""
    if span.start > day:
        return f"By your plan the {span.phase.value} begins on {say_day(span.start, day)}."
    if is_told(rest, span.phase):
        return f"The {span.phase.value} began {on_day(span.start, day)}."
    if span.start == day:
        return f"By your plan the {span.phase.value} begins today."
    return f"By your plan the {span.phase.value} began on {say_day(span.start, day)}, but you have not told me so."


def _phase(plan: ColonyPlan, rest: RestPlan, day: date) -> str:
    name, span = plan.colony.name, rest.span_on(day)
    if span is not None:
        since = say_day(span.start, day)
        if is_told(rest, span.phase):
            return f"{name} is in this phase since {since}: {span.phase.value}."
        return f"By your plan {name} would be in {span.phase.value} since {since}; you have not told me that it began."
    if rest.phases:
        first = rest.phases[0]
        return f"{name} is active by your plan; the {first.phase.value} begins on {say_day(first.start, day)}."
    return f"{name} is active by your plan, without a date for a rest."


def is_told(rest: RestPlan, phase: Phase) -> bool:
    """Whether the keeper logged the step that begins a phase, or a later one."""
    return not rest.told.isdisjoint(STEPS[PHASES.index(phase) :])
