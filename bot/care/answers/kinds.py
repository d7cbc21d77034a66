"""Which kinds of caution an answer needs: what questions of its likely topics needed, and what its own words say.

Both were learnt from our own questions by `tests/reference/learning.py`. A kind of danger is shown when it is at all
plausible, a soft kind only when it is likely: a miss costs more than a line too many, a wall of lines hides the one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from bot.care.answers.reading import Reading
from bot.care.answers.topics import Learnt
from bot.care.cautions import Kind

DANGER_KINDS = frozenset(
    {
        Kind.PESTICIDE, Kind.HEAT, Kind.MEDICAL, Kind.LAW, Kind.CHEMICALS, Kind.BARRIER, Kind.STING, Kind.ELECTRIC,
    }
)  # fmt: skip
"""Kinds whose absence is a fault of safety."""
_PLAUSIBLE = 0.01
_LIKELY = 0.04
_ALARMING = 0.05
"""Probabilities from which a danger, a soft kind and a medical line are shown (tuned). A medical line that no rule
calls for only says what to do if somebody feels ill, so it may be shown early."""
_FEW_WORDS, _PLAUSIBLE_IN_FEW = 9, 0.02
"""A question of so few words is about one thing: danger needs more to be plausible. Of our own short questions 99 in
100 still showed all their dangers, and half as many stood under the line that speaks for several (measured)."""
_TAIL = 0.02
"""Topics less likely than this share of the likeliest call for nothing: together they would call for everything."""
_CALLED = 1.2
"""What a rule that calls for a kind adds to the logarithm of its odds (judgement, tuned)."""
_TINY = 1e-4


@dataclass(frozen=True, slots=True)
class KindModel:
    """Probabilities of kinds of caution.

    Args:
        learnt: kind -> the logarithm of its odds by the words of a question.
        rates: topic -> kind -> share of the topic's questions that needed the kind.
    """

    learnt: Learnt
    rates: Mapping[str, Mapping[str, float]]

    def probabilities(
        self, reading: Reading, topics: Mapping[str, float], called: Collection[Kind] = ()
    ) -> dict[Kind, float]:
        """Kind -> probability that the answer needs it.

        Args:
            reading: the question.
            topics: topic -> its probability.
            called: kinds that rules call for.
        """
        said, topics = self.learnt.sums(reading), _without_tail(topics)
        sensed = reading.sense.kinds or said
        result: dict[Kind, float] = {}
        for name, spoken in said.items():
            kind = Kind(name)
            share = sum(chance * self.rates.get(topic, {}).get(name, 0.0) for topic, chance in topics.items())
            bounded = min(max(share, _TINY), 1 - _TINY)
            odds = (math.log(bounded / (1 - bounded)) + (spoken + sensed[name]) / 2) / 2  # no view is trusted more
            odds += _CALLED if kind in called else 0.0
            result[kind] = 1 / (1 + math.exp(-odds))
        return result

    def needed(self, reading: Reading, topics: Mapping[str, float], called: Collection[Kind] = ()) -> tuple[Kind, ...]:
        """Kinds to show: dangers first, then the likeliest."""
        found = self.probabilities(reading, topics, called)
        enough: Iterable[Kind] = (kind for kind, chance in found.items() if chance >= _bound(kind, reading))
        return tuple(sorted(enough, key=lambda kind: (kind not in DANGER_KINDS, -found[kind], kind.value)))


def _without_tail(topics: Mapping[str, float]) -> dict[str, float]:
    least = _TAIL * max(topics.values())
    kept = {topic: chance for topic, chance in topics.items() if chance >= least}
    return {topic: chance / sum(kept.values()) for topic, chance in kept.items()}


def _bound(kind: Kind, reading: Reading) -> float:
    if kind is Kind.MEDICAL:
        return _ALARMING
    if kind not in DANGER_KINDS:
        return _LIKELY
    return _PLAUSIBLE_IN_FEW if len(reading.words) <= _FEW_WORDS else _PLAUSIBLE


NO_KINDS = KindModel(Learnt((), 1.0, (), {}), {})
"""Knows nothing: rules alone decide."""
