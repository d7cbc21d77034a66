"""Which cautions an answer carries: kinds first (`kinds.py`), then the line of each kind that fits the question best.

What a rule with `always` calls for is shown whatever was learnt, and so is the card's own first caution. The rest is
guessed, and a wall of guesses hides the one that matters: faint dangers share one line that speaks for all of them, and
soft kinds stop at a few. No danger is left out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from bot.care.answers.kinds import DANGER_KINDS, NO_KINDS, KindModel
from bot.care.answers.ranking import likely
from bot.care.answers.reading import Reading
from bot.care.answers.values import Card, Decline, Facts, Season, Topic
from bot.care.cautions import Caution, Kind, in_order

MOST_SOFT = 2
"""Soft kinds of caution that an answer carries at most, beside dangers and what a rule always calls for."""
ROOM = 6
"""From this many lines on, a soft kind that is no likelier than a faint danger gives way (a phone's first screen)."""
_MOST_OF_A_KIND = 2
"""Lines of a kind that a rule always calls for; other kinds have one."""
_WARN = 0.05
"""Probability from which a topic calls for its cautions."""
SHARED = "UNSURE-DANGERS"
"""The line that faint dangers share, in the words of `config/cautions`."""
SPEAKS_FOR = frozenset({Kind.PESTICIDE, Kind.CHEMICALS, Kind.HEAT, Kind.BARRIER, Kind.STING, Kind.LAW, Kind.ECOLOGY})
"""Kinds that its text covers."""
FIRST_AID = frozenset({Kind.MEDICAL, Kind.STING})
"""Kinds that are guessed beside first aid for people: nothing else may stand in its way."""
_SURE = 0.9
"""From this share of its topic on, first aid speaks of nothing else: a doubtful question may have been misread."""
_WIDTH = 2
"""Lines that it counts for: it is long, and who reads it has several things to think of (judgement)."""
FAINT = 0.2
"""Below this probability a danger is faint: of our own questions that were shown a kind rated lower, one in 30 needed
it; of those rated from 0.2 to 0.3, half (measured 2026-11-25 with weights that were learnt without them)."""


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


@dataclass(frozen=True, slots=True)
class Warnings:
    """What was chosen: cautions in their order, and kinds that one of them speaks for beside its own."""

    cautions: tuple[Caution, ...]
    spoken_for: tuple[Kind, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Warner:
    """Rules, topics, the caution book, what was learnt about kinds, and the caution that stands for each kind."""

    rules: tuple[Rule, ...]
    topics: Mapping[str, Topic]
    book: Mapping[str, Caution]
    kinds: KindModel = NO_KINDS
    stands_for: Mapping[str, str]

    def weigh(
        self, reading: Reading, facts: Facts, card: Card | None, shares: Mapping[str, float], beside: int = 0
    ) -> Warnings:
        """Cautions in the order they must be shown, and the kinds that they speak for.

        Args:
            reading: the question.
            facts: the asker's colony.
            card: the card shown first.
            shares: topic -> its probability.
            beside: dangers of named species that come as well, so that soft kinds find less room.
        """
        topics = likely(shares, _WARN)
        holding = [rule for rule in self.rules if rule.holds(reading, topics, facts)]
        called = self._cautions(caution for rule in holding for caution in rule.show)
        own = self._cautions(card.cautions if card is not None else ())
        fitting = self._cautions(caution for topic in topics for caution in self.topics[topic].cautions)
        spoken = self._cautions(caution for rule in holding if rule.always for caution in rule.show)
        aid = card is not None and card.decline is Decline.MEDICAL and shares.get(card.topics[0], 0.0) >= _SURE
        if aid:
            spoken, called = (tuple(filter(_is_first_aid, lines)) for lines in (spoken, called))
        must = (*spoken, *own[:1])
        kinds = {caution.kind for caution in (*called, *own[:1])}
        certain = dict.fromkeys(caution.kind for caution in must)
        guessed = {kind: chance for kind, chance in self._guessed(reading, shares, kinds) if kind not in certain}
        if card is not None and aid:
            beside_it = FIRST_AID if "sting" in card.about else {Kind.MEDICAL}
            guessed = {kind: chance for kind, chance in guessed.items() if kind in beside_it}
        offered = tuple(dict.fromkeys((*must, *called, *own[:1], *fitting, *own)))
        shared = self._faint(guessed)
        hard = [kind for kind in guessed if kind in DANGER_KINDS and kind not in shared]
        room = ROOM - len(certain) - len(hard) - (_WIDTH if shared else 0) - beside // 2
        left = {kind: chance for kind, chance in guessed.items() if kind not in DANGER_KINDS and kind not in shared}
        needed = (*certain, *hard, *_soft(left, room))
        ids = [*self._lines(needed, offered, must), *([SHARED] if shared else [])]
        return Warnings(in_order(ids, self.book), tuple(shared))

    def _cautions(self, ids: Iterable[str]) -> tuple[Caution, ...]:
        return tuple(self.book[caution] for caution in dict.fromkeys(ids))

    def _guessed(
        self, reading: Reading, shares: Mapping[str, float], called: Collection[Kind]
    ) -> Iterable[tuple[Kind, float]]:
        """Kinds that are plausible or likely, with their probability: dangers, then the likeliest."""
        chances = self.kinds.probabilities(reading, shares, called)
        return [(kind, chances[kind]) for kind in self.kinds.needed(reading, shares, called)]

    def _faint(self, guessed: Mapping[Kind, float]) -> list[Kind]:
        """Faint dangers, where there are several; one alone keeps its own words."""
        faint = [kind for kind, chance in guessed.items() if kind in SPEAKS_FOR and chance < FAINT]
        return faint if len(faint) > 1 and SHARED in self.book else []

    def _lines(self, needed: Iterable[Kind], offered: Sequence[Caution], must: Collection[Caution]) -> Iterable[str]:
        for kind in needed:
            fitting = [caution.id for caution in offered if caution.kind is kind]
            certain = [caution.id for caution in must if caution.kind is kind]
            yield from certain[:_MOST_OF_A_KIND] or fitting[:1] or [self.stands_for[kind]]


def _is_first_aid(caution: Caution) -> bool:
    return caution.medical or caution.kind in FIRST_AID


def _soft(guessed: Mapping[Kind, float], room: int) -> list[Kind]:
    """The likeliest soft kinds; a faint one needs room. What may set ants free is a danger in all but its kind."""
    few = list(guessed.items())[:MOST_SOFT]
    return [kind for at, (kind, chance) in enumerate(few) if kind is Kind.ECOLOGY or chance >= FAINT or at < room]
