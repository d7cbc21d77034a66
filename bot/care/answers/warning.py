"""Which cautions an answer carries: kinds first (`kinds.py`), then the line of each kind that fits the question best.

What a rule with `always` calls for is shown whatever was learnt. Soft kinds stop at a few, because a wall of warnings
hides the one that matters.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.kinds import DANGER_KINDS, NO_KINDS, KindModel
from bot.care.answers.ranking import likely
from bot.care.answers.reading import Reading
from bot.care.answers.values import Card, Facts, Season, Topic
from bot.care.cautions import Caution, Kind, in_order

MOST_SOFT = 2
"""Soft kinds of caution that an answer carries at most, beside dangers and what a rule always calls for."""
MOST_GUESSED = 4
"""Kinds of danger that an answer carries at most for being plausible alone, beside what a rule always calls for."""
_MOST_OF_A_KIND = 2
"""Lines of a kind that a rule always calls for; other kinds have one."""
_WARN = 0.05
"""Probability from which a topic calls for its cautions."""


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
    always: bool = False
    """Whether its kinds are shown whatever was learnt."""

    def holds(self, reading: Reading, topics: Iterable[str], facts: Facts) -> bool:
        """Whether the question, its likely topics and the colony meet every condition."""
        said = reading.concepts
        spoken = (not self.any or bool(self.any & said)) and self.all <= said and not self.unless & said
        on_topic = not self.topics or any(topic in self.topics for topic in topics)
        pairs = ((self.seasons, facts.season), (self.nests, facts.nest), (self.genera, facts.genus))
        return spoken and on_topic and all(not wanted or value in wanted for wanted, value in pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Warner:
    """Rules, topics, the caution book, what was learnt about kinds, and the caution that stands for each kind."""

    rules: tuple[Rule, ...]
    topics: Mapping[str, Topic]
    book: Mapping[str, Caution]
    kinds: KindModel = NO_KINDS
    stands_for: Mapping[str, str]

    def choose(
        self, reading: Reading, facts: Facts, card: Card | None, shares: Mapping[str, float]
    ) -> tuple[Caution, ...]:
        """Cautions in the order they must be shown.

        Args:
            reading: the question.
            facts: the asker's colony.
            card: the card shown first.
            shares: topic -> its probability.
        """
        topics = likely(shares, _WARN)
        holding = [rule for rule in self.rules if rule.holds(reading, topics, facts)]
        called = self._cautions(caution for rule in holding for caution in rule.show)
        own = self._cautions(card.cautions if card is not None else ())
        fitting = self._cautions(caution for topic in topics for caution in self.topics[topic].cautions)
        spoken = self._cautions(caution for rule in holding if rule.always for caution in rule.show)
        must = (*spoken, *own[:1])
        kinds = {caution.kind for caution in (*called, *own[:1])}
        needed = dict.fromkeys((*(caution.kind for caution in must), *self.kinds.needed(reading, shares, kinds)))
        offered = tuple(dict.fromkeys((*must, *called, *own[:1], *fitting, *own)))
        return in_order(self._lines(needed, offered, must), self.book)

    def _cautions(self, ids: Iterable[str]) -> tuple[Caution, ...]:
        return tuple(self.book[caution] for caution in dict.fromkeys(ids))

    def _lines(self, needed: Iterable[Kind], offered: Sequence[Caution], must: Collection[Caution]) -> Iterable[str]:
        called = {caution.kind for caution in must}
        guessed = [kind for kind in needed if kind not in called]
        kept = [kind for kind in guessed if kind in DANGER_KINDS][:MOST_GUESSED]
        kept += [kind for kind in guessed if kind not in DANGER_KINDS][:MOST_SOFT]
        for kind in (*dict.fromkeys(caution.kind for caution in must), *kept):
            fitting = [caution.id for caution in offered if caution.kind is kind]
            certain = [caution.id for caution in must if caution.kind is kind]
            yield from certain[:_MOST_OF_A_KIND] or fitting[:1] or [self.stands_for[kind]]
