"""What the handbook knows of an ant that a question names: the facts that its topics call for, as sentences.

Every figure is the handbook's and carries how it is known; what it lacks is called unknown. A genus stands for species
that differ, and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.countries import Land, ruling
from bot.care.answers.country_facts import listed_in
from bot.care.answers.naming import Named
from bot.care.answers.profile_facts import FACTS, OVERVIEW, Fact, Sentence, span, ways_of_founding
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import Units, say_temperature, say_temperatures

MOST_TOLD = 3
"""Ants of which an answer tells facts; of more it only says so (judgement: the screen of a phone)."""
_MOST_FACTS = 2
"""Facts told of one ant; of several ants one fact each (judgement)."""
_LAW = FACTS["law"][0]
"""The fact that names lists somewhere, where no country is named."""
_NO_REST = {"rest_start": "So there is no day to begin.", "rest_weeks": "So there are no weeks to name."}
AWAKE: Mapping[DormancyClass, str] = {
    DormancyClass.HOMO: "It stays as warm as ever.",
    DormancyClass.QUASI: "It is not cooled on purpose.",
    DormancyClass.REVERSED: "Cool is when it is out and about.",
}
"""What stands for a rest temperature where there is no winter rest."""


@dataclass(frozen=True, slots=True)
class Portrait:
    """What is told of the ants that a question names; `sources` are ids of the handbook."""

    text: str = ""
    sources: tuple[str, ...] = ()


def portrait(
    named: Sequence[Named], topics: Iterable[str] | None, units: Units = Units.CELSIUS, lands: Sequence[Land] = ()
) -> Portrait:
    """The facts that topics call for, a paragraph for each ant; of many ants only that they are many.

    Args:
        named: the ants, in the order of the question.
        topics: of the card that answers, likeliest first; `None` where the question was not understood.
        units: of the reader.
        lands: countries that the question names.
    """
    if len(named) > MOST_TOLD:
        return Portrait(f"You name {len(named)} kinds of ants, so I answer in general. Ask about one for its figures.")
    facts = OVERVIEW if topics is None else tuple(dict.fromkeys(fact for one in topics for fact in FACTS.get(one, ())))
    alone = len(OVERVIEW) if topics is None else _MOST_FACTS
    most = alone if len(named) == 1 else 1
    paragraphs, fields = [], list[str]()
    for one in named:
        sentences = (_sentence(fact, one.profile, units, lands) for fact in facts)
        told = [sentence for sentence in sentences if sentence is not None][:most]
        paragraphs.append(_paragraph(one, [said for said, _ in told]))
        evidence = [one.profile.evidence[name] for _, names in told for name in names if name in one.profile.evidence]
        fields += [source for found in evidence for source in found.sources]
    return Portrait("\n".join(paragraphs), tuple(dict.fromkeys(fields)))


def _sentence(fact: Fact, profile: SpeciesProfile, units: Units, lands: Sequence[Land]) -> Sentence | None:
    return listed_in(profile, lands) if fact is _LAW and ruling(lands) else fact(profile, units)


def _paragraph(named: Named, told: Sequence[str]) -> str:
    name = named.profile.name
    said = " It ".join(told) or "is in my handbook, which holds nothing of its own on this: what follows is general."
    whole = f"**{name}** {said}"
    if named.missing is not None:
        return f"I know nothing of {named.missing} itself, only of its genus, and species differ. {whole}"
    return f"{whole} That is the genus; its species differ." if named.profile.rank == "genus" else whole


def slots_for(named: Sequence[Named], units: Units = Units.CELSIUS) -> dict[str, str]:
    """Sentences for the slots of a card that a profile can fill, for each ant that is named; none for many."""
    slots: dict[str, list[str]] = {}
    for one in named if len(named) <= MOST_TOLD else ():
        for slot, said in _slots(one.profile, units).items():
            slots.setdefault(slot, []).append(said)
    return {slot: " ".join(said) for slot, said in slots.items()}


def _slots(profile: SpeciesProfile, units: Units) -> dict[str, str]:
    name = profile.name
    slots = {
        "rest_needed": _need(profile),
        "rest_start": f"I name dates only for colonies that you registered, not for {name} in general.",
        "rest_temperature": f"How cold {name} rests I do not know.",
        "rest_weeks": f"How long {name} rests I do not know.",
        "species": f"You ask about {name}.",
    }
    if not profile.needs_rest:
        slots |= _NO_REST | {"rest_temperature": AWAKE[profile.dormancy]}
    if profile.needs_rest and profile.rest_band_c is not None:
        slots["rest_temperature"] = f"For {name}: {say_temperatures(profile.rest_band_c, units)}."
    if profile.needs_rest and profile.rest_weeks is not None:
        slots["rest_weeks"] = f"For {name}: {span(profile.rest_weeks)} weeks."
    if profile.heat_alarm_c is not None:
        slots["heat_limit"] = f"For {name} {say_temperature(profile.heat_alarm_c, units)} is the alarm."
    if profile.founding:
        slots["founding"] = f"A queen of {name} {ways_of_founding(profile)}."
    return slots


def _need(profile: SpeciesProfile) -> str:
    if profile.dormancy is DormancyClass.UNKNOWN:
        return f"Whether {profile.name} needs one I do not know."
    if profile.dormancy is DormancyClass.REVERSED:
        return f"{profile.name} rests in summer instead."
    return f"{profile.name} needs {'one' if profile.needs_rest else 'none'}."
