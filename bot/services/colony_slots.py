"""Sentences on the state of a colony for the slots of a card: water, barrier, warmth, growth, founding."""

from __future__ import annotations

from datetime import date

from bot.care.agenda import ColonyPlan
from bot.care.answers.profile_facts import EATS, ways_of_founding
from bot.care.duty import Duty, Outcome
from bot.care.growth.first_workers import expected_first_workers
from bot.care.growth.founding import founding_mode
from bot.care.growth.trend import Direction, counts_of, trend
from bot.care.handbook import Handbook
from bot.care.localtime import on_day, say_day
from bot.care.phase import COLD_PHASES
from bot.care.place import Keeper
from bot.care.upkeep.heat import alarm_said, wall_said


def colony_slots(
    plan: ColonyPlan, keeper: Keeper, handbook: Handbook, day: date, room_c: float | None
) -> dict[str, str]:
    """What is known of a colony beside its food and its rest; `room_c` is the warmth of its room in °C."""
    slots = {**_water(plan, day), **_warmth(plan, keeper), **_founding(plan)}
    said = {"barrier_due": _barrier(plan, handbook, day), "growth_trend": _trend(plan)}
    if room_c is not None and not plan.colony.workers:
        said["first_workers"] = _first_workers(plan, room_c, day)
    return slots | {slot: sentence for slot, sentence in said.items() if sentence}


def _water(plan: ColonyPlan, day: date) -> dict[str, str]:
    water = plan.first(Duty.WATER)
    if water is None:
        return {}
    slots = {"next_water": f"For {plan.colony.name}, water is due {on_day(water.day, day)}."}
    if "side" in water.facts:
        slots["water_side"] = f"Side {water.facts['side']} is next."
    return slots


def _barrier(plan: ColonyPlan, handbook: Handbook, day: date) -> str:
    look, renewal = plan.first(Duty.BARRIER_CHECK), plan.first(Duty.BARRIER_RENEW)
    if renewal is not None and (look is None or renewal.day <= look.day):
        return f"Renew the barrier {on_day(renewal.day, day)}."
    if look is None:
        return ""
    then = _waits(plan, handbook, day) if renewal is None else f"; renew it about {say_day(renewal.day, day)}"
    return f"Look at the barrier {on_day(look.day, day)}{then}."


def _waits(plan: ColonyPlan, handbook: Handbook, day: date) -> str:
    """Why no renewal is planned for a barrier that wears by age."""
    outworld = plan.colony.outworld
    kind = None if outworld is None else handbook.barriers.get(outworld.barrier or "")
    cold = plan.rest is not None and plan.rest.phase_on(day) in COLD_PHASES
    if not cold or kind is None or kind.renew_days is None:
        return ""
    return "; in the cold a sound one waits for the end of the rest, a worn one is renewed at once"


def _warmth(plan: ColonyPlan, keeper: Keeper) -> dict[str, str]:
    heater, alarm = plan.colony.heater, alarm_said(plan.profile, keeper.units)
    if heater is None:
        said = f"You told me of no heater; {alarm}."
    elif heater.hot_c is None:
        said = f"I don't know the warmth at your nest wall, so measure it; {alarm}."
    else:
        said = wall_said(plan.profile, heater.hot_c, keeper.units)
    return {"warm_side": said, "heat_limit": f"{alarm[:1].upper()}{alarm[1:]}."}


def _founding(plan: ColonyPlan) -> dict[str, str]:
    told = founding_mode(plan.colony)
    if told is not None:
        return {"founding": f"By what you told me she {EATS[told]}."}
    known = ways_of_founding(plan.profile)
    return {"founding": f"A queen of {plan.profile.name} {known}."} if known else {}


def _trend(plan: ColonyPlan) -> str:
    found = trend(counts_of(plan.colony.log))
    if found.direction is Direction.UNKNOWN:
        return ""
    begin = f"Your last {found.counts} counts say {found.direction.value}"
    if found.direction is Direction.STEADY:
        return f"{begin}: what change there is, counting by eye cannot tell."
    return f"{begin}, by about {abs(found.percent_per_week):.0f} % a week."


def _first_workers(plan: ColonyPlan, room_c: float, day: date) -> str:
    """When the first workers may come from the first eggs; no date where the cold of a rest lies between."""
    seen = next((entry.day for entry in plan.colony.log if entry.outcome is Outcome.EGGS), None)
    if seen is None:
        return ""
    found = expected_first_workers(seen, room_c, plan.profile)
    if found.expected is None or found.earliest is None or found.latest is None:
        return found.sentence
    if found.latest < day:
        past = say_day(found.latest, day)
        return f"By warmth alone first workers were due by {past}. That time is over: look at warmth and brood."
    rests = () if plan.rest is None else plan.rest.phases
    if any(span.phase in COLD_PHASES and seen < span.end and span.start <= found.expected for span in rests):
        return "By your plan the cold of the rest comes before the first workers, so I name no date: brood waits then."
    middle, early, late = (say_day(one, day) for one in (found.expected, found.earliest, found.latest))
    return f"First workers about {middle}, between {early} and {late}. This is an estimate from warmth alone."
