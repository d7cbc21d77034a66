"""Softmax and logistic regression by AdaGrad (Duchi et al. 2011): textbook methods, the same result every time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Protocol

import numpy as np
import numpy.typing as npt

from bot.care.answers.reading import BOTH, CONCEPT, PAIR, PIECE, SMALL, WORD, Feature

_TRUST: Mapping[str, float] = {CONCEPT: 1.0, WORD: 0.7, SMALL: 0.6, PAIR: 0.5, BOTH: 0.3, PIECE: 0.25}
"""How far to lean on a kind of evidence: concepts carry over to new wordings, pieces repeat what words said."""
_SEEN = 2
"""What was seen once proves nothing."""
_ROUNDS = 8
_BATCH = 64
_RATE = 0.3
_BIAS_RATE = 0.01
_FIRST = 1e-3
Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]
Chances = Callable[[Floats], Floats]
"""From logarithms of odds to probabilities, a row for each question."""


class Evidence(Protocol):
    """What is known of each question: a row of numbers, most of them perhaps 0."""

    @property
    def width(self) -> int:
        """How many columns there are."""

    def block(self, batch: Ints) -> tuple[Ints, Floats]:
        """The columns that matter to some questions, and their numbers there: one row for each question."""


@dataclass(frozen=True, slots=True)
class Found:
    """Which features each question has; a last one that nobody trusts stands in every row, so that none is empty."""

    names: tuple[Feature, ...]
    trust: Floats
    rows: tuple[Ints, ...]

    @classmethod
    def of(cls, questions: Sequence[Iterable[Feature]]) -> Found:
        """Features that at least two questions have."""
        seen = Counter(chain.from_iterable(questions))
        names = tuple(sorted(name for name, count in seen.items() if count >= _SEEN))
        place = {name: index for index, name in enumerate(names)}
        trust = np.array([*(_TRUST[name.partition(" ")[0]] for name in names), 0.0], np.float32)
        rows = tuple(
            np.array([*sorted(place[name] for name in question if name in place), len(names)], np.int64)
            for question in questions
        )
        return cls(names, trust, rows)

    @property
    def width(self) -> int:
        return len(self.trust)

    def block(self, batch: Ints) -> tuple[Ints, Floats]:
        rows = [self.rows[row] for row in batch]
        columns, lines = np.concatenate(rows), np.repeat(np.arange(len(rows)), list(map(len, rows)))
        touched, places = np.unique(columns, return_inverse=True)
        numbers = np.zeros((len(rows), len(touched)), np.float32)
        numbers[lines, places] = self.trust[columns]
        return touched, numbers


@dataclass(frozen=True, slots=True)
class Whole:
    """Questions of which every number is known."""

    numbers: Floats

    @property
    def width(self) -> int:
        return int(self.numbers.shape[1])

    def block(self, batch: Ints) -> tuple[Ints, Floats]:
        return np.arange(self.width), self.numbers[batch]


def softmax(sums: Floats) -> Floats:
    """Chances of classes that exclude one another."""
    raised = np.exp(sums - sums.max(axis=1, keepdims=True))
    chances: Floats = raised / raised.sum(axis=1, keepdims=True)
    return chances


def logistic(sums: Floats) -> Floats:
    """Chances of classes that do not."""
    return np.asarray(1 / (1 + np.exp(-sums)), np.float32)


def fit(evidence: Evidence, wanted: Floats, chances: Chances, shrink: float) -> tuple[Floats, Floats]:
    """Weights (a row for each column of the evidence) and bias.

    Args:
        evidence: what is known of each question.
        wanted: 1 where a question is of a class, else 0; a row for each question.
        chances: `softmax` or `logistic`.
        shrink: how strongly weights are drawn to 0, as from the logarithm of a normal prior.
    """
    lots = np.random.default_rng(0)
    rates = np.clip(wanted.mean(axis=0), 1e-3, 1 - 1e-3)
    bias: Floats = np.log(rates / (1 - rates), dtype=np.float32)
    shape = (evidence.width, wanted.shape[1])
    weights, squares = np.zeros(shape, np.float32), np.full(shape, _FIRST, np.float32)
    for _ in range(_ROUNDS):
        shuffled = lots.permutation(len(wanted))
        for start in range(0, len(wanted), _BATCH):
            batch = shuffled[start : start + _BATCH]
            columns, numbers = evidence.block(batch)
            wrong = chances(numbers @ weights[columns] + bias) - wanted[batch]
            slope = numbers.T @ wrong
            slope += shrink * _BATCH / len(wanted) * weights[columns]
            squares[columns] += slope**2
            weights[columns] -= _RATE * slope / np.sqrt(squares[columns])
            bias = (bias - _BIAS_RATE * wrong.sum(axis=0)).astype(np.float32)
    return weights, bias
