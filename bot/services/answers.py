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
from bot.care.answers.values import NO_FACTS, Answer, Facts, Season
from bot.care.answers.whose import Kept
from bot.care.cautions import Caution, in_order
from bot.care.colony import Colony, NestKind
from bot.care.errors import BadValueError
from bot.care.growth.founding import founding_mode
from bot.care.handbook import Handbook
from bot.care.phase import RestPlan
from bot.care.place import Keeper
from bot.care.rest.terms import applied_class
from bot.care.species import DormancyClass, SpeciesProfile
from bot.services.colony_slots import colony_slots
from bot.services.food_slots import food_slots
from bot.services.rest_slots import rest_slots

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
_FACTS = frozenset({"genus", "workers", "nest", "season"})
_RESTING = frozenset({DormancyClass.ENDO, DormancyClass.EXO})
_PAUSING = frozenset({DormancyClass.QUASI, DormancyClass.UNKNOWN})
"""Classes that rest only where their keeper asks for it."""
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


def facts_of(colony: Colony, profile: SpeciesProfile, keeper: Keeper, day: date, rest: RestPlan | None = None) -> Facts:
    """What the search may know of a colony; its phase where its `rest` is given.

    Raises:
        BadValueError: the way of founding that was told does not exist.
    """
    return Facts(
        genus=profile.genus,
        workers=colony.workers,
        nest=_nest(colony),
        season=season_on(day, keeper),
        species=profile.name,
        restless=not _may_rest(colony, profile),
        founding=founding_mode(colony),
        phase=None if rest is None else rest.phase_on(day),
    )


def kept_as(colony: Colony, handbook: Handbook) -> Kept:
    """A colony as its keeper speaks of it; a species that left the handbook is not told by its kind any more."""
    profile = handbook.species.get(handbook.names.get(colony.species.casefold(), ""))
    species, genus = (None, None) if profile is None else (profile.name, profile.genus)
    return Kept(colony.name, species, genus)


def _may_rest(colony: Colony, profile: SpeciesProfile) -> bool:
    """Whether a rest is known to suit the colony, or its keeper asked for one that it bears."""
    dormancy = applied_class(colony, profile)
    asked = colony.rest.start is not None or colony.rest.weeks is not None
    return dormancy in _RESTING or (asked and dormancy in _PAUSING)


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
    return (
        slots
        | food_slots(plan, day)
        | rest_slots(plan, keeper, day)
        | colony_slots(plan, keeper, handbook, day, room_c)
    )


def country_slots(keeper: Keeper, handbook: Handbook) -> dict[str, str]:
    """What is known of a keeper without a colony."""
    country = handbook.countries.get(keeper.country or "")
    slots: dict[str, str] = {}
    if country is not None and country.emergency is not None:
        slots["emergency_number"] = f"In {called(country)} it is {country.emergency}."
    if country is not None and country.law_caution is not None:
        slots["country_law"] = handbook.cautions[country.law_caution].text
    return slots
