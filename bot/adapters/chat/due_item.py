"""What waits for a keeper now, by command or by the button under the first direct message."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.answering import Message, board_now
from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import Layout, caution_box, page_layouts
from bot.adapters.chat.presenters.care import nothing_due_page
from bot.adapters.chat.presenters.digest import with_cautions

WAITING = "This is what waits for you now."


async def show_due(contact: Contact) -> None:
    """Everything that waits, with buttons; cautions first.

    Raises:
        NotSetUpError.
    """
    view = await contact.services.care_views.due(contact.keeper_id, contact.now)
    if not view.lines:
        await contact.show_all(page_layouts(nothing_due_page(view)))
        return
    words = with_cautions(WAITING, view.cautions)
    board = board_layout(await board_now(contact, Message(scope=marks.TODAY, fixed=words.fixed)))
    await contact.show_all([*(Layout(caution_box(text)) for text in words.ahead), board])


class DueButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.DUE):
    """Shows what waits now beside the message."""

    def __init__(self) -> None:
        style = discord.ButtonStyle.primary
        super().__init__(ui.Button(label="What waits now, with buttons", style=style, custom_id="wb:due"))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], ___: re.Match[str], /) -> Self:
        """Read a press."""
        return cls()

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show it."""
        await pressed(interaction, show_due, privately=True)
