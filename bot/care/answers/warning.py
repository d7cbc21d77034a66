"""Which cautions an answer carries: those the question calls for, then those of its topics, then those of the card.

Dangers are never dropped. The rest stops at a few kinds, because a wall of warnings hides the one that matters.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.reading import Reading
from bot.care.answers.values import Card, Facts, Season, Topic
from bot.care.cautions import Caution, Kind, Severity, in_order

MOST_KINDS = 5
"""Kinds of caution after which only dangers are added."""
_MOST_OF_A_KIND = 2
DANGER_KINDS = frozenset(
    {
        Kind.PESTICIDE, Kind.HEAT, Kind.MEDICAL, Kind.LAW, Kind.CHEMICALS, Kind.BARRIER, Kind.STING, Kind.ELECTRIC,
    }
)  # fmt: skip
"""Kinds whose absence is a fault of safety."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Cautions a question calls for; empty conditions hold always."""

    show: tuple[str, ...]
    any: frozenset[str] = frozenset()
    all: frozenset[str] = frozenset()
    unless: frozenset[str] = frozenset()
    topics: frozenset[str] = frozenset()
    seasons: frozenset[Season] = frozenset()
    nests: frozenset[str] = frozenset()
    genera: frozenset[str] = frozenset()

    def holds(self, reading: Reading, topics: Iterable[str], facts: Facts) -> bool:
        """Whether the question, its likely topics and the colony meet every condition."""
        said = reading.concepts
        spoken = (not self.any or bool(self.any & said)) and self.all <= said and not self.unless & said
        on_topic = not self.topics or any(topic in self.topics for topic in topics)
        pairs = ((self.seasons, facts.season), (self.nests, facts.nest), (self.genera, facts.genus))
        return spoken and on_topic and all(not wanted or value in wanted for wanted, value in pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Warner:
    """Rules, topics and the caution book."""

    rules: tuple[Rule, ...]
    topics: Mapping[str, Topic]
    book: Mapping[str, Caution]

    def choose(self, reading: Reading, facts: Facts, card: Card | None, likely: Sequence[str]) -> tuple[Caution, ...]:
        """Cautions in the order they must be shown.

        Args:
            reading: the question.
            facts: the asker's colony.
            card: the card shown first.
            likely: topics worth a warning, likeliest first.
        """
        called = [caution for rule in self.rules if rule.holds(reading, likely, facts) for caution in rule.show]
        of_topics = [caution for topic in likely for caution in self.topics[topic].cautions]
        of_card = card.cautions if card is not None else ()
        wanted = dict.fromkeys((*(card.cautions[:1] if card is not None else ()), *called, *of_topics, *of_card))
        return in_order(self._few([self.book[caution] for caution in wanted]), self.book)

    def _few(self, wanted: Sequence[Caution]) -> Iterable[str]:
        seen: dict[Kind, int] = {}
        for caution in sorted(wanted, key=lambda caution: caution.kind not in DANGER_KINDS):
            again = seen.get(caution.kind, 0)
            full = again == 0 and len(seen) >= MOST_KINDS
            if again >= _MOST_OF_A_KIND or (full and not _must(caution)):
                continue
            seen[caution.kind] = again + 1
            yield caution.id


def _must(caution: Caution) -> bool:
    return caution.severity is Severity.DANGER or caution.kind in DANGER_KINDS
