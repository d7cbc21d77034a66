"""Whom an answer is about: the ants that a question names come before the asker's own colony.

Facts and personal sentences of a colony stay where its own species is named, or its genus; they say nothing of others.
Where somebody feels ill, and in chatter, the answer speaks of no ant at all.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from bot.care.answers.countries import Land, emergency_in, rules_of, ruling
from bot.care.answers.country_cautions import on_the_union_list
from bot.care.answers.filling import OF_THE_KEEPER
from bot.care.answers.naming import Named
from bot.care.answers.portrait import slots_for
from bot.care.answers.ranking import likely
from bot.care.answers.reading import Reading
from bot.care.answers.values import Card, Decline, Facts
from bot.care.handbook import Handbook
from bot.care.place import Keeper
from bot.care.species import DormancyClass
from bot.care.units import Units

_ILL = frozenset({"medical", "med_danger", "eye_hurt", "swallowed"})
"""Concepts of somebody who needs help now."""
_AS_LIKELY = 0.5
"""Share of its likeliest topic that another topic of a card must have for facts of its own."""
_REST, _NEED_SLOT = "hibernation-", "{rest_needed}"
"""How topics of the winter rest begin, and the slot by which a card tells whether it is needed."""
_WHEN_AND_HOW = ("{rest_start}", "{rest_temperature}")
"""Slots of cards that go on to lay ants to rest."""
_NEEDED, _ITS_DETAILS = "hibernation-needed", ("hibernation-start", "hibernation-temp")
_BEGINS = frozenset({_NEEDED, "hibernation-start"})
"""First topics of cards that call for a rest, whatever else they are about."""
_FEW_WORDS = 2
"""Words of a binomial."""
_OF_NAMES = frozenset(
    {
        "g_camponotus", "g_formica", "g_lasius", "g_messor", "g_myrmica", "leafcutter", "parasite_queen",
        "stinging_kind",
    }
)  # fmt: skip
"""Concepts that the name of an ant carries by itself."""
_SPOKEN: Mapping[str, str] = {
    "winter_need": "hibernation-needed",
    "winter_temp": "hibernation-temp",
    "winter": "hibernation-needed",
    "sting": "stings",
}
"""Concept -> the topic whose facts about a named ant come first, whichever card answers."""
_WHICH_ANT = "Which ant is it"
"""How the question back begins that is answered where an ant is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question with all that is known about it."""

    reading: Reading
    facts: Facts
    named: tuple[Named, ...]
    probabilities: Mapping[str, float]
    slots: Mapping[str, str]
    keeper: Keeper
    """Whose units count, and whose country where the question names none."""
    lands: tuple[Land, ...] = ()
    """Countries that the question names."""


def keeper_there(keeper: Keeper, lands: Sequence[Land]) -> Keeper:
    """The keeper as somebody in the country that a question asks about; ants that come from one bring no law along."""
    there = ruling(lands)
    return replace(keeper, country=there[0].country.code) if there else keeper


def slots_there(asked: Asked, handbook: Handbook, above: Collection[str]) -> Mapping[str, str]:
    """Sentences for slots, with the law of the countries that are named; in an emergency the asker's own comes first.

    Args:
        asked: the question.
        handbook: what is known of countries.
        above: cautions that are shown with it.
    """
    if not asked.lands:
        return asked.slots
    listed = on_the_union_list([one.profile for one in asked.named])
    slots = {**asked.slots, "country_law": rules_of(asked.lands, asked.keeper.country, handbook, above, listed=listed)}
    number = emergency_in(asked.lands)
    return slots if number is None else {"emergency_number": number, **slots}


def told_of(
    named: Sequence[Named], facts: Facts, slots: Mapping[str, str], units: Units
) -> tuple[Facts, Mapping[str, str]]:
    """Facts and sentences for an answer about named ants, given those of the asker's colony."""
    if not named or (facts.species is not None and any(one.is_kept(facts.species, facts.genus) for one in named)):
        return facts, slots
    spoken = slots_for(named, units)
    genera = {one.profile.genus for one in named}
    genus = genera.pop() if len(genera) == 1 else None
    if facts.species is None:
        return (facts if facts.genus is not None else replace(facts, genus=genus)), {**spoken, **slots}
    kept = {name: said for name, said in slots.items() if name in OF_THE_KEEPER}
    return Facts(genus=genus, season=facts.season), {**spoken, **kept}


def a_mere_name(asked: Asked) -> bool:
    """Whether a question says little more than the name of an ant: it is told what is known of that ant."""
    few = len(asked.reading.words) <= _FEW_WORDS
    return bool(asked.named) and few and asked.reading.concepts <= _OF_NAMES


def of_the_ants(asked: Asked, card: Card | None) -> bool:
    """Whether to speak of named ants: not in chatter, and not where somebody feels ill, who reads first aid alone."""
    if card is None or card.decline not in {Decline.MEDICAL, Decline.CHAT}:
        return True
    return card.decline is Decline.MEDICAL and not _ILL & asked.reading.concepts


def lays_to_rest(card: Card) -> bool:
    """Whether a card names when or how cold to rest, or is about a rest and does not tell whether it is needed."""
    if any(slot in card.body for slot in _WHEN_AND_HOW):
        return True
    of_rest = card.topics[0] in _BEGINS or all(topic.startswith(_REST) for topic in card.topics)
    return of_rest and _NEED_SLOT not in card.body


def restless(named: Sequence[Named], facts: Facts) -> bool:
    """Whether none of the ants in question is known to have a winter rest: those that are named, else the asker's."""
    if not named:
        return facts.restless
    return not any(one.profile.needs_rest and one.profile.dormancy is not DormancyClass.UNKNOWN for one in named)


def without_rest(shares: Mapping[str, float]) -> dict[str, float]:
    """Shares of topics for ants without a winter rest: when and how cold comes down to whether they need one."""
    details = sum(shares[topic] for topic in _ITS_DETAILS)
    return {**shares, **dict.fromkeys(_ITS_DETAILS, 0.0), _NEEDED: shares[_NEEDED] + details}


def open_questions(card: Card, asked: Asked) -> tuple[str, ...]:
    """What is asked back; not what a name in the question, the asker's colony or the settings tell already."""
    facts = asked.facts
    known = {
        _WHICH_ANT: bool(asked.named) or facts.genus is not None,
        "How many workers": facts.workers is not None,
        "In which country": asked.keeper.country is not None,
        "Which nest or tube": facts.species is not None and facts.nest is not None,
    }
    told = tuple(question for question, answered in known.items() if answered)
    return tuple(ask for ask in card.asks if not ask.startswith(told))


def facts_wanted(asked: Asked, card: Card | None) -> tuple[str, ...]:
    """Topics whose facts about named ants are told: those that words speak of, then the likeliest of the card."""
    shares = asked.probabilities
    spoken = tuple(topic for concept, topic in _SPOKEN.items() if concept in asked.reading.concepts)
    if card is None:
        return spoken
    least = _AS_LIKELY * max(shares[topic] for topic in card.topics)
    return (*spoken, *likely({topic: shares[topic] for topic in card.topics}, least))
