"""Reads one question: words put right, concepts found, and the features that topics are told apart by."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from bot.care.answers.lexicon import Lexicon
from bot.care.answers.text import temperature_marks, words
from bot.care.answers.typos import Speller

_TYPO_LENGTH = 5
_ENDINGS = ("ing", "ies", "ed", "es", "s")
_STEM = 3

CONCEPT, BOTH, WORD, SMALL, PAIR, PIECE = "concept", "both", "word", "small", "pair", "piece"
"""Kinds of evidence: a concept, two concepts together, a word's stem, a small word, neighbours, a piece of a word."""
Feature = str
"""Kind of evidence and what it is, parted by a space, such as `both dead+queen`."""
_NAME = "*"
"""Stands for the name of an ant beside its neighbours."""
_PIECES = (4, 5)
"""Letters of a piece; beginnings and ends of words count as one."""


@dataclass(frozen=True, slots=True)
class Sense:
    """What a model of whole sentences makes of a question: class -> natural logarithm of its odds, up to a constant."""

    topics: Mapping[str, float] = field(default_factory=dict)
    kinds: Mapping[str, float] = field(default_factory=dict)
    cards: Mapping[str, float] = field(default_factory=dict)


NO_SENSE = Sense()
"""Nobody was asked: words alone decide."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A question as the search sees it."""

    words: tuple[str, ...]
    concepts: frozenset[str]
    features: frozenset[Feature]
    sense: Sense = NO_SENSE


class Reader:
    """Turns text into readings.

    Args:
        lexicon: the concepts.
        known: words that are right as they stand although no surface holds them.
        names: words of the names of ants: right as they stand, never meant by a misspelling, and no evidence for a
            topic beyond the concepts that they carry, since any ant can be asked about anything.
        sense: what a model of whole sentences makes of a text.
    """

    def __init__(
        self,
        lexicon: Lexicon,
        known: Iterable[str],
        names: Iterable[str] = (),
        sense: Callable[[str], Sense] = lambda _: NO_SENSE,
    ) -> None:
        self._lexicon = lexicon
        self._sense = sense
        usual = frozenset(known)
        self._speller = Speller(lexicon.vocabulary | (usual - lexicon.small), lexicon.stems)
        self._names = frozenset(names)
        self._known = usual | self._names

    def read(self, text: str) -> Reading:
        """Words, concepts, features and sense of a question."""
        tokens = tuple(self._put_right(word) for word in words(text))
        concepts = self._lexicon.find(tokens) | temperature_marks(text)
        return Reading(tokens, concepts, frozenset(self._features(tokens, concepts)), self._sense(text))

    def is_everyday(self, word: str) -> bool:
        """Whether a word is one of those that questions are made of, and no name of an ant."""
        return word not in self._names and (word in self._known or self._lexicon.knows(word))

    def _put_right(self, word: str) -> str:
        if len(word) < _TYPO_LENGTH or word.isdigit() or word in self._known or self._lexicon.knows(word):
            return word
        return self._speller.nearest(word) or word

    def _features(self, tokens: Sequence[str], concepts: Iterable[str]) -> Iterable[Feature]:
        stems = [_NAME if token in self._names else stem(token) for token in tokens]
        small = self._lexicon.small
        yield from (f"{CONCEPT} {concept}" for concept in concepts)
        yield from (f"{BOTH} {left}+{right}" for left, right in combinations(sorted(concepts), 2))
        for token, form in zip(tokens, stems, strict=True):
            if not token.isdigit() and token not in self._names:
                yield f"{SMALL if token in small else WORD} {form}"
                yield from () if token in small else _pieces(token)
        yield from (f"{PAIR} {left} {right}" for left, right in pairwise(stems))


def _pieces(word: str) -> Iterable[Feature]:
    framed = f"_{word}_"
    for length in _PIECES:
        yield from (f"{PIECE} {framed[start : start + length]}" for start in range(len(framed) - length + 1))


def stem(word: str) -> str:
    """A word without its commonest English ending."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _STEM:
            return word[: -len(ending)]
    return word
