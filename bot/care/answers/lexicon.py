"""Concepts and their surfaces: finds what a question speaks of, however a keeper says it.

A surface is a word, a word with `*` for endings or compounds, or a phrase in which `..` stands for up to four words.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from functools import lru_cache

from bot.care.answers.text import spellings

Part = tuple[str, "_How"]
"""A word of a phrase and how it must stand."""
Pattern = tuple[Part, ...]
_GAP = ".."
_LONGEST_GAP = 4
_SHORT = 5
"""A surface whose first word is shorter than this counts only in a question of its own language."""
_REMEMBERED = 4096
"""Words whose surfaces are remembered: most words of a question were asked before."""
_COMPOUND = 10
"""From this many letters on, a word is searched for stems inside it."""


class _How(Enum):
    WHOLE = auto()
    BEGINS = auto()
    ENDS = auto()
    INSIDE = auto()
    GAP = auto()


@dataclass(frozen=True, slots=True)
class Surface:
    """One way to say a concept."""

    concept: str
    language: str
    rest: Pattern
    """What must follow the first word."""
    needs: frozenset[str]
    """Whole words among them: without these there is nothing to look for."""
    short: bool


@dataclass(slots=True)
class _Index:
    exact: dict[str, list[Surface]] = field(default_factory=lambda: defaultdict(list))
    prefix: dict[str, list[Surface]] = field(default_factory=lambda: defaultdict(list))
    suffix: dict[str, list[Surface]] = field(default_factory=lambda: defaultdict(list))
    inner: dict[str, list[Surface]] = field(default_factory=lambda: defaultdict(list))


class Lexicon:
    """All concepts, indexed by first word.

    Args:
        concepts: concept -> language (`en`, `de`, `es`, `fr`) -> surfaces.
        common: language -> its small words.
    """

    def __init__(
        self, concepts: Mapping[str, Mapping[str, Sequence[str]]], common: Mapping[str, frozenset[str]]
    ) -> None:
        self._index = _Index()
        self.common = common
        self.small: frozenset[str] = frozenset().union(*common.values())
        self.concepts = tuple(concepts)
        vocabulary: set[str] = set()
        for concept, languages in concepts.items():
            for language, surfaces in languages.items():
                for surface in surfaces:
                    vocabulary |= self._add(concept, language, surface)
        self.vocabulary = frozenset(vocabulary)
        """Every word and stem of the trade that a surface holds, for the search of misspellings."""
        self.stems = frozenset(self._index.prefix)
        """Beginnings of words that surfaces name."""
        self._starting = lru_cache(_REMEMBERED)(lambda token: tuple(self._look_up(token)))

    def _add(self, concept: str, language: str, surface: str) -> set[str]:
        seen: set[str] = set()
        for spelling in spellings(surface):
            first, *rest = spelling.replace("'", "").split()
            core = first.strip("*")
            parts = tuple(map(_part, rest))
            needs = frozenset(word for word, how in parts if how is _How.WHOLE)
            entry = Surface(concept, language, parts, needs, len(core) < _SHORT)
            if first.startswith("*") and first.endswith("*"):
                self._index.inner[core].append(entry)
            elif first.startswith("*"):
                self._index.suffix[core].append(entry)
            elif first.endswith("*"):
                self._index.prefix[core].append(entry)
            else:
                self._index.exact[core].append(entry)
                if not rest:
                    self._index.exact[core + "s"].append(entry)
            seen |= {part.strip("*") for part in (first, *rest) if part != _GAP}
        return {word for word in seen if word not in self.small}

    def language(self, tokens: Sequence[str]) -> str | None:
        """The language most small words speak for; `None` when they do not decide."""
        votes = {name: sum(token in small for token in tokens) for name, small in self.common.items()}
        best = max(votes, key=lambda name: votes[name])
        rivals = [name for name, count in votes.items() if count == votes[best] and name != best]
        return None if votes[best] == 0 or rivals else best

    def knows(self, token: str) -> bool:
        """Whether some surface begins with this word, or the word is a small one."""
        return token in self.small or token in self.vocabulary or bool(self._starting(token))

    def find(self, tokens: Sequence[str]) -> frozenset[str]:
        """Concepts that the words carry."""
        language, present = self.language(tokens), frozenset(tokens)
        found: set[str] = set()
        for position, token in enumerate(tokens):
            for surface in self._starting(token):
                foreign = language is not None and surface.language != language
                if surface.concept in found or (foreign and surface.short) or not surface.needs <= present:
                    continue
                if _follows(surface.rest, tokens, position + 1):
                    found.add(surface.concept)
        return frozenset(found)

    def _look_up(self, token: str) -> Iterator[Surface]:
        index = self._index
        yield from index.exact.get(token, ())
        for cut in range(2, len(token) + 1):
            yield from index.prefix.get(token[:cut], ())
            yield from index.suffix.get(token[-cut:], ())
        for stem, surfaces in index.inner.items():
            if stem in token:
                yield from surfaces
        if len(token) >= _COMPOUND:
            yield from self._inside(token)

    def _inside(self, token: str) -> Iterator[Surface]:
        for start in range(3, len(token) - _SHORT + 1):
            for end in range(start + _SHORT, len(token) + 1):
                yield from (
                    surface
                    for surface in self._index.prefix.get(token[start:end], ())
                    if surface.language == "de" and not surface.rest
                )


def _part(word: str) -> Part:
    if word == _GAP:
        return "", _How.GAP
    how = {(False, False): _How.WHOLE, (False, True): _How.BEGINS, (True, False): _How.ENDS, (True, True): _How.INSIDE}
    return word.strip("*"), how[word.startswith("*"), word.endswith("*")]


def _follows(rest: Pattern, tokens: Sequence[str], position: int) -> bool:
    for at, (core, how) in enumerate(rest):
        if how is _How.GAP:
            last = min(position + _LONGEST_GAP, len(tokens))
            return any(_follows(rest[at + 1 :], tokens, start) for start in range(position, last + 1))
        if position >= len(tokens) or not _same(core, how, tokens[position]):
            return False
        position += 1
    return True


def _same(core: str, how: _How, token: str) -> bool:
    if how is _How.WHOLE:
        return token == core
    if how is _How.BEGINS:
        return token.startswith(core)
    return token.endswith(core) if how is _How.ENDS else core in token
