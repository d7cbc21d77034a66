"""Short instructions for somebody who cares for a colony in its keeper's place: what to do, and how much.

Made of the duty and its figures only: nothing of the keeper's place or notes goes in, and nothing of what was before.
What is said follows the practices of the trade (common practice) and the cautions that stand beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.care.duty import Duty
from bot.care.handbook import Handbook
from bot.care.units import Band, Units, say_temperature, say_temperatures

Facts = Mapping[str, float | str]


def instruction(duty: Duty, facts: Facts, handbook: Handbook, units: Units) -> str:
    """One or two sentences; amounts are named only where the figures hold them."""
    if duty in _SAID:
        return _SAID[duty]
    return _FIGURED[duty](facts, handbook, units)


def _water(facts: Facts, _: Handbook, __: Units) -> str:
    side, amount = facts.get("side"), facts.get("water_ml")
    if isinstance(side, str) and isinstance(amount, float | int):
        if "gives" in facts:
            return f"Look at the water. Only where side {side} is nearly dry, give it about {amount:g} ml, slowly."
        return f"Give about {amount:g} ml of water to side {side} of the nest, slowly; the other side may dry."
    return "Look at the water in the tube. When little is left, tell the keeper: a new tube goes beside the old one."


def _feeding(what: str) -> Callable[[Facts, Handbook, Units], str]:
    def said(facts: Facts, handbook: Handbook, _: Units) -> str:
        food = handbook.foods.get(str(facts.get("food", "")))
        amount = facts.get("amount")
        named = what if food is None else food.name
        much = f"{amount} ({named})" if isinstance(amount, str) else f"a little {named}"
        return f"Offer {much} on foil that lifts out. Use only what the keeper left for them."

    return said


def _leftovers(facts: Facts, _: Handbook, __: Units) -> str:
    hours = facts.get("leftovers_hours")
    within = f" within {hours:g} hours of feeding" if isinstance(hours, float | int) else ""
    return f"Take the foil with what is left of the food out{within}, before it moulds."


def _feeders(facts: Facts, handbook: Handbook, _: Units) -> str:
    kind = handbook.feeders.get(str(facts.get("feeder", "")))
    tasks = "Look after the feeder insects" if kind is None else kind.tasks.rstrip(".")
    return f"{tasks}. Do it as the keeper showed you, and keep the lid shut otherwise."


def _heat(facts: Facts, _: Handbook, units: Units) -> str:
    off = facts.get("off_c")
    limit = f" At {say_temperature(off, units)} or more switch the heater off." if isinstance(off, float | int) else ""
    return f"Measure at the warm end of the nest.{limit}"


def _rest(facts: Facts, _: Handbook, units: Units) -> str:
    low, high = facts.get("target_low_c"), facts.get("target_high_c")
    if isinstance(low, float | int) and isinstance(high, float | int):
        return (
            f"They should stand at {say_temperatures(Band(low, high), units)} now. Ask the keeper before moving them."
        )
    return "A step of the winter rest: ask the keeper before moving them."


def _rest_check(facts: Facts, _: Handbook, units: Units) -> str:
    low, high = facts.get("target_low_c"), facts.get("target_high_c")
    known = isinstance(low, float | int) and isinstance(high, float | int)
    at = f" They should stand at {say_temperatures(Band(low, high), units)}." if known else ""  # type: ignore[arg-type]  # known
    return f"Look without opening: is there water, does anything mould?{at}"


_SAID: Mapping[Duty, str] = {
    Duty.BARRIER_CHECK: "Look all round the upper wall for gaps, dust or climbers. Keep the lid shut if it is worn.",
    Duty.BARRIER_RENEW: "The barrier needs a new band. Keep the lid shut; do it only if the keeper showed you how.",
    Duty.OUTSIDE_WIPE: "Wipe the outside of the box as the keeper does; nothing inside, nothing on the barrier.",
    Duty.WASTE: "Lift waste and dead ants out of the outworld with tweezers. Leave the nest alone.",
    Duty.NEST_CHANGE: "They need a fresh nest. This can wait for the keeper.",
    Duty.SPACE: "They need other room. This can wait for the keeper.",
    Duty.CENSUS: "Estimate how many workers there are. This can wait for the keeper.",
}
_FIGURED: Mapping[Duty, Callable[[Facts, Handbook, Units], str]] = {
    Duty.WATER: _water,
    Duty.SUGAR: _feeding("sugar water"),
    Duty.PROTEIN: _feeding("prey"),
    Duty.SEEDS: _feeding("seeds"),
    Duty.LEAVES: _feeding("fresh leaves"),
    Duty.LEFTOVERS: _leftovers,
    Duty.HEAT_CHECK: _heat,
    Duty.REST_CHECK: _rest_check,
    Duty.FEEDER_CARE: _feeders,
    **dict.fromkeys(
        (Duty.REST_WIND_DOWN, Duty.REST_COOL_DOWN, Duty.REST_BEGIN, Duty.REST_WARM_UP, Duty.REST_END), _rest
    ),
}
