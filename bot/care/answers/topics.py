"""Which topics a question is about: naive Bayes over concepts and words, learnt from our own ways of asking.

Each feature adds the logarithm of how much likelier a topic becomes by it (textbook multi-class Bayes with a smoothed
estimate); facts of the colony add weights of `config/lexicon/facts.toml`. Every step can be shown: see `evidence`.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bot.care.answers.reading import CONCEPT, PAIR, SMALL, WORD, Feature, Reading
from bot.care.answers.values import Facts, Weights

_TRUST: Mapping[str, float] = {CONCEPT: 1.3, WORD: 0.7, SMALL: 0.3, PAIR: 0.3}
"""How far to lean on a kind of evidence; pairs and small words repeat what words said (judgement, tuned)."""
_PRIOR = 6.0
"""Questions' worth of the general rate mixed into each topic's own rate."""
_TINY = 0.02
_PAIR_SEEN = 2
_DOUBT = {PAIR: 2.0}
"""A feature seen once proves little: its gain counts n / (n + doubt), with 1 for all but pairs."""
_TEMPERATURE = 3.0
"""Features repeat each other, so plain Bayes is too sure; dividing by this evens it out (judgement, tuned)."""


@dataclass(frozen=True, slots=True)
class FactWeights:
    """Weights by season, nest, size class and genus, and by whether anything is known."""

    season: Mapping[str, Weights]
    nest: Mapping[str, Weights]
    workers: Mapping[str, Weights]
    genus: Mapping[str, Weights]
    known: Weights
    unknown: Weights

    def of(self, facts: Facts) -> Iterable[Weights]:
        """The weights that facts of a colony call for."""
        yield self.known if facts.anything else self.unknown
        named = ((self.season, facts.season), (self.nest, facts.nest), (self.workers, facts.crowd))
        for table, value in (*named, (self.genus, facts.genus)):
            if value is not None and value in table:
                yield table[value]


class TopicModel:
    """Topic probabilities.

    Args:
        examples: (topic, reading) of each of our own ways of asking.
        facts: weights for what is known of the colony.
    """

    def __init__(self, examples: Iterable[tuple[str, Reading]], facts: FactWeights) -> None:
        self._facts = facts
        counts: dict[Feature, Counter[str]] = defaultdict(Counter)
        sizes: Counter[str] = Counter()
        for topic, reading in examples:
            sizes[topic] += 1
            for feature in reading.features:
                counts[feature][topic] += 1
        self.topics = tuple(sorted(sizes))
        self._gains = {
            feature: self._gain(feature[0], seen, sizes)
            for feature, seen in counts.items()
            if feature[0] != PAIR or seen.total() >= _PAIR_SEEN
        }

    def _gain(self, kind: str, seen: Counter[str], sizes: Counter[str]) -> tuple[float, ...]:
        total = sizes.total()
        rate = seen.total() / total
        floor = math.log(rate + _TINY / total)
        trust = _TRUST[kind] * seen.total() / (seen.total() + _DOUBT.get(kind, 1.0))
        return tuple(
            trust * (math.log((seen[topic] + _PRIOR * rate + _TINY) / (sizes[topic] + _PRIOR)) - floor)
            for topic in self.topics
        )

    def evidence(self, reading: Reading, facts: Facts) -> dict[str, float]:
        """Sum of gains by topic."""
        rows = [self._gains[feature] for feature in sorted(reading.features) if feature in self._gains]
        sums = dict(zip(self.topics, map(sum, zip(*rows, strict=True)), strict=True)) if rows else {}
        result = {topic: float(sums.get(topic, 0.0)) for topic in self.topics}
        for weights in self._facts.of(facts):
            for topic, weight in weights.items():
                result[topic] += weight
        return result

    def probabilities(self, reading: Reading, facts: Facts) -> dict[str, float]:
        """Topic -> probability; they sum to 1."""
        evidence = self.evidence(reading, facts)
        best = max(evidence.values())
        raised = {topic: math.exp((value - best) / _TEMPERATURE) for topic, value in evidence.items()}
        total = sum(raised.values())
        return {topic: value / total for topic, value in raised.items()}
