"""Buttons that draw one picture of a colony: a picture is brought when somebody wants to see it, not a wall of them."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.attachments import send_pictures
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.presenters.text import LABEL, short
from bot.services.colony_pictures import Depicted
from bot.services.pictures import Picture
from bot.services.records import ColonyId

LABELS = {
    Depicted.YEAR: "Its year",
    Depicted.WATER: "Water",
    Depicted.GROWTH: "Growth",
    Depicted.FOODS: "Foods",
}
NOTHING = {
    Depicted.GROWTH: "Nothing to draw yet: `/colony census` writes down a count, and two show a trend.",
    Depicted.FOODS: "Nothing to draw yet: `/care fed` with how it was taken tells me what they like.",
}


class PictureButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.DRAW):
    """Draws, in private beside the message."""

    def __init__(self, what: Depicted, colony: int, label: str | None = None) -> None:
        button = ui.Button[ui.LayoutView](
            label=short(label or LABELS[what], LABEL),
            style=discord.ButtonStyle.secondary,
            custom_id=f"wb:draw:{what.value}:{colony}",
        )
        super().__init__(button)
        self.what, self.colony = what, ColonyId(colony)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press; a picture of another version of the bot becomes the year."""
        known = {what.value for what in Depicted}
        what = Depicted(match["picture"]) if match["picture"] in known else Depicted.YEAR
        return cls(what, int(match["colony"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Draw it."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        async def drawn() -> list[Picture]:
            picture = await contact.services.pictures.one(contact.keeper_id, self.colony, self.what, contact.now)
            return [] if picture is None else [picture]

        if not await send_pictures(contact, drawn()):
            await contact.note(NOTHING.get(self.what, NOTHING[Depicted.GROWTH]))


def picture_buttons(colony: int, *what: Depicted) -> tuple[PictureButton, ...]:
    """Buttons for some pictures of a colony."""
    return tuple(PictureButton(one, colony) for one in what)
