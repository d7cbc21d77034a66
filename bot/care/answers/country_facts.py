"""What the handbook's flags of regulation say of an ant in the countries that a question names.

A flag is a signpost; that none points at a country says nothing about its law.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bot.care.answers.countries import Land, called
from bot.care.answers.profile_facts import Sentence
from bot.care.caution_rules import UNION_LIST
from bot.care.goods import Country
from bot.care.rest.plan import source_words
from bot.care.species import SpeciesProfile

_REGIONS: Mapping[str, str] = {"QLD": "AU"}
"""First word of a flag -> the country that the region belongs to."""
_UNSURE = frozenset({"SOME", "UNVERIFIED", "OTHER", "MUNICIPAL"})
"""Words of a flag that holds for some species, some countries, or is not checked."""


def listed_in(profile: SpeciesProfile, lands: Sequence[Land]) -> Sentence:
    """Whether official rules or lists of named countries name an ant; follows its name."""
    grades: dict[str, list[str]] = {}
    for country in (land.country for land in lands):
        grades.setdefault(_grade(profile, country), []).append(called(country))
    said = "; it ".join(
        f"{grade} {' and '.join(grades[grade])}{tail}" for grade, tail in _SAID.items() if grade in grades
    )
    evidence = profile.evidence.get("regulation")
    known = f" ({source_words(evidence)})" if evidence is not None and set(grades) != {_NONE} else ""
    return f"{said}{known}: ask there before you act.", ("regulation",) if known else ()


_SURE = "is named by official rules or lists for"
_PERHAPS = "may be named by official rules or lists for"
_NONE = "is on no list that I hold for"
_SAID: Mapping[str, str] = {_SURE: "", _PERHAPS: "", _NONE: ", which says nothing about the law there"}
"""What is said before and behind the country, loudest first."""


def _grade(profile: SpeciesProfile, country: Country) -> str:
    flags = [set(flag.split("_")) for flag in profile.regulation if _points_at(flag, country)]
    if not flags:
        return _NONE
    return _PERHAPS if all(flag & _UNSURE for flag in flags) else _SURE


def _points_at(flag: str, country: Country) -> bool:
    if flag.startswith("EU_"):
        return country.law_caution == UNION_LIST
    return country.code in {_REGIONS.get(part, part) for part in flag.split("_")}
