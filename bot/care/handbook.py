"""The handbook: everything read from `config/`, as one immutable value that engines and services are given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches

from bot.care.cautions import Caution
from bot.care.errors import UnknownNameError
from bot.care.evidence import Source
from bot.care.goods import Barrier, Country, FeederCulture, Food, HeaterKind, Material
from bot.care.species import SpeciesProfile


@dataclass(frozen=True, kw_only=True, repr=False)
class Handbook:
    """Profiles by full name (`Lasius niger`, `Lasius`), goods, cautions and sources by id, countries by code.

    It has no long `repr`: a megabyte of text in every traceback, and a quarter of a second for every task of the event
    loop that is described.
    """

    species: Mapping[str, SpeciesProfile]
    materials: Mapping[str, Material]
    barriers: Mapping[str, Barrier]
    heaters: Mapping[str, HeaterKind]
    foods: Mapping[str, Food]
    feeders: Mapping[str, FeederCulture]
    cautions: Mapping[str, Caution]
    sources: Mapping[str, Source]
    countries: Mapping[str, Country]
    names: Mapping[str, str] = field(default_factory=dict)
    """Lower-case name or alias -> profile name."""
    fingerprint: str = ""
    """Differs from that of any handbook with other content."""

    def profile(self, name: str) -> SpeciesProfile:
        """The profile of a species or genus by name or alias; a species we lack falls back on nothing.

        Raises:
            UnknownNameError: with the nearest names.
        """
        wanted = " ".join(name.split()).casefold()
        found = self.names.get(wanted)
        if found is None:
            raise UnknownNameError("species or genus", name, self.nearest(wanted))
        return self.species[found]

    def nearest(self, name: str, count: int = 3) -> tuple[str, ...]:
        """Profile names that resemble `name`, best first; a known genus in front brings its genus entry."""
        wanted = " ".join(name.split()).casefold()
        close = [self.names[match] for match in get_close_matches(wanted, list(self.names), n=count, cutoff=0.6)]
        genus = self.names.get(wanted.split(" ")[0]) if wanted else None
        return tuple(dict.fromkeys([*close, *([genus] if genus else [])]))[:count]
