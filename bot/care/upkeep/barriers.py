"""How long an escape barrier lasts: averages by kind, shortened by damp air, dust and dangerous ants, and by the log.

Averages and factors are common practice of low confidence; what the keeper saw at the checks outranks them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bot.care.colony import Colony
from bot.care.duty import Duty, Input, Outcome
from bot.care.goods import Barrier
from bot.care.situation import Situation
from bot.care.units import Band

DAMP_PERCENT = 70.0
DAMP_FACTOR = 0.5
DUST_FACTOR = 0.7
HAZARD_FACTOR = 0.7
CAREFUL_HAZARD = 2
WORN_FACTOR = 0.7
CLEAN_FACTOR = 1.15
CLEAN_CHECKS = 3
LATE_SHARE = 2 / 3
"""Only checks in the last third of an interval say that it could be longer."""
LEARNED = Band(0.3, 1.5)
GOOD = frozenset({Outcome.OK, Outcome.DONE})


@dataclass(frozen=True, slots=True)
class BarrierLife:
    """Days between renewals, what went into it, and the last day the barrier was seen worn without renewal since."""

    days: float
    inputs: tuple[Input, ...]
    worn_on: date | None


def barrier_of(situation: Situation) -> Barrier | None:
    """The barrier of the outworld; `None` where the keeper has not said which, or the handbook does not know it."""
    outworld = situation.colony.outworld
    return None if outworld is None else situation.handbook.barriers.get(outworld.barrier or "")


def last_renewed(situation: Situation) -> date | None:
    """The newest renewal known, up to the day: from the description, the log, or the plan so far."""
    outworld = situation.colony.outworld
    entry = situation.colony.last(Duty.BARRIER_RENEW, Outcome.DONE)
    known = (
        None if outworld is None else outworld.renewed,
        None if entry is None else entry.day,
        situation.done.get(Duty.BARRIER_RENEW),
    )
    return max((day for day in known if day is not None and day <= situation.day), default=None)


def renewal_days(situation: Situation, barrier: Barrier | None) -> BarrierLife | None:
    """The interval between renewals; `None` for barriers renewed on wear, or not named, until they are worn."""
    worn = worn_since_renewal(situation)
    if barrier is None or barrier.renew_days is None:
        return None if worn is None else BarrierLife(1, (_kind(barrier),), worn)
    days, inputs = float(barrier.renew_days), [_kind(barrier)]
    for factor, why in _conditions(situation, barrier):
        days *= factor
        inputs.append(why)
    learned = learned_factor(situation.colony, days)
    if learned != 1:
        inputs.append(Input("what your checks showed", f"× {learned:.2g}"))
    return BarrierLife(max(days * learned, barrier.check_days), tuple(inputs), worn)


def worn_since_renewal(situation: Situation) -> date | None:
    """The day the barrier was last seen worn, unless it was renewed since (a renewal the same day counts)."""
    entry = situation.colony.last(Duty.BARRIER_CHECK, Outcome.WORN)
    if entry is None or entry.day > situation.day:
        return None
    renewed = last_renewed(situation)
    return entry.day if renewed is None or renewed < entry.day else None


def learned_factor(colony: Colony, days: float) -> float:
    """What checks taught about an interval of `days`: each worn one shortens it, three clean late ones lengthen it."""
    factor, clean = 1.0, 0
    renewed: date | None = None
    for entry in colony.log:
        if entry.duty is Duty.BARRIER_RENEW and entry.outcome is Outcome.DONE:
            renewed = entry.day
        if entry.duty is not Duty.BARRIER_CHECK:
            continue
        if entry.outcome is Outcome.WORN:
            factor, clean = LEARNED.clamp(factor * WORN_FACTOR), 0
        elif entry.outcome in GOOD and renewed is not None and (entry.day - renewed).days >= LATE_SHARE * days * factor:
            clean += 1
            if clean == CLEAN_CHECKS:
                factor, clean = LEARNED.clamp(factor * CLEAN_FACTOR), 0
    return factor


def _kind(barrier: Barrier | None) -> Input:
    return Input("barrier", "not said" if barrier is None else barrier.name, barrier is None)


def _conditions(situation: Situation, barrier: Barrier) -> list[tuple[float, Input]]:
    """Factors that shorten the life of this barrier here, each with its explanation."""
    found = []
    humidity = situation.place.humidity_percent
    if barrier.humidity_sensitive and humidity is not None and humidity >= DAMP_PERCENT:
        found.append((DAMP_FACTOR, Input("humidity", f"{humidity:.0f} %, half as long")))
    outworld = situation.colony.outworld
    if outworld is not None and outworld.dusty:
        found.append((DUST_FACTOR, Input("dust", f"× {DUST_FACTOR:g}")))
    hazard = situation.profile.hazard
    if situation.profile.assumed_hazard >= CAREFUL_HAZARD:
        label = "unknown, taken as 2" if hazard is None else f"{hazard} of 3"
        found.append((HAZARD_FACTOR, Input("how dangerous the ants are", label, hazard is None)))
    return found
