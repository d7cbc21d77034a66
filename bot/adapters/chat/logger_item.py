"""The buttons of logger readings: keep what waits and plan with it, or forget all of a colony."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.files import forgotten_page, kept_page
from bot.services.records import ColonyId


class KeepButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.MEASURED):
    """Keeps the readings that wait, and puts measured values in the place of assumed ones."""

    def __init__(self, colony: int) -> None:
        button = ui.Button[ui.LayoutView](
            label="Keep it and plan with it", style=discord.ButtonStyle.primary, custom_id=f"wb:logger:{colony}"
        )
        super().__init__(button)
        self.colony = ColonyId(colony)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Keep, and say what changed."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        view = await contact.services.loggers.keep(contact.keeper_id, self.colony, contact.now)
        await contact.show_all(page_layouts(kept_page(view)))


class ForgetButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.FORGET_MEASURED):
    """Removes all readings of a colony."""

    def __init__(self, colony: int) -> None:
        style = discord.ButtonStyle.danger
        super().__init__(ui.Button(label="Forget all its readings", style=style, custom_id=f"wb:unlog:{colony}"))
        self.colony = ColonyId(colony)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Forget, and say so."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        await contact.services.loggers.forget(contact.keeper_id, self.colony)
        await contact.show_all(page_layouts(forgotten_page()))
