"""Which cards to show: first the one most likely to cover the question, then those that cover what it leaves open.

A card is worth the summed probability of its topics. Bonuses decide between cards of the same topics: what similar
plain questions were answered with, concepts the card is about, colonies it is written for, and its main topic.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from bot.care.answers.reading import Reading
from bot.care.answers.values import Card, Facts

NEAR = 4
"""Cards shown after the first, at most."""
_LEANING = 0.35
_ABOUT = 0.1
_FIT = 0.03
_MAIN = 0.04
_COVERED = 0.1
"""What a topic is still worth once a better card covers it (all judgement, tuned)."""


def rank(
    cards: Iterable[Card],
    probabilities: Mapping[str, float],
    reading: Reading,
    facts: Facts,
    leaning: Mapping[str, float] = MappingProxyType({}),
) -> tuple[Card, ...]:
    """The best card and up to `NEAR` more, best first; ties go by id, so the order never wavers.

    Args:
        cards: what may be shown.
        probabilities: topic -> its probability.
        reading: the question.
        facts: the asker's colony.
        leaning: card -> probability that similar plain questions were answered with it.
    """
    likeliest = max(sorted(probabilities), key=lambda topic: probabilities[topic])
    extras = {
        card.id: (card, _extra(card, reading, facts, likeliest) + _LEANING * leaning.get(card.id, 0.0))
        for card in cards
    }
    left = dict(probabilities)
    chosen: list[Card] = []
    while extras and len(chosen) <= NEAR:
        best = _best(extras, left, sum(left.values()))
        card, _ = extras.pop(best)
        chosen.append(card)
        for topic in card.topics:
            left[topic] = left.get(topic, 0.0) * _COVERED
    return tuple(chosen)


def _best(extras: Mapping[str, tuple[Card, float]], left: Mapping[str, float], open_share: float) -> str:
    """The card to take next; bonuses shrink with what is still open, so that they never outweigh it."""
    return max(sorted(extras), key=lambda name: _worth(extras[name][0], left) + extras[name][1] * open_share)


def _worth(card: Card, probabilities: Mapping[str, float]) -> float:
    return sum(probabilities.get(topic, 0.0) for topic in card.topics)


def _extra(card: Card, reading: Reading, facts: Facts, likeliest: str) -> float:
    spoken = sum(concept in reading.concepts for concept in card.about) / max(len(card.about), 1)
    main = _MAIN if card.topics[0] == likeliest else 0.0
    return _ABOUT * spoken + _FIT * card.applies.fit(facts) + main


def covered(card: Card, probabilities: Mapping[str, float]) -> float:
    """Probability that the question is about a topic of the card."""
    return min(1.0, _worth(card, probabilities))


def likely(probabilities: Mapping[str, float], least: float) -> Sequence[str]:
    """Topics of at least a probability, likeliest first."""
    enough = [topic for topic, share in probabilities.items() if share >= least]
    return sorted(enough, key=lambda topic: (-probabilities[topic], topic))
