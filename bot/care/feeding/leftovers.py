"""When leftovers must come out before they mould.

Half the time for every 10 C more, less in damp air, between 12 and 72 hours, rounded down to 6 hours and never put off
for a weekend. Built on mould growth above water activity 0.8; the figures are engineering judgement.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from bot.care.duty import Duty, Input, Outcome, Urgency, Why
from bot.care.evidence import JUDGEMENT
from bot.care.feeding.meals import conditions, outworld_c
from bot.care.feeding.rhythm import always_sugar
from bot.care.once import once
from bot.care.situation import Advice, Situation
from bot.care.units import Band, say_temperature

PERISHABLE = (Duty.SUGAR, Duty.PROTEIN)
"""Leaves are not among them: what wilts is taken out when fresh ones are given, after two days at the latest."""
_GONE = {Outcome.TAKEN, Outcome.GONE_QUICKLY, Outcome.SKIPPED}
_STEP_HOURS = 6
_LIMITS = Band(12, 72)
SUGAR_HOURS = 48
"""An open dish of sugar water at 25 C; half as long above `SUGAR_WARM_C` (common practice)."""
SUGAR_WARM_C = 28.0


def humidity_factor(humidity_percent: float | None) -> float:
    """1 in dry air, 0.75 above 60 %, 0.5 above 80 %; unknown counts as damp, because ant nests are."""
    if humidity_percent is None:
        return 0.75
    if humidity_percent <= 60:
        return 1.0
    return 0.75 if humidity_percent <= 80 else 0.5


def keeping_hours(temperature_c: float, humidity_percent: float | None) -> float:
    """Hours that leftovers may lie, before rounding: 48 at 20 C in dry air."""
    exponent = min(max((20 - temperature_c) / 10, -10.0), 10.0)
    return _LIMITS.clamp(48 * 2.0**exponent * humidity_factor(humidity_percent))


def leftovers_hours(temperature_c: float, humidity_percent: float | None) -> int:
    """Hours after feeding when leftovers come out, a multiple of 6 between 12 and 72."""
    return int(keeping_hours(temperature_c, humidity_percent) // _STEP_HOURS) * _STEP_HOURS


def leftovers_after(fed_at: datetime, temperature_c: float, humidity_percent: float | None) -> datetime:
    """The moment leftovers come out. `fed_at` is aware; weekends and quiet days never move it.

    Raises:
        ValueError: `fed_at` has no zone.
    """
    if fed_at.tzinfo is None:
        raise ValueError("a feeding without a zone is no moment: give an aware datetime")
    return fed_at + timedelta(hours=leftovers_hours(temperature_c, humidity_percent))


def _hours(situation: Situation, duty: Duty) -> int:
    """Hours that one feeding may lie; sugar water without insects keeps at least as long as an open dish of it."""
    warm = outworld_c(situation)
    hours = leftovers_hours(warm, situation.place.humidity_percent)
    if duty is not Duty.SUGAR:
        return hours
    return max(hours, SUGAR_HOURS if warm <= SUGAR_WARM_C else SUGAR_HOURS // 2)


@once
def days_lying(situation: Situation, duty: Duty) -> int:
    """Whole days after which leftovers of a feeding come out, at least one."""
    return max(1, _hours(situation, duty) // 24)


def _lying(situation: Situation) -> tuple[tuple[Duty, ...], date] | None:
    """The newest perishable feedings that were not seen to be eaten up, and their day."""
    gone = [entry for entry in situation.colony.log if entry.outcome in _GONE]
    # Where sugar is always there, the feeder is washed with every refill.
    perishable = PERISHABLE[1:] if always_sugar(conditions(situation)) else PERISHABLE
    fed = {
        duty: day
        for duty, day in situation.done.items()
        if duty in perishable and not any(entry.duty is duty and entry.day >= day for entry in gone)
    }
    if not fed:
        return None
    newest = max(fed.values())
    return tuple(duty for duty in PERISHABLE if fed.get(duty) == newest), newest


def advise_leftovers(situation: Situation) -> Advice | None:
    """Take out what the last perishable feeding left; `None` when nothing lies there.

    Leftovers removed on the day of a feeding count as removed before it: clean first, then feed.
    """
    lying = _lying(situation)
    cleared = situation.done.get(Duty.LEFTOVERS)
    if lying is None or (cleared is not None and cleared > lying[1]):
        return None
    foods, fed = lying
    hours = min(_hours(situation, food) for food in foods)
    days = max(1, hours // 24)
    due = fed + timedelta(days=days)
    named = " and ".join(duty.value for duty in foods)
    interval = days if cleared is None else (due - cleared).days
    return Advice(
        duty=Duty.LEFTOVERS,
        interval_days=interval,
        band_days=Band(max(1, interval - days + 1), interval),
        first_after_days=max(0, (due - situation.day).days),
        reason=f"Take out what is left of the {named} within {hours} hours, before it moulds.",
        why=_why(situation, fed),
        urgency=Urgency.SOON,
        useful_days=2,
        facts={"leftovers_hours": hours},
        cautions=("MOULD-LEFTOVERS",),
    )


def _why(situation: Situation, fed: date) -> Why:
    humidity = situation.place.humidity_percent
    temperature = say_temperature(outworld_c(situation), situation.keeper.units)
    return Why(
        rule="48 hours at 20 °C in dry air, half of that for every 10 °C more, less in damp air, 12 to 72 hours; sugar "
        "alone at least 48 hours, 24 in the heat.",
        inputs=(
            Input("temperature at the food", temperature, situation.room_input.defaulted),
            Input("air humidity", "damp" if humidity is None else f"{humidity:.0f} %", humidity is None),
            Input("fed on", fed.isoformat()),
        ),
        evidence=JUDGEMENT,
        would_change=("A warmer or damper room shortens it.", "Nothing lies there once all was carried in."),
    )
