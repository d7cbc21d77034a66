"""The guide: cards, topics, lexicon and rules as one value, and the answer to one question out of it.

The order of judgement: signs of an emergency, then what is declined, then the likeliest card; too little of the
trade in a question is an honest "I don't know".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bot.care.answers.declining import Verdict, judge
from bot.care.answers.filling import fill
from bot.care.answers.ranking import covered, rank
from bot.care.answers.reading import Reader, Reading
from bot.care.answers.topics import TopicModel
from bot.care.answers.values import NO_FACTS, Answer, Card, Decline, Facts, Near, Topic
from bot.care.answers.warning import Warner
from bot.care.cautions import Caution

CHOICE = 0.1
"""Two first cards this close in probability are offered as a choice."""
UNSURE = 0.1
"""Below this probability no card is a good answer (judgement, tuned)."""
_OWN = 0.5
"""Share that the topic of a declining card has at least, where its cautions are chosen."""
_DECISIVE = frozenset({"eye_hurt"})
"""Concepts that settle which first-aid card comes first, unless signs of a severe reaction are told."""


@dataclass(frozen=True, repr=False)
class Guide:
    """Everything `/ask` needs; built once at start. Too large for a `repr`."""

    cards: Mapping[str, Card]
    reader: Reader
    model: TopicModel
    warner: Warner

    @property
    def topics(self) -> Mapping[str, Topic]:
        """Topics by id."""
        return self.warner.topics

    def answer(self, text: str, facts: Facts = NO_FACTS, slots: Mapping[str, str] | None = None) -> Answer:
        """The answer to a question.

        Args:
            text: the question, in English, German, Spanish or French.
            facts: what is known of the asker's colony.
            slots: sentences for the personal slots of cards.
        """
        reading = self.reader.read(text)
        probabilities = self.model.probabilities(reading, facts)
        verdict = judge(reading, probabilities, self.topics, facts)
        cards = self._candidates(verdict)
        ranked = rank(cards, probabilities, reading, facts)
        if verdict.decline is not None:
            ranked = self._declined_first(ranked, verdict.decline, probabilities, reading, facts)
        score = covered(ranked[0], probabilities)
        if not verdict.understood or (verdict.decline is None and score < UNSURE):
            return self._unknown(reading, facts, ranked, probabilities)
        return self._found(reading, facts, ranked, probabilities, slots or {})

    def _candidates(self, verdict: Verdict) -> Iterable[Card]:
        if verdict.decline is None:
            return [card for card in self.cards.values() if card.decline is None]
        return self.cards.values()

    def _declined_first(
        self,
        ranked: tuple[Card, ...],
        reason: Decline,
        probabilities: Mapping[str, float],
        reading: Reading,
        facts: Facts,
    ) -> tuple[Card, ...]:
        own = [card for card in self.cards.values() if card.decline is reason]
        if "med_danger" not in reading.concepts:
            own = [card for card in own if _DECISIVE & reading.concepts & set(card.about)] or own
        first = rank(own, probabilities, reading, facts)[0]
        return (first, *(card for card in ranked if card is not first))

    def _found(
        self,
        reading: Reading,
        facts: Facts,
        ranked: tuple[Card, ...],
        probabilities: Mapping[str, float],
        slots: Mapping[str, str],
    ) -> Answer:
        card, *rest = ranked
        cautions = self.warner.choose(reading, facts, card, _told(card, probabilities))
        score = covered(card, probabilities)
        second = covered(rest[0], probabilities) if rest else 0.0
        medical = bool(cautions) and cautions[0].medical
        return Answer(
            answered=card.decline is None,
            card=card.id,
            topics=card.topics,
            title=card.title,
            cautions=tuple(caution.id for caution in cautions),
            caution_kinds=_kinds(cautions),
            text=fill(card.body, slots),
            score=score,
            near=tuple(Near(other.id, other.topics) for other in rest),
            asks=() if medical else card.asks,
            choice=card.decline is None and score - second < CHOICE,
        )

    def _unknown(
        self, reading: Reading, facts: Facts, ranked: tuple[Card, ...], probabilities: Mapping[str, float]
    ) -> Answer:
        cautions = self.warner.choose(reading, facts, None, probabilities)
        nearest = "; ".join(card.title for card in ranked[:3])
        return Answer(
            answered=False,
            card=None,
            topics=(),
            title="I don't know",
            cautions=tuple(caution.id for caution in cautions),
            caution_kinds=_kinds(cautions),
            text=f"I am not sure what you mean, and I won't guess. Nearest to it: {nearest}. "
            "Tell me which ant it is, what you see and since when, or hand your question to the helpers.",
            score=0.0,
            near=tuple(Near(card.id, card.topics) for card in ranked),
        )


def _told(card: Card, probabilities: Mapping[str, float]) -> Mapping[str, float]:
    """Shares that cautions go by: what is declined is about its own topic, first aid about nothing else at all."""
    if card.decline is Decline.MEDICAL:
        return {card.topics[0]: 1.0}
    if card.decline is None or probabilities[card.topics[0]] >= _OWN:
        return probabilities
    rest = (1 - _OWN) / (1 - probabilities[card.topics[0]])
    return {topic: _OWN if topic == card.topics[0] else share * rest for topic, share in probabilities.items()}


def _kinds(cautions: Iterable[Caution]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(caution.kind.value for caution in cautions))
