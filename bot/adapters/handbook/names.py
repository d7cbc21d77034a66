"""The index of names a keeper may type: full names, aliases, `genus sp.`, and unambiguous abbreviations."""

from __future__ import annotations

from collections.abc import Iterable

from bot.care.species import SpeciesProfile


def index_names(profiles: Iterable[SpeciesProfile]) -> tuple[dict[str, str], tuple[str, ...]]:
    """Lower-case name -> profile name, and a sentence for every name that two profiles claim."""
    known = list(profiles)
    names: dict[str, str] = {}
    problems = []
    for profile in known:
        for said in (profile.name, *profile.aliases):
            key = " ".join(said.split()).casefold()
            if names.setdefault(key, profile.name) != profile.name:
                problems.append(f"“{said}” means both {names[key]} and {profile.name}; a name belongs to one of them.")
    return names | {key: name for key, name in _short_names(known).items() if key not in names}, tuple(problems)


def _short_names(profiles: list[SpeciesProfile]) -> dict[str, str]:
    """`l. niger` and `lasius sp.`; a short name that fits two profiles is left out."""
    meant: dict[str, set[str]] = {}
    for profile in profiles:
        if profile.rank == "genus":
            meant.setdefault(f"{profile.name.casefold()} sp.", set()).add(profile.name)
            continue
        for said in (profile.name, *profile.aliases):
            genus, _, epithet = said.casefold().partition(" ")
            meant.setdefault(f"{genus[:1]}. {epithet}", set()).add(profile.name)
    return {key: min(names) for key, names in meant.items() if len(names) == 1}
