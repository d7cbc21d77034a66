"""Reads one question: words put right, concepts found, and the features that topics are told apart by."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bot.care.answers.lexicon import Lexicon
from bot.care.answers.text import temperature_marks, words
from bot.care.answers.typos import Speller

_TYPO_LENGTH = 5
_ENDINGS = ("ing", "ies", "ed", "es", "s")
_STEM = 3

CONCEPT, WORD, SMALL, PAIR = "concept", "word", "small word", "pair"
Feature = tuple[str, str]
"""Kind of evidence and what it is."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A question as the search sees it."""

    words: tuple[str, ...]
    concepts: frozenset[str]
    features: frozenset[Feature]


class Reader:
    """Turns text into readings.

    Args:
        lexicon: the concepts.
        asked: our own ways of asking; their words count as known.
    """

    def __init__(self, lexicon: Lexicon, asked: Iterable[str]) -> None:
        self._lexicon = lexicon
        self._asked = {word for text in asked for word in words(text)}
        known = lexicon.vocabulary | {word for word in self._asked if word not in lexicon.small}
        self._speller = Speller(known, lexicon.stems)

    def read(self, text: str) -> Reading:
        """Words, concepts and features of a question."""
        tokens = tuple(self._put_right(word) for word in words(text))
        concepts = self._lexicon.find(tokens) | temperature_marks(text)
        return Reading(tokens, concepts, frozenset(self._features(tokens, concepts)))

    def _put_right(self, word: str) -> str:
        if len(word) < _TYPO_LENGTH or word.isdigit() or word in self._asked or self._lexicon.knows(word):
            return word
        return self._speller.nearest(word) or word

    def _features(self, tokens: Sequence[str], concepts: Iterable[str]) -> Iterable[Feature]:
        stems = [stem(token) for token in tokens]
        yield from ((CONCEPT, concept) for concept in concepts)
        for token, form in zip(tokens, stems, strict=True):
            if not token.isdigit():
                yield (SMALL if token in self._lexicon.small else WORD, form)
        yield from ((PAIR, f"{left} {right}") for left, right in pairwise(stems))


def stem(word: str) -> str:
    """A word without its commonest English ending."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _STEM:
            return word[: -len(ending)]
    return word
