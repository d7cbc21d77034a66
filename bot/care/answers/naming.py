"""Which ants a question names: a binomial, a genus, “L. niger”, an everyday name, one slip in a long name; no more.

Names and synonyms are the handbook's own. Whatever is also a word of everyday speech counts only where nothing else can
be meant: every name was compared with the commonest 150,000 words of English, German, Spanish and French.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType

from bot.care.answers.text import longest_phrase, spellings, words
from bot.care.answers.typos import slips
from bot.care.species import SpeciesProfile

_LONG = 6
"""Letters from which a name may hold one slip (judgement)."""
_REMEMBERED = 4096
"""Words that are remembered: most words of a question were asked before."""
_TELLING = 8
"""Letters from which an epithet alone says which ant is meant, as in “my barbarus” (judgement)."""
_NO_GENUS = 5
"""A word up to this long before an epithet is hardly the genus of some other animal."""
_AS_TYPED = frozenset({"atta", "manica", "ponera"})
"""Genera one slip away from everyday words such as alta, monica and poner."""
_EVERYDAY = frozenset({"formic", "formico", "lanius", "lassus", "messer"})
"""Words one slip away from a genus: of formic acid, a knife, a shrike, tired."""
_SPEAKING = frozenset({"lateralis", "metallica", "occidentalis", "sanguinea"})
"""Epithets that other things bear too."""
_COMPOUNDS = (
    "ameise", "arbeiter", "art", "brut", "futter", "gyne", "haltung", "koenigin", "kolonie", "konigin", "larve", "nest",
    "puppe", "volk", "volker",
)  # fmt: skip
"""What German hangs on a genus: Messorkolonie."""
_LATIN = (
    "alienus", "anus", "arius", "atus", "barbis", "ensis", "escens", "icola", "icus", "ilipes", "inus", "nodis", "orum",
    "osus", "ssipes", "tulus", "vipes",
)  # fmt: skip
"""Endings by which a word after a genus is told for an epithet that the handbook lacks."""
_NO_EPITHETS = frozenset({"continus", "hiatus", "nicola", "quorum", "status", "tetanus"})
"""Words of everyday speech that end so."""


@dataclass(frozen=True, slots=True)
class Named:
    """An ant that a question names: the entry of the handbook that stands for it."""

    profile: SpeciesProfile
    missing: str | None = None
    """The species that was named, where the handbook holds its genus only."""

    @property
    def said(self) -> str:
        """What was named, whether the handbook holds it or not."""
        return self.missing or self.profile.name

    def is_kept(self, species: str | None, genus: str | None) -> bool:
        """Whether ants kept as this species are meant: by it, by their genus, or as what is only known by its genus."""
        own = self.profile.genus
        return self.said == species or (own == genus and own in {self.said, species})


@dataclass(slots=True)
class _Index:
    genera: dict[str, SpeciesProfile] = field(default_factory=dict)
    epithets: dict[str, dict[str, SpeciesProfile]] = field(default_factory=dict)
    """First word of a binomial, or its initial where no two species share both -> epithet -> profile."""
    bearers: dict[str, list[SpeciesProfile]] = field(default_factory=dict)
    """Epithet -> species that bear it."""
    everyday: dict[tuple[str, ...], SpeciesProfile] = field(default_factory=dict)
    """Words of an everyday name -> what it means."""


class Names:
    """Finds names; built once.

    Args:
        profiles: the entries of a handbook.
        everyday: entry -> what people call it, in the singular.
    """

    def __init__(
        self, profiles: Iterable[SpeciesProfile], everyday: Mapping[str, Iterable[str]] = MappingProxyType({})
    ) -> None:
        self._index = _Index()
        shared: set[tuple[str, str]] = set()
        entries = {profile.name: profile for profile in profiles}
        for name, said in everyday.items():
            self._index.everyday |= dict.fromkeys(_numbers(said), entries[name])
        self._longest = max(map(len, self._index.everyday), default=0)
        for profile in entries.values():
            if profile.rank == "genus":
                self._index.genera[profile.name.casefold()] = profile
                continue
            for first, epithet in _binomials(profile):
                self._add(first, epithet, profile, shared)
        for initial, epithet in shared:
            del self._index.epithets[initial][epithet]
        self._genus = lru_cache(_REMEMBERED)(self._look_up)

    def _add(self, first: str, epithet: str, profile: SpeciesProfile, shared: set[tuple[str, str]]) -> None:
        for key in (first, first[0]):
            known = self._index.epithets.setdefault(key, {}).setdefault(epithet, profile)
            if known is not profile:
                shared.add((key, epithet))
        bearers = self._index.bearers.setdefault(epithet, [])
        if profile not in bearers:
            bearers.append(profile)

    @property
    def words(self) -> frozenset[str]:
        """Every word of a name."""
        binomials = self._index.epithets.items()
        return frozenset({*self._index.genera, *self._index.bearers, *(first for first, _ in binomials)})

    def find(self, text: str) -> tuple[Named, ...]:
        """The ants that a question names, in its order; a genus is left out where one of its species is named."""
        tokens = words(text)
        found = {one.said: one for one in self._walk(tokens)}.values()
        closer = {one.profile.genus for one in found if one.said != one.profile.genus}
        return tuple(one for one in found if one.said != one.profile.genus or one.profile.genus not in closer)

    def _walk(self, tokens: Sequence[str]) -> Iterator[Named]:
        genera = {genus.genus for token in tokens if (genus := self._genus(token)) is not None}
        position = 0
        while position < len(tokens):
            named, used = self._at(tokens, position, genera)
            if named is not None:
                yield named
            position += used

    def _at(self, tokens: Sequence[str], position: int, genera: set[str]) -> tuple[Named | None, int]:
        """What is named from a position on, and how many words that takes."""
        everyday, used = longest_phrase(self._index.everyday, tokens, position, self._longest)
        if everyday is not None:
            return Named(everyday), used
        token = tokens[position]
        after = tokens[position + 1] if position + 1 < len(tokens) else ""
        genus = self._genus(token)
        first = token if genus is None else genus.name.casefold()
        species = self._species(self._index.epithets.get(first, {}), after, slip=len(first) > 1)
        if species is not None:
            return Named(species), 2
        if genus is not None:
            if _is_epithet(after):
                return Named(genus, f"{genus.name} {after}"), 2
            return Named(genus), 1
        alone = self._alone(token, tokens[position - 1] if position else "", genera)
        return (None if alone is None else Named(alone)), 1

    def _look_up(self, token: str) -> SpeciesProfile | None:
        genera = self._index.genera
        if token in genera:
            return genera[token]
        if len(token) < _LONG - 1 or token in _EVERYDAY:
            return None
        for name, profile in genera.items():
            if len(name) >= _LONG and token.startswith(name) and token[len(name) :].startswith(_COMPOUNDS):
                return profile
        return _only([genera[name] for name in genera if name not in _AS_TYPED and _one_slip(token, name)])

    def _species(self, epithets: Mapping[str, SpeciesProfile], token: str, *, slip: bool) -> SpeciesProfile | None:
        if token in epithets or not slip:
            return epithets.get(token)
        return _only([profile for epithet, profile in epithets.items() if _one_slip(token, epithet)])

    def _alone(self, token: str, before: str, genera: set[str]) -> SpeciesProfile | None:
        """The species of an epithet alone: one of a genus that was named, or one whose epithet nothing else bears."""
        bearers = self._index.bearers.get(token, [])
        near = [profile for profile in bearers if profile.genus in genera]
        if near:
            return _only(near)
        telling = len(token) >= _TELLING and token not in _SPEAKING and len(before) <= _NO_GENUS
        return _only(bearers) if telling else None


def _binomials(profile: SpeciesProfile) -> Iterator[tuple[str, str]]:
    """First word and epithet of a name and its synonyms; one such as `Tetramorium sp. E` has no epithet."""
    for said in (profile.name, *profile.aliases):
        parts = words(said)
        if len(parts) == 2:
            yield parts[0], parts[1]


def _numbers(names: Iterable[str]) -> Iterator[tuple[str, ...]]:
    """Everyday names as the words of a question, one ant or many: carpenter ants, Rossameisen, hormigas carpinteras."""
    for parts in (words(spelling) for name in names for spelling in spellings(name)):
        *head, last = parts
        yield from (parts, (*head, f"{last}s"), (*head, f"{last}n"), (f"{parts[0]}s", *parts[1:]))
        yield tuple(f"{part}n" if part.endswith("e") else f"{part}s" for part in parts)
        yield tuple(f"{part}s" for part in parts)


def _one_slip(token: str, name: str) -> bool:
    near = len(name) >= _LONG and token[:1] == name[0] and abs(len(token) - len(name)) <= 1
    return near and slips(token, name) == 1


def _is_epithet(token: str) -> bool:
    return len(token) >= _LONG and token.endswith(_LATIN) and token not in _NO_EPITHETS


def _only(found: Sequence[SpeciesProfile]) -> SpeciesProfile | None:
    unique = dict.fromkeys(profile.name for profile in found)
    return found[0] if len(unique) == 1 else None
