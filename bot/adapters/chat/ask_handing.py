"""Answers and questions that reach others: a previewed answer for a channel, a question for the helpers.

Nobody is mentioned. A question is handed over only when its asker sends the form in which it stands.
"""

from __future__ import annotations

import re
from typing import Any, Protocol, Self, cast

import discord
from discord import ui

from bot.adapters.chat import ask_marks
from bot.adapters.chat.ask_items import feedback_row
from bot.adapters.chat.contact import NOBODY, Contact, pressed
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.messenger import ChatMessenger
from bot.adapters.chat.presenters.answer import (
    ASKED_BEFORE,
    handed_page,
    posted_page,
    question_line,
    unshown,
)
from bot.adapters.chat.presenters.page import Page
from bot.services.asking import LONGEST_QUESTION, Advice
from bot.services.errors import DeliveryError

QUESTION_ID = 9_101
"""Component id by which a question is found again in the answer that could not answer it."""
POSTED = "It stands in this channel now. Nobody was notified."
MAY_NOT = "You may not write in this channel, so I do not write there for you."
HANDED = "The helpers have your question now. They answer in a channel of this server, so look there."
NO_HELPERS = "This server has no channel for helpers any more. Ask in a channel where keepers talk."
CLOSED = "I could not reach the helpers just now, so nothing was handed over. Ask in a channel, or try later."


class Platform(Protocol):
    """What the client carries for requests of its own."""

    messenger: ChatMessenger


class PostButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=ask_marks.POST):
    """Posts a previewed answer; it stands in private messages only, and rights are looked at with every press."""

    def __init__(self, identifier: str, match: re.Match[str] | None = None) -> None:
        style = discord.ButtonStyle.primary
        super().__init__(ui.Button(label="Post in this channel", style=style, custom_id=identifier))
        self.match = match

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match.string, match)

    async def callback(self, interaction: discord.Interaction) -> None:
        """Post it."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        if self.match is None or not _may_write(contact.interaction):
            await contact.note(MAY_NOT)
            return
        services = contact.services
        cautions = ask_marks.read(self.match["cautions"], services.handbook.cautions)
        ants = ask_marks.read(self.match["ants"], services.asking.nameable)
        advice = await services.asking.public(self.match["card"], cautions, ants)
        await contact.show(page_layouts(Page(title="Posted", blocks=(POSTED,)))[0])
        page = posted_page(advice, _link(contact.interaction, self.match["message"]))
        for layout in page_layouts(page, feedback_row(self.match["card"])):
            await contact.interaction.followup.send(view=layout, ephemeral=False, allowed_mentions=NOBODY)


class HelpersButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=ask_marks.HELPERS):
    """Opens the form in which a question stands before it is handed over."""

    def __init__(self) -> None:
        super().__init__(ui.Button(label="Ask the helpers…", custom_id="wb:qh"))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], ___: re.Match[str], /) -> Self:
        """Read a press."""
        return cls()

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show the form; it must be the first answer, so nothing is deferred."""
        await interaction.response.send_modal(HelpersForm(asked_before(interaction.message)))


class HelpersForm(ui.Modal):
    """The question as helpers will read it."""

    def __init__(self, question: str) -> None:
        super().__init__(title="Hand this to the helpers?", timeout=900)
        self.question = ui.TextInput[Self](
            style=discord.TextStyle.paragraph, default=question, max_length=LONGEST_QUESTION, required=True
        )
        about = "They see it with your name. Add the ant, what you see, and since when"
        self.add_item(ui.Label(text="Your question", description=about, component=self.question))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Hand it over."""
        await pressed(interaction, self._work, privately=True)

    async def _work(self, contact: Contact) -> None:
        said = await hand_over(contact, self.question.value)
        await contact.reply(Page(title="Ask the helpers", blocks=(said,)))


async def hand_over(contact: Contact, question: str) -> str:
    """Put a question into the helpers' channel; returns what to tell the asker."""
    interaction = contact.interaction
    channel_id = await contact.services.asking.helpers(interaction.guild_id)
    if channel_id is None:
        return NO_HELPERS
    channel = interaction.client.get_partial_messageable(channel_id)
    layout = page_layouts(handed_page(question, interaction.user.id))[0]
    platform = cast("Platform", interaction.client)
    try:
        await platform.messenger.ask(channel.send(view=layout, allowed_mentions=NOBODY))
    except DeliveryError:
        return CLOSED
    return HANDED


def preview_rows(advice: Advice, message_id: int) -> list[ui.ActionRow[Any]]:
    """The button under a preview; without a card there is nothing worth posting."""
    card = advice.card
    cautions = [one.id for one in advice.cautions]
    identifier = None if card is None else ask_marks.post(card.id, message_id, cautions, advice.ants)
    return [] if identifier is None else [ui.ActionRow(PostButton(identifier))]


def helpers_rows(question: str) -> list[ui.Item[Any]]:
    """The question, powerless, and the button that hands it over."""
    return [ui.TextDisplay[Any](question_line(question), id=QUESTION_ID), ui.ActionRow(HelpersButton())]


def asked_before(message: discord.Message | None) -> str:
    """The question out of the answer that could not answer it."""
    for part in () if message is None else _inside(message.components):
        if isinstance(part, discord.TextDisplay) and part.id == QUESTION_ID:
            return unshown(part.content.partition(ASKED_BEFORE)[2])[:LONGEST_QUESTION]
    return ""


def _inside(parts: Any) -> list[object]:
    """Components of a message with those inside their frames."""
    return [found for part in parts for found in (part, *getattr(part, "children", ()))]


def _may_write(interaction: discord.Interaction) -> bool:
    """Whether whoever presses may write here, by what the platform says of this very press."""
    rights, channel = interaction.permissions, interaction.channel
    return rights.send_messages_in_threads if isinstance(channel, discord.Thread) else rights.send_messages


def _link(interaction: discord.Interaction, message_id: str) -> str:
    return f"https://discord.com/channels/{interaction.guild_id or '@me'}/{interaction.channel_id}/{message_id}"


HANDING_ITEMS: tuple[type[ui.DynamicItem[Any]], ...] = (PostButton, HelpersButton)
