"""Questions answered, against plain BM25 over the same cards.

The reference is Okapi BM25 with the usual constants (k1 = 1.2, b = 0.75; Robertson and Zaragoza 2009), in plain Python
over the words of title and text: it ranks cards, and knows neither cautions nor declining.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable, Sequence
from math import log
from pathlib import Path
from time import perf_counter

from bot.adapters.handbook.guide import load_cards, load_guide
from bot.care.handbook import Handbook
from tests.bench.figure import Figure, percentile
from tests.bench.stock import CONFIG

P99_MS = 10.0
K1, B = 1.2, 0.75
QUESTIONS = Path(__file__).parent / "questions.json"


class Bm25:
    """An index over texts."""

    def __init__(self, texts: Sequence[str]) -> None:
        self._counts = [Counter(_words(text)) for text in texts]
        self._lengths = [sum(counts.values()) for counts in self._counts]
        self._mean = sum(self._lengths) / len(self._lengths)
        self._holding = Counter(word for counts in self._counts for word in counts)

    def rank(self, question: str) -> list[int]:
        """Numbers of the texts, best first."""
        asked = _words(question)
        return sorted(range(len(self._counts)), key=lambda number: -self._score(number, asked))

    def _score(self, number: int, asked: Sequence[str]) -> float:
        counts, size = self._counts[number], len(self._counts)
        norm = K1 * (1 - B + B * self._lengths[number] / self._mean)
        return sum(
            log(1 + (size - self._holding[word] + 0.5) / (self._holding[word] + 0.5))
            * counts[word]
            * (K1 + 1)
            / (counts[word] + norm)
            for word in asked
            if counts[word]
        )


def asking(book: Handbook, rounds: int) -> Figure:
    """p99 of both over the same questions."""
    questions: list[str] = json.loads(QUESTIONS.read_text("utf-8"))
    guide, cards = load_guide(CONFIG, book), load_cards(CONFIG)
    index = Bm25([f"{card.title} {card.body}" for card in cards.values()])
    ours = [_ms(guide.answer, text) for _ in range(rounds) for text in questions]
    theirs = [_ms(index.rank, text) for _ in range(rounds) for text in questions]
    p99 = percentile(ours, 0.99)
    return Figure(
        name=f"/ask, p99 ({len(questions)} questions, {len(cards)} cards) against plain BM25",
        ours=p99,
        reference=percentile(theirs, 0.99),
        unit="ms",
        target=f"under {P99_MS:.0f} ms",
        met=p99 < P99_MS,
    )


def _ms(work: Callable[[str], object], text: str) -> float:
    begun = perf_counter()
    work(text)
    return (perf_counter() - begun) * 1000


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.lower())
