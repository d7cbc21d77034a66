"""Use cases behind `/ask` and `python -m bot ask`: one question, or a batch, for a colony whose plan may be known.

What is known of the colony becomes facts for the search and sentences for the personal slots of a card.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from bot.care.agenda import ColonyPlan
from bot.care.answers.countries import called
from bot.care.answers.guide import Guide
from bot.care.answers.named_cautions import SOMEBODY
from bot.care.answers.profile_facts import EATS
from bot.care.answers.values import NO_FACTS, Answer, Facts, Season
from bot.care.cautions import Caution, in_order
from bot.care.colony import Colony, NestKind
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.care.growth.first_workers import expected_first_workers
from bot.care.growth.trend import Direction, counts_of, trend
from bot.care.handbook import Handbook
from bot.care.phase import Phase, PhaseSpan
from bot.care.place import Keeper
from bot.care.species import SpeciesProfile
from bot.care.units import say_temperatures

NESTS: Mapping[str, str] = {
    "aerated-concrete": "AAC",
    "plaster": "plaster",
    "dense-plaster": "plaster",
    "acrylic-insert": "acrylic",
    "printed-insert": "3d-printed",
    "wood": "wood",
    "cork": "wood",
    "soil": "soil",
    "sand": "soil",
}
"""Material of the handbook -> word of the search; what is not listed counts as `other`."""
_DUTY_SLOTS = {Duty.WATER: "next_water", Duty.SUGAR: "next_sugar", Duty.PROTEIN: "next_protein"}
_INTERVALS = {Duty.SUGAR: "feeding_interval", Duty.PROTEIN: "protein_interval"}
_FACTS = frozenset({"genus", "workers", "nest", "season"})
_QUARTERS = (Season.WINTER, Season.SPRING, Season.SUMMER, Season.AUTUMN)


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One question of a batch."""

    id: str
    text: str
    facts: Facts = NO_FACTS


def answer_question(
    text: str, facts: Facts, guide: Guide, slots: Mapping[str, str] | None = None, keeper: Keeper = SOMEBODY
) -> Answer:
    """The answer to one question; `slots` come from `slots_of`, the units and law of named ants follow the `keeper`."""
    return guide.answer(text, facts, slots, keeper)


def spoken(ids: Iterable[str], whom: Mapping[str, str], handbook: Handbook) -> tuple[Caution, ...]:
    """Cautions in their order, each saying whose line it is: that of a named ant, or of anybody's.

    Words of a question raise a caution, so the asker's ants need not be those that it speaks of.
    """
    whole = in_order(ids, handbook.cautions)
    return tuple(replace(one, whom=whom.get(one.id, one.whom)).for_anybody for one in whole)


def answer_batch(lines: Iterable[BatchLine], guide: Guide) -> Iterator[dict[str, object]]:
    """One JSON-ready answer a question, in order, with the `id` of its line."""
    for line in lines:
        yield {"id": line.id, **guide.answer(line.text, line.facts).as_json()}


def batch_line(raw: Mapping[str, object]) -> BatchLine:
    """A line of a batch file; keys we do not use are left alone.

    Raises:
        BadValueError: a line without id or text, or facts that cannot be.
    """
    name, text = raw.get("id"), raw.get("text")
    if not isinstance(name, str) or not isinstance(text, str):
        raise BadValueError("text", "A line of a batch needs a text “id” and a text “text”.")
    facts = raw.get("colony_facts")
    return BatchLine(name, text, NO_FACTS if facts is None else facts_from(facts))


def facts_from(raw: object) -> Facts:
    """Facts out of `colony_facts`: `genus`, `workers`, `nest`, `season`; null means not known.

    Raises:
        BadValueError: an unknown key, or a value that cannot be.
    """
    if not isinstance(raw, Mapping) or not set(raw) <= _FACTS:
        raise BadValueError("colony_facts", "“colony_facts” holds genus, workers, nest and season, and nothing else.")
    workers, season = raw.get("workers"), raw.get("season")
    if workers is not None and (not isinstance(workers, int) or isinstance(workers, bool) or workers < 0):
        raise BadValueError("workers", "“workers” is a whole number from 0 on, or null.")
    if season is not None and season not in list(Season):
        raise BadValueError("season", "“season” is spring, summer, autumn or winter, or null.")
    return Facts(
        genus=_text(raw, "genus"),
        workers=workers,
        nest=_text(raw, "nest"),
        season=None if season is None else Season(season),
    )


def _text(raw: Mapping[str, object], key: str) -> str | None:
    value = raw.get(key)
    if value is not None and not isinstance(value, str):
        raise BadValueError(key, f"“{key}” is a text, or null.")
    return value


def facts_of(colony: Colony, profile: SpeciesProfile, keeper: Keeper, day: date) -> Facts:
    """What the search may know of a colony."""
    return Facts(
        genus=profile.genus,
        workers=colony.workers,
        nest=_nest(colony),
        season=season_on(day, keeper),
        species=profile.name,
    )


def _nest(colony: Colony) -> str:
    if colony.nest.kind is NestKind.TUBE:
        return "test tube"
    return "soil" if colony.nest.kind is NestKind.NATURALISTIC else NESTS.get(colony.nest.material or "", "other")


def season_on(day: date, keeper: Keeper) -> Season | None:
    """The meteorological season; unknown in the tropics and where the hemisphere is unknown."""
    if keeper.hemisphere is None or keeper.tropical:
        return None
    turned = 0 if keeper.hemisphere == "north" else 2
    return _QUARTERS[(day.month % 12 // 3 + turned) % 4]


def slots_of(
    plan: ColonyPlan, keeper: Keeper, handbook: Handbook, day: date, room_c: float | None = None
) -> dict[str, str]:
    """Sentences for the slots of a card; what is not known is left out, and the card says so.

    Args:
        plan: the plan of the colony.
        keeper: its keeper.
        handbook: laws and numbers of countries.
        day: the keeper's local day.
        room_c: warmth of the room in °C, as far as known.
    """
    slots: dict[str, str] = {"species": f"Yours is {plan.profile.name}."} | country_slots(keeper, handbook)
    slots |= _duties(plan) | _rest(plan, keeper, day) | _start(plan) | _growth(plan, room_c)
    return slots


def _growth(plan: ColonyPlan, room_c: float | None) -> dict[str, str]:
    colony, slots = plan.colony, {}
    found = trend(counts_of(colony.log))
    if found.direction is not Direction.UNKNOWN:
        change = f"{abs(found.percent_per_week):.0f} % a week {'more' if found.percent_per_week >= 0 else 'fewer'}"
        slots["growth_trend"] = f"Your last {found.counts} counts say {found.direction.value}: about {change}."
    seen = next((entry.day for entry in colony.log if entry.outcome is Outcome.EGGS), None)
    if seen is not None and not colony.workers and room_c is not None:
        slots["first_workers"] = expected_first_workers(seen, room_c, plan.profile).sentence
    return slots


def _duties(plan: ColonyPlan) -> dict[str, str]:
    slots: dict[str, str] = {}
    for duty, slot in _DUTY_SLOTS.items():
        occurrence = plan.first(duty)
        if occurrence is not None:
            slots[slot] = f"For {plan.colony.name}, {duty.value} is due on {occurrence.day.isoformat()}."
    for duty, slot in _INTERVALS.items():
        occurrence = plan.first(duty)
        days = None if occurrence is None else occurrence.facts.get("interval_days")
        if isinstance(days, int | float):
            slots[slot] = f"For {plan.colony.name}, {duty.value} about every {days:.0f} days."
    if (water := plan.first(Duty.WATER)) is not None and "side" in water.facts:
        slots["water_side"] = f"Side {water.facts['side']} is next."
    due = plan.first(Duty.BARRIER_RENEW) or plan.first(Duty.BARRIER_CHECK)
    if due is not None:
        slots["barrier_due"] = f"Your barrier is due on {due.day.isoformat()}."
    if plan.colony.heater is not None and plan.colony.heater.hot_c is not None:
        slots["warm_side"] = f"You measured {plan.colony.heater.hot_c:g} °C at the nest wall."
    return slots


def _rest(plan: ColonyPlan, keeper: Keeper, day: date) -> dict[str, str]:
    running = next((rest for rest in plan.rests if not rest.phases or rest.phases[-1].end > day), None)
    if running is None:
        return {}
    slots = {"rest_needed": running.why, "phase": f"{plan.colony.name} is in this phase: {running.phase_on(day)}."}
    if running.phases:
        slots |= _course({span.phase: span for span in running.phases}, running.phases[0], keeper)
    if plan.profile.rest_weeks is not None:
        weeks = plan.profile.rest_weeks
        slots["rest_weeks"] = f"For {plan.profile.name}, {weeks.low:g} to {weeks.high:g} weeks are usual."
    return slots


def _course(spans: Mapping[Phase, PhaseSpan], first: PhaseSpan, keeper: Keeper) -> dict[str, str]:
    slots = {"rest_start": f"In your plan the wind-down begins on {first.start.isoformat()}."}
    if (rest := spans.get(Phase.REST)) is not None:
        slots["rest_temperature"] = f"Your plan aims at {say_temperatures(rest.temperature_c, keeper.units)}."
    if (warm_up := spans.get(Phase.WARM_UP)) is not None:
        slots["rest_end"] = f"In your plan the warm-up begins on {warm_up.start.isoformat()}."
    return slots


def _start(plan: ColonyPlan) -> dict[str, str]:
    if not plan.profile.founding:
        return {}
    return {"founding": f"A queen of {plan.profile.name} {EATS[plan.profile.founding[0]]}."}


def country_slots(keeper: Keeper, handbook: Handbook) -> dict[str, str]:
    """What is known of a keeper without a colony."""
    country = handbook.countries.get(keeper.country or "")
    slots: dict[str, str] = {}
    if country is not None and country.emergency is not None:
        slots["emergency_number"] = f"In {called(country)} it is {country.emergency}."
    if country is not None and country.law_caution is not None:
        slots["country_law"] = handbook.cautions[country.law_caution].text
    return slots
