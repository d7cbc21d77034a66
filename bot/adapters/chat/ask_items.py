"""Buttons and pickers around answers. Whoever presses is answered beside the message, so that its cautions stay."""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress
from typing import Any, Protocol, Self, cast

import discord
from discord import ui

from bot.adapters.chat import ask_marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.once import Told
from bot.adapters.chat.presenters.answer import answer_page, shelf_page
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import LABEL, OPTION, short, shown
from bot.care.answers.values import Card, Topic
from bot.services.asking import Advice, Shelf
from bot.services.errors import RecordsError
from bot.services.feedback_ports import NOWHERE, Reception
from bot.services.records import ColonyId
from bot.services.season_records import GuildId

MOST_OPTIONS = 25
COUNTED = "Thank you. I counted that, without your name and your words."
COUNTED_BEFORE = "You told me already; I count each of you once."
SAID = {"y": Reception.HELPED, "n": Reception.NOT_HELPED}
LABELS = {"y": "Helped", "n": "Did not help"}


class Listener(Protocol):
    """What the client carries for those who say whether an answer helped."""

    told: Told


class CardButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=ask_marks.CARD):
    """Shows a card."""

    def __init__(self, identifier: str, label: str = "?", match: re.Match[str] | None = None) -> None:
        super().__init__(ui.Button(label=short(label, LABEL), custom_id=identifier))
        self.match = match or ask_marks.CARD.fullmatch(identifier)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match.string, match=match)

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show it."""
        await pressed(interaction, self._work, privately=True)

    async def _work(self, contact: Contact) -> None:
        if self.match is not None:
            colony = self.match["colony"]
            ants = ask_marks.read(self.match["ants"], contact.services.asking.nameable)
            await show_card(contact, self.match["card"], None if colony is None else ColonyId(int(colony)), ants)


class CardPicker(ui.DynamicItem[ui.Select[ui.LayoutView]], template=ask_marks.PICK):
    """Shows the card that is chosen."""

    def __init__(self, cards: Sequence[Card] = ()) -> None:
        options = [
            discord.SelectOption(label=short(card.title, OPTION), value=card.id) for card in cards[:MOST_OPTIONS]
        ]
        nothing = [discord.SelectOption(label="–")]
        super().__init__(ui.Select(custom_id="wb:qk", placeholder="Open a card…", options=options or nothing))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, item: ui.Item[Any], __: re.Match[str], /) -> Self:
        """Read a choice."""
        found = cls()
        if isinstance(item, ui.Select):
            found.item = item
        return found

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show it."""
        await pressed(interaction, self._work, privately=True)

    async def _work(self, contact: Contact) -> None:
        await show_card(contact, self.item.values[0])


class TopicButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=ask_marks.TOPIC):
    """Shows the cards of a topic."""

    def __init__(self, topic: str, label: str = "?") -> None:
        super().__init__(ui.Button(label=short(label, LABEL), custom_id=f"wb:qt:{topic}"))
        self.topic = topic

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match["topic"])

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show them."""
        await pressed(interaction, self._work, privately=True)

    async def _work(self, contact: Contact) -> None:
        await show_shelf(contact, await contact.services.asking.topic(self.topic))


class FeedbackButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=ask_marks.FEEDBACK):
    """Counts whether an answer helped."""

    def __init__(self, said: str, card: str) -> None:
        super().__init__(ui.Button(label=LABELS[said], custom_id=f"wb:qf:{said}:{card}"))
        self.said, self.card = said, card

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match["said"], match["card"])

    async def callback(self, interaction: discord.Interaction) -> None:
        """Count it."""
        await pressed(interaction, self._work, privately=True)

    async def _work(self, contact: Contact) -> None:
        message = contact.interaction.message
        if not cast("Listener", contact.interaction.client).told.first(
            contact.keeper_id, 0 if message is None else message.id
        ):
            await contact.reply(Page(title="Counted before", blocks=(COUNTED_BEFORE,)))
            return
        await count(contact, self.card, SAID[self.said])
        await contact.reply(Page(title=LABELS[self.said], blocks=(COUNTED,)))


async def show_card(
    contact: Contact, card_id: str, colony_id: ColonyId | None = None, ants: Sequence[str] = ()
) -> None:
    """A card with its cautions, in private."""
    advice = await contact.services.asking.card(contact.keeper_id, card_id, contact.now, shown, colony_id, ants)
    await contact.reply(answer_page(advice), *answer_rows(advice))


async def show_shelf(contact: Contact, shelf: Shelf) -> None:
    """The cards of a topic; a single one is shown at once."""
    if len(shelf.cards) == 1:
        await show_card(contact, shelf.cards[0].id)
    else:
        await contact.reply(shelf_page(shelf), ui.ActionRow(CardPicker(shelf.cards)))


async def count(contact: Contact, subject: str, reception: Reception) -> None:
    """Count something for the server in which it happened; a count is not worth an error to whoever asked."""
    found = contact.interaction.guild_id
    guild_id = NOWHERE if found is None else GuildId(found)
    with suppress(RecordsError):
        await contact.services.feedback.count(guild_id, subject, reception, contact.now)


def answer_rows(advice: Advice) -> list[ui.ActionRow[Any]]:
    """The rows under an answer: cards to choose from, or nearest topics; and whether it helped."""
    rows: list[ui.ActionRow[Any]] = []
    if advice.near:
        marks = (ask_marks.card(card.id, advice.colony_id, advice.ants) for card in advice.near)
        buttons = (CardButton(mark, card.title) for mark, card in zip(marks, advice.near, strict=True))
        rows.append(ui.ActionRow(*buttons))
    if advice.topics:
        rows.append(topic_row(advice.topics))
    if advice.card is not None:
        rows.append(feedback_row(advice.card.id))
    return rows


def topic_row(topics: Sequence[Topic]) -> ui.ActionRow[Any]:
    """Topics to look at."""
    return ui.ActionRow(*(TopicButton(topic.id, topic.label) for topic in topics))


def feedback_row(card_id: str) -> ui.ActionRow[Any]:
    """Helped, or did not help."""
    return ui.ActionRow(*(FeedbackButton(said, card_id) for said in LABELS))


ASK_ITEMS: tuple[type[ui.DynamicItem[Any]], ...] = (CardButton, CardPicker, TopicButton, FeedbackButton)
