"""Answers for one asker: what the guide says, with their colony's state and the cautions they have not just seen.

Danger and medical lines come every time. Other cautions follow the repeat limits of `Severity.repeat_days`; how many
an answer carries was decided with the answer, so none is left out for room. An answer for others to read knows of no
colony and holds every caution.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import partial

from bot.care.agenda import plan_colony
from bot.care.answers.countries import MOST_TOLD as MOST_COUNTRIES
from bot.care.answers.countries import Land, Role, ruling
from bot.care.answers.filling import tells_of_a_colony
from bot.care.answers.guide import Guide
from bot.care.answers.named_cautions import SOMEBODY, addressed
from bot.care.answers.naming import Named
from bot.care.answers.portrait import MOST_TOLD
from bot.care.answers.values import NO_FACTS, Answer, Card, Facts, Topic
from bot.care.answers.whose import Kept, asked_about
from bot.care.caution_limits import select
from bot.care.cautions import Caution
from bot.care.errors import BadValueError, CareError, UnknownNameError
from bot.care.evidence import Confidence
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Keeper
from bot.services.answers import answer_question, country_slots, facts_of, kept_as, season_on, slots_of, spoken
from bot.services.colonies import owned
from bot.services.errors import RecordsError
from bot.services.planner import place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord
from bot.services.season_records import GuildId

LONGEST_QUESTION = 500
LONGEST_MESSAGE = 4000
"""Characters of a member's message that are read: all of the longest that the platform takes."""
PLAN_DAYS = 60
"""How far the plan behind an answer looks ahead."""
NEAR = 2
NEAR_TOPICS = 3
Told = Callable[[Sequence[Kept]], Kept | None]
"""Tells which of the asker's colonies a question is about."""
NameShown = Callable[[str], str]
"""How the name of a colony, which a keeper typed, is written where it is shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """An answer, ready to be shown: cautions first and in this order."""

    card: Card | None
    """`None` when the question was not understood."""
    title: str
    text: str
    cautions: tuple[Caution, ...]
    asks: tuple[str, ...] = ()
    citations: tuple[str, ...] = ()
    confidence: Confidence | None = None
    about: str = ""
    """What is known of the ants that the question names; comes before the text."""
    about_citations: tuple[str, ...] = ()
    ants: tuple[str, ...] = ()
    """Entries of the handbook that stand for these ants, and codes of countries; near cards are about them too."""
    near: tuple[Card, ...] = ()
    """Cards to choose from when two are about as likely."""
    topics: tuple[Topic, ...] = ()
    """Nearest topics of a question that was not understood."""
    colony_id: ColonyId | None = None
    """The asker's colony that the answer is about; near cards are about it too."""
    impersonal: bool = False
    """Whether the records could not be reached: then nothing of the asker's colonies is in it."""
    unsaid: bool = False
    """Whether it would tell of a colony, had the asker said which of several is meant."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """A topic with its cards."""

    topic: Topic
    cards: tuple[Card, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asker:
    """What is known of whoever asks."""

    today: date
    facts: Facts = NO_FACTS
    slots: Mapping[str, str] = field(default_factory=dict)
    keeper: KeeperRecord | None = None
    shown: Mapping[str, date] = field(default_factory=dict)
    colony_id: ColonyId | None = None
    """The colony that the answer is about."""
    unknown: bool = False
    """Whether the records could not be reached."""
    several: bool = False
    """Whether there are several colonies, and none of them is known to be meant."""

    @property
    def settings(self) -> Keeper:
        """Whose country and units count."""
        return SOMEBODY if self.keeper is None else self.keeper.settings


@dataclass(frozen=True, slots=True)
class Asking:
    """The use cases of `/ask`. `guide` may take a second the first time, so it is called in a thread."""

    units: UnitOfWorkMaker
    handbook: Handbook
    guide: Callable[[], Guide]

    async def answer(
        self, keeper_id: KeeperId, text: str, colony_id: ColonyId | None, now: datetime, name: NameShown = str
    ) -> Advice:
        """The answer for one asker, who needs no place and no colony.

        Args:
            keeper_id: who asks.
            text: the question.
            colony_id: the colony that is meant; without it the asker's only one, or the one that the question tells.
            now: the moment.
            name: how the colony's name is written.

        Raises:
            BadValueError: nothing asked, or too much.
            NotYoursError: a colony of somebody else.
        """
        question = " ".join(text.split())
        if not question or len(text) > LONGEST_QUESTION:
            raise BadValueError("question", f"Ask in 1 to {LONGEST_QUESTION} characters, such as “mould in the tube”.")
        guide = await self._guide()
        asker = await self._asker(keeper_id, colony_id, now, name, partial(asked_about, question, guide))
        found = self._told(guide, question, answer_question(question, asker.facts, guide, asker.slots, asker.settings))
        return replace(await self._for(keeper_id, asker, found), colony_id=asker.colony_id)

    async def card(
        self,
        keeper_id: KeeperId,
        card_id: str,
        now: datetime,
        name: NameShown = str,
        colony_id: ColonyId | None = None,
        ants: Sequence[str] = (),
    ) -> Advice:
        """One card for one asker, about the ants or the colony that were named, else the asker's only colony.

        Raises:
            BadValueError: there is no such card any more.
            NotYoursError: a colony of somebody else.
        """
        guide = await self._guide()
        asker = await self._asker(keeper_id, colony_id, now, name)
        found = replace(self._of_card(guide, card_id, asker, ants), colony_id=colony_id)
        return await self._for(keeper_id, asker, found)

    async def preview(self, text: str) -> Advice:
        """The answer to somebody's message, fit for everybody to read."""
        guide = await self._guide()
        question = text[:LONGEST_MESSAGE]
        return self._told(guide, question, answer_question(question, NO_FACTS, guide))

    async def public(self, card_id: str, caution_ids: Sequence[str], ants: Sequence[str] = ()) -> Advice:
        """A previewed answer once more, from its card, its cautions and the ants that were named.

        Raises:
            BadValueError: there is no such card any more.
        """
        guide = await self._guide()
        found = self._of_card(guide, card_id, _Asker(today=date.min), ants)
        known = tuple(name for name in caution_ids if name in self.handbook.cautions)
        profiles = [one.profile for one in self._named(ants)]
        cautions = spoken(known, addressed(known, profiles, self.handbook, SOMEBODY), self.handbook)
        return replace(found, cautions=cautions, asks=() if _medical(cautions) else found.asks)

    @property
    def nameable(self) -> tuple[str, ...]:
        """Entries of ants and codes of countries that an answer can be about."""
        return (*self.handbook.species, *self.handbook.countries)

    async def topics(self) -> Mapping[str, str]:
        """Topic -> its name for people, but for those that are only there to decline."""
        guide = await self._guide()
        return {topic.id: topic.label for topic in guide.topics.values() if not topic.declined}

    async def titles(self) -> tuple[Mapping[str, str], Mapping[str, str]]:
        """Names for people of all cards, and of all topics."""
        guide = await self._guide()
        return (
            {card.id: card.title for card in guide.cards.values()},
            {topic.id: topic.label for topic in guide.topics.values()},
        )

    async def topic(self, said: str) -> Shelf:
        """The cards of a topic, by its id or name.

        Raises:
            UnknownNameError: with names that contain what was said.
        """
        guide = await self._guide()
        wanted = said.casefold()
        for topic in guide.topics.values():
            if not topic.declined and wanted in {topic.id, topic.label.casefold()}:
                return Shelf(topic, tuple(card for card in guide.cards.values() if topic.id in card.topics))
        labels = (await self.topics()).values()
        raise UnknownNameError("topic", said, tuple(label for label in labels if wanted[:4] in label.casefold())[:3])

    async def helpers(self, guild_id: int | None) -> int | None:
        """The channel in which a server's helpers read, if it named one."""
        if guild_id is None:
            return None
        try:
            async with self.units() as work:
                setup = await work.seasons.setup(GuildId(guild_id))
        except RecordsError:
            return None
        return None if setup is None else setup.helper_channel_id

    async def _guide(self) -> Guide:
        return await asyncio.to_thread(self.guide)

    async def _asker(
        self, keeper_id: KeeperId, colony_id: ColonyId | None, now: datetime, name: NameShown, told: Told | None = None
    ) -> _Asker:
        try:
            async with self.units() as work:
                keeper = await work.keepers.get(keeper_id)
                if keeper is None:
                    return _Asker(today=now.date())
                named = None if colony_id is None else await owned(work, keeper_id, colony_id)
                mine = await work.colonies.of(keeper_id) if named is None else [named]
                record = self._meant(mine, told)
                shown = await work.cautions_shown.of(keeper_id)
        except RecordsError:
            return _Asker(today=now.date(), unknown=True)
        today = local_day(now, keeper.settings.zone)
        facts, slots = self._known(keeper, record, today, name)
        about = None if record is None else record.id
        several = record is None and len(mine) > 1
        return _Asker(
            today=today, facts=facts, slots=slots, keeper=keeper, shown=shown, colony_id=about, several=several
        )

    def _meant(self, mine: Sequence[ColonyRecord], told: Told | None) -> ColonyRecord | None:
        """The only colony in question, else the one that the question tells, else none."""
        if len(mine) == 1 or told is None:
            return mine[0] if len(mine) == 1 else None
        kept = {kept_as(record.colony, self.handbook): record for record in mine}
        about = told(tuple(kept))
        return None if about is None else kept[about]

    def _known(
        self, keeper: KeeperRecord, record: ColonyRecord | None, today: date, name: NameShown
    ) -> tuple[Facts, Mapping[str, str]]:
        """Facts and personal sentences; a colony that cannot be planned keeps nobody from an answer."""
        settings = keeper.settings
        if record is not None:
            colony = replace(record.colony, name=name(record.colony.name))
            try:
                place = place_of(keeper, record)
                plan = plan_colony(colony, settings, place, self.handbook, today, PLAN_DAYS)
                slots = slots_of(plan, settings, self.handbook, today, place.temperature_c)
                return facts_of(colony, plan.profile, settings, today, plan.rest), slots
            except CareError:
                pass
        return Facts(season=season_on(today, settings)), country_slots(settings, self.handbook)

    async def _for(self, keeper_id: KeeperId, asker: _Asker, found: Advice) -> Advice:
        """The answer without cautions that the asker has seen lately; what is shown is remembered."""
        if asker.keeper is None:
            return replace(found, impersonal=asker.unknown)
        muted = asker.keeper.mute_notes
        kept = tuple(
            caution
            for caution in found.cautions
            if caution.medical or select([caution.id], self.handbook, asker.shown, asker.today, muted)
        )
        try:
            async with self.units() as work:
                if await work.keepers.get(keeper_id) is not None:
                    await work.cautions_shown.record(keeper_id, [caution.id for caution in kept], asker.today)
                    await work.commit()
        except RecordsError:
            return found  # what was shown is not remembered, so it will be shown once more
        personal = found.card is not None and not found.about and tells_of_a_colony(found.card.body)
        return replace(found, cautions=kept, unsaid=asker.several and personal)

    def _told(self, guide: Guide, question: str, answer: Answer) -> Advice:
        """The answer to a question, with the countries that it names, so that near cards are about them too."""
        found, lands = self._advice(guide, answer), guide.countries.find(question)
        codes = [land.country.code for land in lands[:MOST_COUNTRIES]] if ruling(lands) else ()
        return replace(found, ants=(*found.ants, *codes))

    def _advice(self, guide: Guide, answer: Answer) -> Advice:
        card = guide.cards.get(answer.card or "")
        near = [guide.cards[found.card] for found in answer.near]
        topics = dict.fromkeys(other.topics[0] for other in near if not guide.topics[other.topics[0]].declined)
        return Advice(
            card=card,
            title=answer.title,
            text=answer.text,
            cautions=spoken(answer.cautions, answer.whom, self.handbook),
            asks=answer.asks,
            citations=self._citations(() if card is None else card.sources),
            confidence=None if card is None else card.confidence,
            about=answer.about,
            about_citations=self._citations(answer.about_sources),
            ants=answer.named if len(answer.named) <= MOST_TOLD else (),
            near=tuple(near[:NEAR]) if answer.choice else (),
            topics=tuple(guide.topics[name] for name in topics)[:NEAR_TOPICS] if card is None else (),
        )

    def _of_card(self, guide: Guide, card_id: str, asker: _Asker, ants: Sequence[str]) -> Advice:
        card = guide.cards.get(card_id)
        if card is None:
            raise BadValueError("card", "That card is gone. Ask again with `/ask`, or look under `/care topic`.")
        lands = tuple(
            Land(self.handbook.countries[code], Role.NAMED) for code in ants if code in self.handbook.countries
        )
        shown = guide.show(card, asker.facts, asker.slots, self._named(ants), asker.settings, lands)
        found = self._advice(guide, shown)
        return replace(found, ants=(*found.ants, *(land.country.code for land in lands)))

    def _named(self, ants: Sequence[str]) -> tuple[Named, ...]:
        """Entries by their names; those that are gone are passed over."""
        return tuple(Named(self.handbook.species[name]) for name in ants if name in self.handbook.species)

    def _citations(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(self.handbook.sources[name].citation for name in names if name in self.handbook.sources)


def _medical(cautions: Sequence[Caution]) -> bool:
    """Whether a medical line comes first: then nothing is asked back."""
    return bool(cautions) and cautions[0].medical
