"""Which topics a question is about: a weighted sum of what was found in it, its sense, and what is known of the colony.

The weights were learnt from ways of asking (softmax regression, the textbook multi-class model) by
`tests/reference/learning.py` and lie in `config/lexicon/`; facts of the colony add weights of `facts.toml`. Every step
can be shown: see `why`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.reading import Feature, Reading
from bot.care.answers.values import Facts, Weights

_FACTS = 0.6
"""How far to lean on facts beside the words (judgement, tuned)."""
_WORDS, _SENSE = 0.84, 0.5
"""How far to lean on words and on the sense of the sentence where there are both. They err on different questions; more
than one in all, because two that agree may be surer than either (tuned)."""


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


@dataclass(frozen=True, slots=True)
class Learnt:
    """Weights for one set of classes, kept as whole numbers of `unit`."""

    classes: tuple[str, ...]
    unit: float
    bias: Sequence[int]
    rows: Mapping[Feature, Sequence[int]]
    """What was found -> a weight for each class."""

    def sums(self, reading: Reading) -> dict[str, float]:
        """Class -> natural logarithm of its odds, up to a constant."""
        rows = [self.bias, *(self.rows[feature] for feature in sorted(reading.features) if feature in self.rows)]
        return {
            name: self.unit * total for name, total in zip(self.classes, map(sum, zip(*rows, strict=True)), strict=True)
        }

    def why(self, reading: Reading, name: str, most: int = 5) -> tuple[tuple[Feature, float], ...]:
        """What spoke most for a class, strongest first."""
        column = self.classes.index(name)
        found = ((feature, self.unit * self.rows[feature][column]) for feature in reading.features & self.rows.keys())
        return tuple(sorted(found, key=lambda part: (-part[1], part[0]))[:most])


@dataclass(frozen=True, slots=True)
class TopicModel:
    """Topic probabilities from learnt weights and facts of the colony."""

    learnt: Learnt
    facts: FactWeights

    def evidence(self, reading: Reading, facts: Facts) -> dict[str, float]:
        """Sum of weights by topic."""
        result = joined(self.learnt.sums(reading), reading.sense.topics)
        for weights in self.facts.of(facts):
            for topic, weight in weights.items():
                result[topic] += _FACTS * weight
        return result

    def probabilities(self, reading: Reading, facts: Facts) -> dict[str, float]:
        """Topic -> probability; they sum to 1."""
        return shares_of(self.evidence(reading, facts))


def joined(said: Mapping[str, float], sensed: Mapping[str, float]) -> dict[str, float]:
    """Two views of one question as one: logarithms of odds by its words and, if there are any, by its sense."""
    return {name: _WORDS * value + _SENSE * sensed[name] for name, value in said.items()} if sensed else dict(said)


def shares_of(sums: Mapping[str, float]) -> dict[str, float]:
    """Class -> probability, from the logarithms of odds (softmax); they sum to 1."""
    best = max(sums.values(), default=0.0)
    raised = {name: math.exp(value - best) for name, value in sums.items()}
    total = sum(raised.values())
    return {name: value / total for name, value in raised.items()}
