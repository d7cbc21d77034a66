"""What the handbook knows of an ant that a question names: the facts that its topics call for, as sentences.

Every figure is the handbook's and carries how it is known; what it lacks is called unknown. A genus stands for species
that differ, and says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.naming import Named
from bot.care.rest.plan import CLASS_WORDS, source_words
from bot.care.species import DormancyClass, Founding, Growth, Moisture, SpeciesProfile
from bot.care.units import Band, Units, say_temperature, say_temperatures

MOST_TOLD = 3
"""Ants of which an answer tells facts; of more it only says so (judgement: the screen of a phone)."""
_MOST_FACTS = 2
"""Facts of one ant, and one where several are named (judgement)."""
EATS: Mapping[Founding, str] = {
    Founding.CLAUSTRAL: "takes no food until workers come",
    Founding.SEMI_CLAUSTRAL: "must be fed while she is alone",
    Founding.PARASITIC: "needs host workers or pupae",
    Founding.BUDDING: "starts together with workers",
}
"""What a queen needs who starts a colony."""
_HARM = (
    "is hardly a danger to people",
    "is of little danger to people",
    "can hurt people",
    "is dangerous to people: an allergy to it can cost a life",
)
_WEAPONS: Mapping[str, str] = {
    "bite": "bite",
    "sting": "sting",
    "sting_mild": "weak sting",
    "formic_spray": "formic acid",
    "chemical_defence": "chemical defence",
}
_MOISTURE: Mapping[Moisture, str] = {
    Moisture.DRY: "rather dry",
    Moisture.MEDIUM: "of medium moisture",
    Moisture.HUMID: "humid",
    Moisture.GRADIENT: "damp at one end and dry at the other",
}
_GROWTH: Mapping[Growth, str] = {Growth.SLOW: "slowly", Growth.MODERATE: "at a moderate pace", Growth.FAST: "fast"}
_NO_REST = {"rest_start": "So there is no day to begin.", "rest_weeks": "So there are no weeks to name."}
_AWAKE: Mapping[DormancyClass, str] = {
    DormancyClass.HOMO: "It stays as warm as ever.",
    DormancyClass.QUASI: "It is not cooled on purpose.",
    DormancyClass.REVERSED: "Cool is when it is out and about.",
}
"""What stands for a rest temperature where there is no winter rest."""
Sentence = tuple[str, tuple[str, ...]]
"""What follows the name, and the fields of the profile that it rests on."""
Fact = Callable[[SpeciesProfile, Units], Sentence | None]
"""`None` where the handbook is silent."""


@dataclass(frozen=True, slots=True)
class Portrait:
    """What is told of the ants that a question names; `sources` are ids of the handbook."""

    text: str = ""
    sources: tuple[str, ...] = ()


def portrait(named: Sequence[Named], topics: Iterable[str] | None, units: Units = Units.CELSIUS) -> Portrait:
    """The facts that topics call for, a paragraph for each ant; of many ants only that they are many.

    Args:
        named: the ants, in the order of the question.
        topics: of the card that answers, likeliest first; `None` where the question was not understood.
        units: of the reader.
    """
    if len(named) > MOST_TOLD:
        return Portrait(f"You name {len(named)} kinds of ants, so I answer in general. Ask about one for its figures.")
    overview = topics is None
    facts = _OVERVIEW if topics is None else tuple(dict.fromkeys(fact for one in topics for fact in FACTS.get(one, ())))
    most = len(_OVERVIEW) if overview and len(named) == 1 else _MOST_FACTS if len(named) == 1 else 1
    paragraphs, fields = [], list[str]()
    for one in named:
        told = [sentence for fact in facts if (sentence := fact(one.profile, units)) is not None][:most]
        paragraphs.append(_paragraph(one, [said for said, _ in told]))
        evidence = [one.profile.evidence[name] for _, names in told for name in names if name in one.profile.evidence]
        fields += [source for found in evidence for source in found.sources]
    return Portrait("\n".join(paragraphs), tuple(dict.fromkeys(fields)))


def _paragraph(named: Named, told: Sequence[str]) -> str:
    name = named.profile.name
    said = " It ".join(told) or "is in my handbook, which holds nothing of its own on this: what follows is general."
    whole = f"**{name}** {said}"
    if named.missing is not None:
        return f"I know nothing of {named.missing} itself, only of its genus, and species differ. {whole}"
    return f"{whole} That is the genus; its species differ." if named.profile.rank == "genus" else whole


def slots_for(named: Sequence[Named], units: Units = Units.CELSIUS) -> dict[str, str]:
    """Sentences for the slots of a card that a profile can fill, for each ant that is named."""
    slots: dict[str, list[str]] = {}
    for one in named[:MOST_TOLD]:
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
        slots |= _NO_REST | {"rest_temperature": _AWAKE[profile.dormancy]}
    if profile.needs_rest and profile.rest_band_c is not None:
        slots["rest_temperature"] = f"For {name}: {say_temperatures(profile.rest_band_c, units)}."
    if profile.needs_rest and profile.rest_weeks is not None:
        slots["rest_weeks"] = f"For {name}: {_band(profile.rest_weeks)} weeks."
    if profile.founding:
        slots["founding"] = f"A queen of {name} {_modes(profile)}."
    return slots


def _need(profile: SpeciesProfile) -> str:
    if profile.dormancy is DormancyClass.UNKNOWN:
        return f"Whether {profile.name} needs one I do not know."
    if profile.dormancy is DormancyClass.REVERSED:
        return f"{profile.name} rests in summer instead."
    return f"{profile.name} needs {'one' if profile.needs_rest else 'none'}."


def _known(profile: SpeciesProfile, *fields: str) -> str:
    """How figures are known, in brackets."""
    known = [source_words(profile.evidence[name]) for name in fields if name in profile.evidence]
    weak = ["little is known"] if any(name in profile.weak_fields for name in fields) else []
    return f" ({'; '.join(dict.fromkeys([*known, *weak]))})" if known else ""


def _rest(profile: SpeciesProfile, units: Units) -> Sentence:
    cycle = profile.dormancy
    said, known = CLASS_WORDS[cycle], _known(profile, "dormancy")
    if cycle is DormancyClass.UNKNOWN and profile.rank == "genus":
        return "has species that rest in winter and others that must not, so I name no figure.", ()
    if cycle is DormancyClass.UNKNOWN:
        return "is not well studied, so whether it rests I do not know. Keep it out of the cold until you do.", ()
    if cycle is DormancyClass.HOMO:
        return f"{said}: no winter rest, and it must not be chilled{known}.", ("dormancy",)
    if not profile.needs_rest:
        return f"{said}{', so it needs no winter rest' if cycle is DormancyClass.QUASI else ''}{known}.", ("dormancy",)
    if profile.rest_band_c is None or profile.rest_weeks is None:
        return f"{said}{known}; how cold and how long I do not know.", ("dormancy",)
    figures = f"{say_temperatures(profile.rest_band_c, units)} for {_band(profile.rest_weeks)} weeks"
    fields = ("dormancy", "rest_band_c", "rest_weeks")
    return f"{said}, at {figures}{_known(profile, *fields)}.", fields


def _harm(profile: SpeciesProfile, _: Units) -> Sentence:
    if profile.hazard is None:
        return "may sting or bite, how hard I do not know: take it for one that hurts.", ()
    weapons = ", ".join(_WEAPONS.get(kind, kind) for kind in profile.hazard_kinds)
    by = f"; {weapons}" if weapons else ""
    return f"{_HARM[profile.hazard]}{by}{_known(profile, 'hazard')}.", ("hazard",)


def _founding(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if not profile.founding:
        return None
    return f"begins with a queen who {_modes(profile)}{_known(profile, 'founding')}.", ("founding",)


def _modes(profile: SpeciesProfile) -> str:
    return ", or ".join(EATS[mode] for mode in profile.founding)


def _climbing(profile: SpeciesProfile, _: Units) -> Sentence:
    if profile.climbs_smooth is None:
        return "may climb smooth walls, I do not know: plan a barrier.", ()
    climbs = "climbs smooth walls, so it needs a barrier"
    hardly = "hardly climbs clean smooth walls; a barrier belongs there all the same"
    said = climbs if profile.climbs_smooth else hardly
    return f"{said}{_known(profile, 'climbs_smooth')}.", ("climbs_smooth",)


def _warmth(profile: SpeciesProfile, units: Units) -> Sentence | None:
    if profile.active_c is None:
        return None
    said = f"is kept at {say_temperatures(profile.active_c, units)} on the warm side in the growing season"
    alarm, fields = profile.heat_alarm_c, ("active_c", "heat_alarm_c")
    hot = "" if alarm is None else f"; {say_temperature(alarm, units)} is too hot"
    return f"{said}{hot}{_known(profile, *fields)}.", fields


def _warmth_of_the_restless(profile: SpeciesProfile, units: Units) -> Sentence | None:
    """Where there is no winter rest, the warmth of the growing season is what counts in winter too."""
    return None if profile.needs_rest else _warmth(profile, units)


def _size(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if profile.worker_mm is None:
        return None
    return f"has workers of {_band(profile.worker_mm)} mm{_known(profile, 'worker_mm')}.", ("worker_mm",)


def _numbers(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if profile.colony_size is None:
        return None
    said = f"reaches {_band(profile.colony_size)} workers in a grown colony"
    return f"{said}{_known(profile, 'colony_size')}.", ("colony_size",)


def _growth(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if profile.growth is None:
        return None
    return f"grows {_GROWTH[profile.growth]} when it is well kept{_known(profile, 'growth')}.", ("growth",)


def _moisture(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if profile.moisture is None:
        return None
    return f"wants its nest {_MOISTURE[profile.moisture]}{_known(profile, 'moisture')}.", ("moisture",)


def _diet(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if "guilds" not in profile.evidence:
        return None
    said = " and ".join(guild.value for guild in profile.guilds)
    return f"lives as a {said}{_known(profile, 'guilds')}.", ("guilds",)


def _nest(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if not profile.nest_habits:
        return None
    said = ", ".join(habit.replace("_", " ") for habit in profile.nest_habits)
    return f"nests in the wild in: {said}{_known(profile, 'nest_habits')}.", ("nest_habits",)


def _law(profile: SpeciesProfile, _: Units) -> Sentence:
    if profile.regulation:
        return f"is named by official rules or lists somewhere{_known(profile, 'regulation')}: ask before you act.", (
            "regulation",
        )
    return "is on no list that I hold, which says nothing about the law where you live: ask there.", ()


def _band(band: Band) -> str:
    return f"{band.low:,g}" if band.low == band.high else f"{band.low:,g}–{band.high:,g}"


_OVERVIEW: tuple[Fact, ...] = (_harm, _rest, _founding, _warmth)
"""What is told where it is not clear what was asked."""
FACTS: Mapping[str, tuple[Fact, ...]] = {
    **dict.fromkeys(
        (
            "hibernation-needed",
            "hibernation-start",
            "hibernation-temp",
            "hibernation-care",
            "hibernation-end",
            "hibernation-problems",
            "southern-hemisphere",
        ),
        (_rest, _warmth_of_the_restless),
    ),
    **dict.fromkeys(("founding-care", "founding-eggs", "boosting", "social-parasite"), (_founding,)),
    **dict.fromkeys(("stings", "pets-kids", "unsafe-request"), (_harm,)),
    **dict.fromkeys(("escape", "barrier-choice", "barrier-worn"), (_climbing, _size)),
    **dict.fromkeys(("heating", "overheating"), (_warmth,)),
    **dict.fromkeys(("nest-watering", "humidity", "condensation", "tube-dry", "flooding"), (_moisture,)),
    **dict.fromkeys(("nest-choice", "nest-making", "outworld"), (_nest, _moisture)),
    **dict.fromkeys(("feeding-schedule", "feeding-protein", "feeding-sugar", "feeding-refusal", "seeds"), (_diet,)),
    "growth": (_growth, _numbers),
    "brood-stalled": (_rest, _growth),
    "leafcutters": (_diet, _warmth),
    "species-choice": (_harm, _rest),
    "species-id": (_size,),
    "law": (_law, _harm),
    "rehoming": (_law,),
    "transport": (_law, _harm),
}
"""Topic -> the facts that it calls for, first things first."""
