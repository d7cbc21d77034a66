"""What the law lines of an answer become where the question names countries: theirs, and none of another country.

A line that fits no named country gives way; that rules are unknown is said only where a named country has no line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bot.care.answers.countries import Land, ruling
from bot.care.answers.named_cautions import Lines
from bot.care.caution_rules import EU_FLAG, UNION_LIST
from bot.care.cautions import Kind, in_order
from bot.care.handbook import Handbook
from bot.care.species import SpeciesProfile

_UNKNOWN = "LAW-ASK"


def on_the_union_list(profiles: Sequence[SpeciesProfile]) -> bool:
    """Whether one of the ants may be on the list of the EU, as far as the handbook tells; so may unknown ones."""
    return not profiles or any(flag.startswith(EU_FLAG) for profile in profiles for flag in profile.regulation)


def of_lands(lines: Lines, lands: Sequence[Land], profiles: Sequence[SpeciesProfile], handbook: Handbook) -> Lines:
    """The cautions of an answer to a question that names countries.

    Args:
        lines: what was chosen before.
        lands: the countries that the question names.
        profiles: the ants that it names.
        handbook: the law lines of countries.
    """
    book, there = handbook.cautions, [land.country.law_caution for land in ruling(lands)]
    if not there or not any(book[name].kind is Kind.LAW for name in lines.ids):
        return lines
    listed = on_the_union_list(profiles)
    wanted = [law for law in there if law is not None and (law != UNION_LIST or listed)]
    foreign = {country.law_caution for country in handbook.countries.values()} - {UNION_LIST, *wanted}
    if len(wanted) == len(there):
        foreign.add(_UNKNOWN)
    kept = [name for name in lines.ids if name not in foreign]
    if not any(book[name].kind is Kind.LAW for name in (*kept, *wanted)):
        kept.append(_UNKNOWN)
    return replace(lines, ids=tuple(caution.id for caution in in_order([*kept, *wanted], book)))
