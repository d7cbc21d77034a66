"""What the feeding advisers share: who eats how warm, when a duty must wait, and how an explanation is put together."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.colony import Colony
from bot.care.duty import Duty, Input, Outcome, Why
from bot.care.evidence import Confidence, Evidence
from bot.care.feeding.energy import NO_FOOD_C, larvae_level
from bot.care.feeding.portions import DEFAULT_PACE, Eaters, Portion, worker_mass
from bot.care.feeding.rhythm import ACTIVE_C, OPTIONAL_SUGAR, Conditions, Rhythm
from bot.care.feeding.tastes import feedback_factor, feeding_outcomes
from bot.care.goods import Food, FoodKind
from bot.care.growth.founding import founding_care
from bot.care.growth.trend import known_since
from bot.care.handbook import Handbook
from bot.care.once import once
from bot.care.phase import Phase, PhaseSpan
from bot.care.situation import Situation
from bot.care.units import Band, say_temperature

RHYTHM = Evidence(("common-practice", "Lighton1988"), Confidence.COMMON_PRACTICE, "d")
AMOUNT = Evidence(("common-practice", "Lighton1988", "MacomPorter1995"), Confidence.DERIVED, "d")
SETTLE_DAYS = 3
"""After arriving or moving a colony gets water and sugar only (common practice)."""
HUNGRY_DAYS = 10
"""Longer without sugar counts as hungry: starved foragers of Lasius niger lived about ten days (Dussutour 2016)."""


@dataclass(frozen=True, slots=True)
class Timing:
    """`interval_days` after the last time, `first_after_days` where there was none; `band` around the interval."""

    interval_days: float
    first_after_days: float
    band: Band
    due: date


def _ramp_c(span: PhaseSpan, day: date) -> float:
    """Temperature on a day of a cool-down or warm-up, taken as a straight line between the ends of its band."""
    done = (day - span.start).days / max(1, (span.end - span.start).days)
    ends = span.temperature_c
    start, end = (ends.high, ends.low) if span.phase is Phase.COOL_DOWN else (ends.low, ends.high)
    return start + (end - start) * done


def _ramp_days(situation: Situation) -> tuple[date, ...]:
    """Days from today to the end of a cool-down or warm-up on which it is warm enough to eat."""
    span = situation.span
    if span is None:
        return ()
    left = (situation.day + timedelta(days=ahead) for ahead in range((span.end - situation.day).days))
    return tuple(day for day in left if _ramp_c(span, day) > NO_FOOD_C)


def meal_day(situation: Situation) -> date:
    """Today, or in a warm-up the first day that is warm enough to eat, if there is one."""
    warm = _ramp_days(situation) if situation.phase is Phase.WARM_UP else ()
    return warm[0] if warm else situation.day


def too_late(situation: Situation, due: date) -> bool:
    """Whether the cool-down has grown too cold for food by a day inside it."""
    span = situation.span
    return span is not None and span.phase is Phase.COOL_DOWN and _ramp_c(span, due) <= NO_FOOD_C


@once
def outworld_c(situation: Situation) -> float:
    """Where food lies: the room, or the temperature that a cool-down or warm-up has reached."""
    span = situation.span
    if span is not None and span.phase in {Phase.COOL_DOWN, Phase.WARM_UP}:
        return _ramp_c(span, meal_day(situation))
    return situation.room_c


@once
def nest_c(situation: Situation) -> float:
    """Where the colony lives: halfway between the room and the warm end, which differ in the active season only."""
    return (outworld_c(situation) + situation.warm_c) / 2 if situation.phase is Phase.ACTIVE else outworld_c(situation)


def in_range(situation: Situation) -> bool:
    """Whether an amount may be named: always outside the active season, else between 10 and 36 C."""
    return situation.phase is not Phase.ACTIVE or nest_c(situation) in ACTIVE_C


def nobody_home(situation: Situation) -> bool:
    """Neither a queen nor workers."""
    return situation.colony.queens == 0 and situation.colony.workers == 0


def has_larvae(situation: Situation) -> bool | None:
    """Larvae seen, `None` where the keeper has not said."""
    return situation.colony.brood.has_larvae


def _foraging(situation: Situation) -> bool:
    """Whether the log shows workers at food, or awake, since the running phase began."""
    span = situation.span
    ate = {Outcome.TAKEN, Outcome.HALF_TAKEN, Outcome.GONE_QUICKLY, Outcome.AWAKE}
    entries = situation.colony.log
    return span is not None and any(
        span.start <= entry.day <= situation.day and entry.outcome in ate for entry in entries
    )


@once
def conditions(situation: Situation) -> Conditions:
    """What the rhythm of feeding depends on."""
    return Conditions(
        workers=situation.colony.workers,
        founding=founding_care(situation.colony, situation.profile),
        guild=situation.profile.guilds[0],
        phase=situation.phase,
        phase_day=situation.phase_day,
        temperature_c=nest_c(situation),
        larvae=has_larvae(situation),
        foraging=_foraging(situation),
    )


@once
def eaters(situation: Situation) -> Eaters | None:
    """Who eats, for amounts; `None` while nothing sound can be said: no worker, no known size, no sane temperature."""
    mass = worker_mass(situation.profile)
    if mass is None or situation.colony.workers == 0 or not in_range(situation):
        return None
    return Eaters(
        workers=situation.colony.workers,
        mass=mass,
        larvae=larvae_level(situation.colony.brood)[0],
        guild=situation.profile.guilds[0],
        temperature_c=nest_c(situation),
        phase=situation.phase,
        phase_day=situation.phase_day,
        pace=DEFAULT_PACE if situation.profile.pace is None else situation.profile.pace,
    )


def feedback(situation: Situation, duty: Duty) -> float:
    """What the log has taught about the amounts of a duty."""
    return _taught(situation.colony, duty)


@once
def _taught(colony: Colony, duty: Duty) -> float:
    return feedback_factor(feeding_outcomes(colony.log, duty))


def foods_of(situation: Situation, kind: FoodKind) -> tuple[Food, ...]:
    """Foods of a kind in the handbook, by id."""
    return _foods(situation.handbook, kind)


@once
def _foods(handbook: Handbook, kind: FoodKind) -> tuple[Food, ...]:
    return tuple(sorted((food for food in handbook.foods.values() if food.kind is kind), key=lambda food: food.id))


def foods_named(situation: Situation, kind: FoodKind) -> tuple[Food, ...]:
    """Foods of a kind that the colony's log names: the keeper has had them."""
    named = {entry.food for entry in situation.colony.log}
    return tuple(food for food in foods_of(situation, kind) if food.id in named)


def settled_on(situation: Situation) -> date:
    """The first day on which more than water and sugar is offered after an arrival or a move; today if long past."""
    moves = [day for day in (situation.colony.arrived, situation.colony.nest.changed) if day and day <= situation.day]
    return max([situation.day, *(day + timedelta(days=SETTLE_DAYS) for day in moves)])


def is_hungry(situation: Situation) -> bool:
    """Never fed, or active and long without sugar although it lives on it."""
    last = situation.done.get(Duty.SUGAR)
    if last is None:
        return True
    depends = situation.phase is Phase.ACTIVE and situation.profile.guilds[0] not in OPTIONAL_SUGAR
    return depends and (situation.day - last).days > HUNGRY_DAYS


def sugar_first_until(situation: Situation) -> date:
    """The first day of protein for a hungry colony, a day after its sugar was due.

    Counted from a day that stays, as far as one is known: counted from today it would move on with every new plan.
    """
    last = situation.done.get(Duty.SUGAR)
    if last is not None:
        return last + timedelta(days=HUNGRY_DAYS + 2)
    return (known_since(situation.colony) or situation.day) + timedelta(days=1)


def timing(situation: Situation, duty: Duty, rhythm: Rhythm, hold: date) -> Timing:
    """When the duty falls due, not before `hold`; a duty that waits has no earlier end of its band."""
    last = situation.done.get(duty)
    wait = max(0, (hold - situation.day).days)
    days = rhythm.days if last is None or wait == 0 else max(rhythm.days, (hold - last).days)
    due = situation.day + timedelta(days=wait)
    if last is not None:
        due = max(due, last + timedelta(days=days))
    band = rhythm.band if wait == 0 else Band(days, max(days, rhythm.band.high))
    return Timing(days, wait, band, due)


def phase_day_on(situation: Situation, phase_day: int) -> date:
    """The date of a day of the running phase; today when it is past."""
    return situation.day + timedelta(days=max(0, phase_day - situation.phase_day))


def too_hot_or_cold(situation: Situation) -> str:
    """The warning that stands in for an amount."""
    shown = say_temperature(nest_c(situation), situation.keeper.units)
    if nest_c(situation) > ACTIVE_C.high:
        return f"At {shown} the colony is in danger, so I name no amount: cool the nest first and see to its water."
    return f"At {shown} an active colony hardly eats, so I name no amount: find it a warmer place, or plan its rest."


def explain(situation: Situation, rhythm: Rhythm, portion: Portion | None) -> Why:
    """Inputs, rule and doubt of one feeding."""
    level, assumed = larvae_level(situation.colony.brood)
    temperature = say_temperature(nest_c(situation), situation.keeper.units)
    inputs = [
        Input("workers", str(situation.colony.workers)),
        Input("larvae", level.value, assumed),
        Input("nest temperature", temperature, situation.room_input.defaulted),
        Input("phase", situation.phase.value),
        Input("diet", situation.profile.guilds[0].value),
    ]
    mass = worker_mass(situation.profile)
    rule = rhythm.rule
    if portion is not None and mass is not None:
        inputs.append(Input("mass of a worker", f"{mass.worker_mg:.1f} mg", mass.estimated))
        rule += " The amount follows an energy model fitted on fire ants, scaled to this colony."
    return Why(
        rule=rule,
        inputs=tuple(inputs),
        evidence=RHYTHM if portion is None else AMOUNT,
        would_change=(
            "More or fewer workers or larvae.",
            "A warmer or cooler nest.",
            "What you note as taken or left.",
        ),
    )
