"""The guide: cards, topics, lexicon and rules as one value, and the answer to one question out of it.

The order of judgement: signs of an emergency, then what is declined, then the likeliest card; too little of the
trade in a question is an honest "I don't know".
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from bot.care.answers.countries import Countries, Land
from bot.care.answers.country_cautions import of_lands
from bot.care.answers.declining import Verdict, judge
from bot.care.answers.filling import fill
from bot.care.answers.first_aid import HURT, fitting
from bot.care.answers.named_cautions import SOMEBODY, Lines, dangers_of, speak_of
from bot.care.answers.naming import Named, Names
from bot.care.answers.own_cautions import speak_of_own
from bot.care.answers.portrait import Portrait, portrait
from bot.care.answers.ranking import covered, rank
from bot.care.answers.reading import Reader
from bot.care.answers.subject import (
    Asked,
    a_mere_name,
    facts_wanted,
    keeper_there,
    lays_to_rest,
    of_the_ants,
    open_questions,
    restless,
    slots_there,
    told_of,
    without_rest,
)
from bot.care.answers.topics import Learnt, TopicModel, joined, shares_of
from bot.care.answers.values import NO_FACTS, Answer, Card, Decline, Facts, Near, Topic
from bot.care.answers.warning import SHARED, Warner
from bot.care.handbook import Handbook
from bot.care.place import Keeper

CHOICE = 0.1
"""Two first cards this close in probability are offered as a choice."""
UNSURE = 0.1
"""Below this probability no card is a good answer (judgement, tuned)."""
_OWN = 0.5
"""Share that the topic of a declining card has at least, where its cautions are chosen."""


@dataclass(frozen=True, repr=False)
class Guide:
    """Everything `/ask` needs; built once at start. Too large for a `repr`."""

    cards: Mapping[str, Card]
    reader: Reader
    model: TopicModel
    leanings: Learnt
    """What tells the cards apart that plain questions are answered with."""
    warner: Warner
    names: Names
    countries: Countries
    handbook: Handbook

    @property
    def topics(self) -> Mapping[str, Topic]:
        """Topics by id."""
        return self.warner.topics

    def answer(
        self,
        text: str,
        facts: Facts = NO_FACTS,
        slots: Mapping[str, str] | None = None,
        keeper: Keeper = SOMEBODY,
    ) -> Answer:
        """The answer to a question; an ant that it names comes before the asker's own.

        Args:
            text: the question, in English, German, Spanish or French.
            facts: what is known of the asker's colony.
            slots: sentences for the personal slots of cards.
            keeper: whose country and units count.
        """
        reading, named, lands = self.reader.read(text), self.names.find(text), self.countries.find(text)
        keeper = keeper_there(keeper, lands)
        facts, slots = told_of(named, facts, slots or {}, keeper.units)
        probabilities = self.model.probabilities(reading, facts)
        awake = restless(named, facts)
        if awake:
            probabilities = without_rest(probabilities)
        asked = Asked(
            reading=reading,
            facts=facts,
            named=named,
            probabilities=probabilities,
            slots=slots,
            keeper=keeper,
            lands=lands,
        )
        verdict = judge(reading, probabilities, self.topics, facts)
        cards = self._candidates(verdict, restless=awake)
        leaning = shares_of(joined(self.leanings.sums(reading), reading.sense.cards))
        ranked = rank(cards, probabilities, reading, facts, leaning)
        if verdict.decline is not None:
            ranked = self._declined_first(ranked, verdict.decline, asked, leaning)
        score = covered(ranked[0], probabilities)
        if a_mere_name(asked) or not verdict.understood or (verdict.decline is None and score < UNSURE):
            return self._unknown(asked, ranked)
        return self._found(asked, ranked)

    def show(
        self,
        card: Card,
        facts: Facts,
        slots: Mapping[str, str],
        named: tuple[Named, ...] = (),
        keeper: Keeper = SOMEBODY,
        lands: tuple[Land, ...] = (),
    ) -> Answer:
        """One card as an answer, about named ants and countries, else the asker's own; the rest as for `answer`."""
        keeper = keeper_there(keeper, lands)
        facts, slots = told_of(named, facts, slots, keeper.units)
        shares = dict.fromkeys(card.topics, 1 / len(card.topics))
        reading = self.reader.read(card.title)
        asked = Asked(
            reading=reading, facts=facts, named=named, probabilities=shares, slots=slots, keeper=keeper, lands=lands
        )
        return self._found(asked, (card,))

    def _candidates(self, verdict: Verdict, *, restless: bool) -> Iterable[Card]:
        """Cards to rank; none that would lay ants to rest that have no winter rest."""
        cards = [card for card in self.cards.values() if not (restless and lays_to_rest(card))]
        return [card for card in cards if card.decline is None] if verdict.decline is None else cards

    def _declined_first(
        self, ranked: tuple[Card, ...], reason: Decline, asked: Asked, leaning: Mapping[str, float]
    ) -> tuple[Card, ...]:
        own = fitting((card for card in self.cards.values() if card.decline is reason), asked.reading.concepts)
        declined = {name: share for name, share in asked.probabilities.items() if self.topics[name].declined}
        first = rank(own, declined, asked.reading, asked.facts, leaning)[0]
        return (first, *(card for card in ranked if card is not first))

    def _found(self, asked: Asked, ranked: tuple[Card, ...]) -> Answer:
        card, *rest = ranked
        probabilities = asked.probabilities
        lines = self._lines_there(asked, card)
        about = self._about(asked, card)
        score = covered(card, probabilities)
        second = covered(rest[0], probabilities) if rest else 0.0
        medical = bool(lines.ids) and self.handbook.cautions[lines.ids[0]].medical
        return Answer(
            answered=card.decline is None,
            card=card.id,
            topics=card.topics,
            title=card.title,
            cautions=lines.ids,
            caution_kinds=self._kinds(lines),
            text=fill(card.body, slots_there(asked, self.handbook, lines.ids)),
            score=score,
            near=tuple(Near(other.id, other.topics) for other in rest),
            asks=() if medical else open_questions(card, asked),
            about=about.text,
            about_sources=about.sources,
            named=tuple(one.profile.name for one in asked.named),
            whom=lines.whom,
            choice=card.decline is None and score - second < CHOICE,
        )

    def _unknown(self, asked: Asked, ranked: tuple[Card, ...]) -> Answer:
        lines = self._lines_there(asked, None)
        about = portrait(asked.named, None, asked.keeper.units, asked.lands)
        nearest = "; ".join(card.title for card in ranked[:3])
        return Answer(
            answered=False,
            card=None,
            topics=(),
            title="I don't know",
            cautions=lines.ids,
            caution_kinds=self._kinds(lines),
            text=f"I am not sure what you mean, and I won't guess. Nearest to it: {nearest}. "
            "Tell me which ant it is, what you see and since when, or hand your question to the helpers.",
            score=0.0,
            near=tuple(Near(card.id, card.topics) for card in ranked),
            about=about.text,
            about_sources=about.sources,
            named=tuple(one.profile.name for one in asked.named),
            whom=lines.whom,
        )

    def _lines_there(self, asked: Asked, card: Card | None) -> Lines:
        """Cautions with the law of the countries that the question names."""
        return of_lands(self._lines(asked, card), asked.lands, [one.profile for one in asked.named], self.handbook)

    def _lines(self, asked: Asked, card: Card | None) -> Lines:
        """Cautions in the order they are shown."""
        shares = asked.probabilities if card is None else _told(card, asked)
        profiles = [one.profile for one in asked.named] if of_the_ants(asked, card) else []
        beside = len(dangers_of(profiles, self.handbook, asked.keeper))
        chosen = self.warner.weigh(asked.reading, asked.facts, card, shares, beside)
        lines = Lines(tuple(caution.id for caution in chosen.cautions), chosen.spoken_for)
        topics = facts_wanted(asked, card)
        if not asked.named and of_the_ants(asked, card):
            return speak_of_own(lines, topics, asked.facts, self.handbook, asked.keeper, self.warner.stands_for)
        if not profiles:
            return lines
        return speak_of(lines, topics, profiles, self.handbook, asked.keeper, self.warner.stands_for)

    def _about(self, asked: Asked, card: Card) -> Portrait:
        if not asked.named or card.decline is not None:
            return Portrait()
        return portrait(asked.named, facts_wanted(asked, card), asked.keeper.units, asked.lands)

    def _kinds(self, lines: Lines) -> tuple[str, ...]:
        own = (self.handbook.cautions[name].kind for name in lines.ids if name != SHARED)
        return tuple(dict.fromkeys(kind.value for kind in (*own, *lines.spoken_for)))


def _told(card: Card, asked: Asked) -> Mapping[str, float]:
    """Shares that cautions go by: what is declined is about its own topic, certain first aid about nothing else."""
    probabilities, own = asked.probabilities, card.topics[0]
    if card.decline is Decline.MEDICAL and (probabilities[own] >= _OWN or HURT & asked.reading.concepts):
        return {own: 1.0}
    if card.decline is None or probabilities[own] >= _OWN:
        return probabilities
    rest = (1 - _OWN) / (1 - probabilities[own])
    return {topic: _OWN if topic == own else share * rest for topic, share in probabilities.items()}
