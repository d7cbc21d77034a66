"""First aid: when words alone call for it, and which card it is, whatever else a question may be about.

Some things need no weighing. Signs of illness count for people only: a pale ant, or a colony that collapsed, has none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bot.care.answers.reading import Reading
from bot.care.answers.values import Card

HURT = frozenset({"burn_hurt", "crisis", "eye_hurt", "shocked"})
"""Somebody told that it has happened to them."""
SIGNS = frozenset({"medical", "med_danger"})
"""Signs of a reaction."""
_EVENTS = frozenset({"sting", "swallowed"})
_FIRE = frozenset({"ablaze", "fire_thing"})
_HARMFUL = frozenset({"bait", "barrier", "chem", "poison", "talc"})
"""What a pet that swallowed or licked it is taken to a vet for."""
_DOUBT = 0.1
"""With words of pain and of stings, this much is enough to show emergency wording."""
_OF_ANTS = frozenset({"ant", "brood", "eggs", "larvae", "pupae", "queen", "soldiers", "workers"})
_OF_PEOPLE = frozenset(
    {"bleach_word", "burn_hurt", "fumes", "kids_pets", "person", "pet", "shocked", "sting", "swallowed"}
)
_ASKER = frozenset({"i", "im", "ive", "me", "myself", "he", "him", "his", "ich", "mir", "mich", "yo", "je", "moi"})
"""Who may have signs of a reaction."""
_DECISIVE = frozenset({"button_cell", "eye_hurt", "swallowed"})
"""Concepts that settle which card comes first, unless signs of a severe reaction are told."""
_OTHER_CAUSES = frozenset({"ablaze", "bleach_word", "burn_hurt", "chem", "crisis", "fumes", "poison", "shocked"})
"""Concepts that settle it in spite of such signs, unless something stung: there they are no sign of an allergy."""
_SOMEBODY = frozenset({"child", "person"})
"""Where somebody is spoken of, a pet is not at once the patient."""
_ONLY_FOR = HURT | {"ablaze", "pet"}
"""Cards about these are for nobody else."""


def is_needed(said: frozenset[str], share: float) -> bool:
    """Whether the concepts of a question alone call for first aid; `share` is the probability of its topic."""
    if HURT & said or said >= _FIRE:
        return True
    if said >= {"pet", "swallowed"} and _HARMFUL & said:
        return True
    return not is_planned(said) and "medical" in said and bool(_EVENTS & said) and share > _DOUBT


def is_planned(said: frozenset[str]) -> bool:
    """Whether an allergy is told of before anything has happened: the question is which ant to keep."""
    return "allergy_ahead" in said and "med_danger" not in said


def signs_of_people(reading: Reading) -> frozenset[str]:
    """Signs of a reaction that a question tells of, none where only ants can have them."""
    said = reading.concepts
    only_ants = said & _OF_ANTS and not (said & _OF_PEOPLE or _ASKER & set(reading.words))
    return frozenset() if only_ants else said & SIGNS


def fitting(cards: Iterable[Card], said: frozenset[str]) -> Sequence[Card]:
    """The cards that first aid is chosen from."""
    own = [card for card in cards if not _ONLY_FOR & set(card.about) - said]
    return [card for card in own if _causes(said) & set(card.about)] or own


def _causes(said: frozenset[str]) -> frozenset[str]:
    if "pet" in said and not _SOMEBODY & said:
        return frozenset({"pet"})
    if "sting" not in said and _OTHER_CAUSES & said:
        return _OTHER_CAUSES & said
    return frozenset() if "med_danger" in said else _DECISIVE & said
