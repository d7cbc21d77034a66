"""The button that removes everything of a keeper; whose it is stands in its identifier."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.own_data import erased_page
from bot.services.errors import NotYoursError
from bot.services.records import KeeperId


class EraseButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.ERASE):
    """Removes everything, at once."""

    def __init__(self, keeper: int) -> None:
        button = ui.Button[ui.LayoutView](
            label="Erase everything of mine", style=discord.ButtonStyle.danger, custom_id=f"wb:erase:{keeper}"
        )
        super().__init__(button)
        self.keeper = KeeperId(keeper)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["keeper"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Erase, and say what was removed and what stays."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        if contact.keeper_id != self.keeper:
            raise NotYoursError
        erased = await contact.services.own_data.erase(contact.keeper_id)
        await contact.show_all(page_layouts(erased_page(erased)))
