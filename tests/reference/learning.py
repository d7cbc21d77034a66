"""Learns what `/ask` weighs: run `python -m tests.reference.learning` from the root.

It reads our own ways of asking in `config/lexicon/asked/` and `own_questions/` beside this file, and fits which topic,
which kinds of caution and which card a question needs: once by its words (`weights.json.gz` in `config/lexicon/`), once
by the sense of the whole sentence (`sentences.npz` there). With `--check` it writes nothing and compares.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from bot.adapters.handbook.guide import load_cards
from bot.adapters.handbook.lexicon import load_asked, load_lexicon
from bot.adapters.handbook.loader import load_handbook
from bot.adapters.handbook.sentences import Head, Heads, encoded, load_heads, save_heads
from bot.adapters.handbook.weights import Weighing, load_weights, save_weights
from bot.care.answers.kinds import KindModel
from bot.care.answers.naming import Names
from bot.care.answers.reading import CONCEPT, PAIR, SMALL, WORD, Feature, Reader
from bot.care.answers.text import words
from bot.care.answers.topics import Learnt
from bot.care.answers.values import Card
from bot.care.cautions import Kind
from tests.reference.fitting import Chances, Floats, Found, Whole, fit, logistic, softmax

ROOT = Path(__file__).parents[2]
OWN = Path(__file__).parent / "own_questions"
TRAINED = 3
"""Fifths of our own questions that are learnt from when the others measure."""
UNIT = 0.03
_SHRINK, _SHRINK_KINDS, _SHRINK_CARDS, _SHRINK_SENSE = 1.0, 3.0, 0.1, 0.1
_TELLING = frozenset({CONCEPT, WORD, SMALL, PAIR})
"""Evidence that carries over to other words; by words, only this tells cards apart."""
_EXPECTED = 4
_LISTED = 0.4
"""Questions' worth of expectation in a topic's rates, and what we expect of a kind that `topics.toml` lists for it."""
_FAINT = 5
"""A row whose largest whole number is below this changes no answer and is left out."""
_APART = 0.05
"""By so much another machine may round a number of the sentences' tables differently."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """All that is learnt, by words and by sentences."""

    weighing: Weighing
    heads: Heads


@dataclass(frozen=True, slots=True)
class Example:
    """A text, what was found in it, and what it is an example of."""

    text: str
    features: frozenset[Feature]
    classes: Sequence[str]

    @property
    def telling(self) -> Example:
        """The same by evidence that carries over to other words."""
        return replace(self, features=frozenset(each for each in self.features if each.partition(" ")[0] in _TELLING))


def own_questions() -> list[dict[str, Any]]:
    """Our own questions, by topic."""
    lines = [line for path in sorted(OWN.glob("*.jsonl")) for line in path.read_text(encoding="utf-8").splitlines()]
    return [json.loads(line) for line in lines if line.strip()]


def is_trained(question: Mapping[str, Any]) -> bool:
    """Whether a question is learnt from when we measure; the others then only measure, hash decides."""
    return hashlib.sha256(question["text"].casefold().encode()).digest()[0] % 5 < TRAINED


def learn(config: Path, own: Sequence[Mapping[str, Any]]) -> Lesson:
    """What a config folder's ways of asking, and questions of our own, teach."""
    folder, book, asked = load_lexicon(config), load_handbook(config), list(load_asked(config))
    known = frozenset(word for text in [*(text for _, text in asked), *_texts(own)] for word in words(text))
    reader = Reader(folder.lexicon, known, Names(book.species.values()).words)

    def examples(given: Iterable[tuple[str, Iterable[str]]]) -> list[Example]:
        return [Example(text, reader.read(text).features, tuple(classes)) for text, classes in given]

    topics = examples((question["text"], [question["topic"]]) for question in own)
    kinds = [replace(each, classes=question["must_caution"]) for each, question in zip(topics, own, strict=True)]
    more = examples((text, [topic]) for topic, text in asked)
    cards = examples((question["text"], [question["card"]]) for question in own if "card" in question)
    cards += examples((text, [card.id]) for card in load_cards(config).values() for text in _of(card))
    listed = {
        name: {book.cautions[each].kind.value for each in topic.cautions} for name, topic in folder.topics.items()
    }
    weighing = Weighing(
        _by_words([*more, *topics], folder.topics, softmax, _SHRINK),
        KindModel(_by_words(kinds, Kind, logistic, _SHRINK_KINDS), _rates(own, listed)),
        _by_words([each.telling for each in cards], _named(cards), softmax, _SHRINK_CARDS),
        known,
    )
    heads = Heads(
        topics=_by_sense([*more, *topics], folder.topics, softmax),
        kinds=_by_sense(kinds, Kind, logistic),
        cards=_by_sense(cards, _named(cards), softmax),
    )
    return Lesson(weighing, heads)


def _texts(own: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    return tuple(question["text"] for question in own)


def _of(card: Card) -> tuple[str, str]:
    """What a card says it is about: its title and its opening."""
    return card.title, card.body.partition("\n\n")[0]


def _named(examples: Iterable[Example]) -> set[str]:
    return {name for each in examples for name in each.classes}


def _by_words(examples: Sequence[Example], classes: Iterable[str], chances: Chances, shrink: float) -> Learnt:
    names, found = tuple(sorted(classes)), Found.of([each.features for each in examples])
    weights, bias = fit(found, _wanted(examples, names), chances, shrink)
    whole = np.clip(np.rint(weights * found.trust[:, None] / UNIT), -127, 127).astype(int)
    rows = {
        name: tuple(map(int, row)) for name, row in zip(found.names, whole, strict=False) if abs(row).max() >= _FAINT
    }
    return Learnt(names, UNIT, tuple(int(value) for value in np.rint(bias / UNIT)), rows)


def _by_sense(examples: Sequence[Example], classes: Iterable[str], chances: Chances) -> Head:
    names, numbers = tuple(sorted(classes)), _numbers(tuple(each.text for each in examples))
    weights, bias = fit(Whole(numbers), _wanted(examples, names), chances, _SHRINK_SENSE)
    return Head(names, weights.T, bias)


@cache
def _numbers(texts: tuple[str, ...]) -> Floats:
    return encoded(texts)


def _wanted(examples: Sequence[Example], names: Sequence[str]) -> Floats:
    return np.array([[name in each.classes for name in names] for each in examples], np.float32)


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


def furthest(left: Learnt, right: Learnt) -> int:
    """The largest difference of two weights; a row that only one side kept differs by its largest beyond the bound."""
    if (left.classes, left.unit) != (right.classes, right.unit):
        raise ValueError("the tables tell different classes apart")
    none = (0,) * len(left.classes)
    both = left.rows.keys() & right.rows.keys()
    apart = max(abs(a - b) for name in both for a, b in zip(left.rows[name], right.rows[name], strict=True))
    lonely = [(left.rows.get(name) or right.rows.get(name) or none) for name in left.rows.keys() ^ right.rows.keys()]
    return max(apart, *(max(map(abs, row)) - _FAINT + 1 for row in lonely), 0)


def outdated(stored: Lesson, learnt: Lesson) -> list[str]:
    """Sentences on what is stored and is not what would be learnt today; another machine may round differently."""
    pairs = {
        "topics": (stored.weighing.topics, learnt.weighing.topics),
        "kinds": (stored.weighing.kinds.learnt, learnt.weighing.kinds.learnt),
        "cards": (stored.weighing.cards, learnt.weighing.cards),
    }
    wrong = [f"The weights of {name} are not what is learnt." for name, pair in pairs.items() if furthest(*pair) > 1]
    for name, head in vars(stored.heads).items():
        other: Head = getattr(learnt.heads, name)
        if head.classes != other.classes or not np.allclose(head.weights, other.weights, atol=_APART):
            wrong.append(f"The sentences' table of {name} is not what is learnt.")
    if stored.weighing.known != learnt.weighing.known or stored.weighing.kinds.rates != learnt.weighing.kinds.rates:
        wrong.append("The known words or the rates of kinds are not what is learnt.")
    return wrong


def main() -> str | None:
    """Learns and writes, or compares; returns what is wrong, if anything."""
    config = ROOT / "config"
    lesson = learn(config, own_questions())
    if sys.argv[1:] == ["--check"]:
        return "\n".join(outdated(Lesson(load_weights(config), load_heads(config)), lesson)) or None
    save_weights(config, lesson.weighing)
    save_heads(config, lesson.heads)
    return None


if __name__ == "__main__":
    sys.exit(main())
