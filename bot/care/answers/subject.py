"""Whom an answer is about: the ants that a question names come before the asker's own colony.

Facts and personal sentences of a colony stay where its own species is named, or its genus; they say nothing of others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from bot.care.answers.naming import Named
from bot.care.answers.portrait import slots_for
from bot.care.answers.values import Facts
from bot.care.units import Units

_OF_THE_KEEPER = frozenset({"country_law", "emergency_number"})
"""Slots that speak of no colony."""


def told_of(
    named: Sequence[Named], facts: Facts, slots: Mapping[str, str], units: Units
) -> tuple[Facts, Mapping[str, str]]:
    """Facts and sentences for an answer about named ants, given those of the asker's colony."""
    if not named or (facts.species is not None and any(_is_own(one, facts) for one in named)):
        return facts, slots
    spoken = slots_for(named, units)
    genera = {one.profile.genus for one in named}
    genus = genera.pop() if len(genera) == 1 else None
    if facts.species is None:
        return (facts if facts.genus is not None else replace(facts, genus=genus)), {**spoken, **slots}
    kept = {name: said for name, said in slots.items() if name in _OF_THE_KEEPER}
    return Facts(genus=genus, season=facts.season), {**spoken, **kept}


def _is_own(one: Named, facts: Facts) -> bool:
    return one.said == facts.species or (one.said == one.profile.genus == facts.genus)
