"""Single facts of a species as sentences, and which of them a topic calls for; what is not known is said or left out.

Figures and how they are known are the handbook's. A sentence follows the name of the ant.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from bot.care.rest.plan import CLASS_WORDS, source_words
from bot.care.species import DormancyClass, Founding, Growth, Moisture, SpeciesProfile
from bot.care.units import Band, Units, say_temperature, say_temperatures

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
Sentence = tuple[str, tuple[str, ...]]
"""What follows the name, and the fields of the profile that it rests on."""
Fact = Callable[[SpeciesProfile, Units], Sentence | None]
"""`None` where the handbook is silent."""


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
    figures = f"{say_temperatures(profile.rest_band_c, units)} for {span(profile.rest_weeks)} weeks"
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
    return f"begins with a queen who {ways_of_founding(profile)}{_known(profile, 'founding')}.", ("founding",)


def ways_of_founding(profile: SpeciesProfile) -> str:
    """What a founding queen of this kind needs, the commonest way first."""
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
    return f"has workers of {span(profile.worker_mm)} mm{_known(profile, 'worker_mm')}.", ("worker_mm",)


def _numbers(profile: SpeciesProfile, _: Units) -> Sentence | None:
    if profile.colony_size is None:
        return None
    said = f"reaches {span(profile.colony_size)} workers in a grown colony"
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


def span(band: Band) -> str:
    """`5,000–20,000`, or one figure where both ends are the same."""
    return f"{band.low:,g}" if band.low == band.high else f"{band.low:,g}–{band.high:,g}"


OVERVIEW: tuple[Fact, ...] = (_harm, _rest, _founding, _warmth)
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
