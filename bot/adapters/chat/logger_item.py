"""The button that lets the plan count on what a logger measured; the values stand in its identifier, in tenths."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.files import kept_page
from bot.care.logger.use import Measured
from bot.services.records import ColonyId

NOTHING = "n"


class KeepButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.MEASURED):
    """Puts measured values in the place of assumed ones."""

    def __init__(self, colony: int, values: str) -> None:
        button = ui.Button[ui.LayoutView](
            label="Plan with these values",
            style=discord.ButtonStyle.primary,
            custom_id=f"wb:logger:{colony}:{values}",
        )
        super().__init__(button)
        self.colony, self.values = ColonyId(colony), values

    @classmethod
    def of(cls, colony: int, measured: Measured) -> Self:
        """The button for what was measured."""
        found = (measured.room_c, measured.humidity_percent, measured.rest_low_c, measured.rest_high_c)
        return cls(colony, "_".join(NOTHING if value is None else str(round(10 * value)) for value in found))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]), match["values"])

    async def callback(self, interaction: discord.Interaction) -> None:
        """Keep, and say what changed."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        room, humidity, low, high = (None if part == NOTHING else int(part) / 10 for part in self.values.split("_"))
        measured = Measured(room_c=room, humidity_percent=humidity, rest_low_c=low, rest_high_c=high)
        record = await contact.services.loggers.keep(contact.keeper_id, self.colony, measured, contact.now)
        units = (await contact.keeper()).settings.units
        await contact.show_all(page_layouts(kept_page(record, measured, units)))
