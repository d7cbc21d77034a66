"""Learns the weights in `config/lexicon/weights.json.gz`: run `python -m tests.reference.learning` from the root.

It reads our own ways of asking in `config/lexicon/asked/` and `own_questions/` beside this file, and fits softmax
regressions (topics, cards) and logistic regressions (kinds of caution) by AdaGrad: textbook methods, each step in the
open, the same result every time.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from bot.adapters.handbook.guide import load_cards
from bot.adapters.handbook.lexicon import load_asked, load_lexicon
from bot.adapters.handbook.loader import load_handbook
from bot.adapters.handbook.weights import Weighing, save_weights
from bot.care.answers.kinds import KindModel
from bot.care.answers.naming import Names
from bot.care.answers.reading import BOTH, CONCEPT, PAIR, PIECE, SMALL, WORD, Feature, Reader
from bot.care.answers.text import words
from bot.care.answers.topics import Learnt
from bot.care.answers.values import Card
from bot.care.cautions import Kind

ROOT = Path(__file__).parents[2]
OWN = Path(__file__).parent / "own_questions"
TRAINED = 3
"""Fifths of our own questions that are learnt from when the others measure."""
UNIT = 0.03
_TRUST: Mapping[str, float] = {CONCEPT: 1.0, WORD: 0.7, SMALL: 0.6, PAIR: 0.5, BOTH: 0.3, PIECE: 0.25}
"""How far to lean on a kind of evidence: concepts carry over to new wordings, pieces repeat what words said."""
_SEEN = 2
"""What was seen once proves nothing."""
_ROUNDS = 8
_BATCH = 64
_RATE = 0.3
_BIAS_RATE = 0.01
_SHRINK, _SHRINK_KINDS, _SHRINK_CARDS = 1.0, 3.0, 0.1
_TELLING = frozenset({CONCEPT, WORD, SMALL, PAIR})
_FIRST = 1e-3
_EXPECTED = 4
_LISTED = 0.4
"""Questions' worth of expectation in a topic's rates, and what we expect of a kind that `topics.toml` lists for it."""
_FAINT = 5
"""A row whose largest whole number is below this changes no answer and is left out."""
Floats = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Matrix:
    """Which features each question has; a last one that nobody trusts stands in every row, so that none is empty."""

    names: tuple[Feature, ...]
    trust: Floats
    rows: tuple[Ints, ...]

    @classmethod
    def of(cls, questions: Sequence[Iterable[Feature]]) -> Matrix:
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


def own_questions() -> list[dict[str, Any]]:
    """Our own questions, by topic."""
    lines = [line for path in sorted(OWN.glob("*.jsonl")) for line in path.read_text(encoding="utf-8").splitlines()]
    return [json.loads(line) for line in lines if line.strip()]


def is_trained(question: Mapping[str, Any]) -> bool:
    """Whether a question is learnt from when we measure; the others then only measure, hash decides."""
    return hashlib.sha256(question["text"].casefold().encode()).digest()[0] % 5 < TRAINED


def learn(config: Path, own: Sequence[Mapping[str, Any]]) -> Weighing:
    """The weights for a config folder, from its ways of asking and from questions of our own."""
    folder = load_lexicon(config)
    asked = [*load_asked(config), *((question["topic"], question["text"]) for question in own)]
    known = frozenset(word for _, text in asked for word in words(text))
    reader = Reader(folder.lexicon, known, Names(load_handbook(config).species.values()).words)
    found = [reader.read(text).features for _, text in asked]
    topics = _learnt(tuple(folder.topics), [(topic,) for topic, _ in asked], Matrix.of(found), _softmax)
    kinds, needed = [kind.value for kind in Kind], [question["must_caution"] for question in own]
    said = _learnt(kinds, needed, Matrix.of(found[-len(own) :]), _logistic, shrink=_SHRINK_KINDS)
    book = load_handbook(config).cautions
    listed = {name: {book[each].kind.value for each in topic.cautions} for name, topic in folder.topics.items()}
    given = [
        (question["card"], features)
        for question, features in zip(own, found[-len(own) :], strict=True)
        if "card" in question
    ]
    given += [(card.id, reader.read(text).features) for card in load_cards(config).values() for text in _of(card)]
    return Weighing(topics, KindModel(said, _rates(own, listed)), _cards(given), known)


def _of(card: Card) -> tuple[str, str]:
    """What a card says it is about: its title and its opening."""
    return card.title, card.body.partition("\n\n")[0]


def _cards(given: Sequence[tuple[str, Iterable[Feature]]]) -> Learnt:
    """What tells cards apart; only by evidence that carries over to other words."""
    kept = [[name for name in features if name.partition(" ")[0] in _TELLING] for _, features in given]
    classes = sorted({card for card, _ in given})
    return _learnt(classes, [(card,) for card, _ in given], Matrix.of(kept), _softmax, shrink=_SHRINK_CARDS)


def _learnt(
    classes: Sequence[str],
    given: Sequence[Iterable[str]],
    matrix: Matrix,
    chances: Callable[[Floats], Floats],
    shrink: float = _SHRINK,
) -> Learnt:
    names = tuple(sorted(classes))
    wanted = np.array([[name in row for name in names] for row in given], np.float32)
    rates = np.clip(wanted.mean(axis=0), 1e-3, 1 - 1e-3)
    usual: Floats = np.log(rates / (1 - rates), dtype=np.float32)
    weights, bias = _fit(matrix, wanted, usual, chances, shrink)
    return _packed(names, matrix, weights, bias)


def _softmax(sums: Floats) -> Floats:
    raised = np.exp(sums - sums.max(axis=1, keepdims=True))
    chances: Floats = raised / raised.sum(axis=1, keepdims=True)
    return chances


def _logistic(sums: Floats) -> Floats:
    return np.asarray(1 / (1 + np.exp(-sums)), np.float32)


def _fit(
    matrix: Matrix, wanted: Floats, bias: Floats, chances: Callable[[Floats], Floats], shrink: float
) -> tuple[Floats, Floats]:
    lots = np.random.default_rng(0)
    shape = (len(matrix.trust), wanted.shape[1])
    weights, squares = np.zeros(shape, np.float32), np.full(shape, _FIRST, np.float32)
    for _ in range(_ROUNDS):
        shuffled = lots.permutation(len(wanted))
        for start in range(0, len(wanted), _BATCH):
            batch = shuffled[start : start + _BATCH]
            rows = [matrix.rows[row] for row in batch]
            columns, lines = np.concatenate(rows), np.repeat(np.arange(len(rows)), list(map(len, rows)))
            touched, places = np.unique(columns, return_inverse=True)
            found = np.zeros((len(rows), len(touched)), np.float32)
            found[lines, places] = matrix.trust[columns]
            wrong = chances(found @ weights[touched] + bias) - wanted[batch]
            slope = found.T @ wrong
            slope += shrink * _BATCH / len(wanted) * weights[touched]
            squares[touched] += slope**2
            weights[touched] -= _RATE * slope / np.sqrt(squares[touched])
            bias = (bias - _BIAS_RATE * wrong.sum(axis=0)).astype(np.float32)
    return (weights * matrix.trust[:, None])[:-1], bias


def _rates(own: Sequence[Mapping[str, Any]], listed: Mapping[str, set[str]]) -> dict[str, dict[str, float]]:
    """Topic -> kind -> share of its questions that needed the kind, with a few questions' worth of what we expect."""
    counts: dict[str, Counter[str]] = {topic: Counter() for topic in listed}
    for question in own:
        counts[question["topic"]].update({"": 1} | dict.fromkeys(question["must_caution"], 1))
    usual = Counter(kind for question in own for kind in question["must_caution"])
    rates: dict[str, dict[str, float]] = {}
    for topic, seen in counts.items():
        expected = {
            kind.value: _LISTED if kind.value in listed[topic] else usual[kind.value] / len(own) for kind in Kind
        }
        rates[topic] = {
            kind: round((seen[kind] + _EXPECTED * share) / (seen[""] + _EXPECTED), 3)
            for kind, share in expected.items()
        }
    return rates


def _packed(classes: tuple[str, ...], matrix: Matrix, weights: Floats, bias: Floats) -> Learnt:
    whole = np.clip(np.rint(weights / UNIT), -127, 127).astype(int)
    rows = {
        name: tuple(map(int, row)) for name, row in zip(matrix.names, whole, strict=True) if abs(row).max() >= _FAINT
    }
    return Learnt(classes, UNIT, tuple(int(value) for value in np.rint(bias / UNIT)), rows)


if __name__ == "__main__":
    save_weights(ROOT / "config", learn(ROOT / "config", own_questions()))
