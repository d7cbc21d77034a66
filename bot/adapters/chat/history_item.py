"""The buttons that turn the pages of a history."""

from __future__ import annotations

import re
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import Layout, page_layouts
from bot.adapters.chat.picture_item import picture_buttons
from bot.adapters.chat.presenters.history import history_page
from bot.care.duty import Duty
from bot.services.colony_pictures import Depicted
from bot.services.errors import NoLongerDueError
from bot.services.history import HistoryPage, Wanted
from bot.services.records import ColonyId

ALL, SEEN = "all", "seen"


class HistoryButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.HISTORY):
    """Shows another page."""

    def __init__(self, colony: int, wanted: str, page: int, label: str = "?") -> None:
        button = ui.Button[ui.LayoutView](
            label=label, style=discord.ButtonStyle.secondary, custom_id=f"wb:hist:{colony}:{wanted}:{page}"
        )
        super().__init__(button)
        self.colony, self.wanted, self.page = ColonyId(colony), wanted, page

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]), match["wanted"], int(match["page"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Turn the page."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        layouts = await history_layouts(contact, self.colony, self.wanted, self.page)
        await contact.show_all(layouts)


async def history_layouts(contact: Contact, colony: ColonyId, wanted: str, page: int) -> list[Layout]:
    """A page of a history with the buttons to its neighbours.

    Raises:
        NotYoursError, NoLongerDueError: an old button for lines that no longer exist.
    """
    found = await contact.services.history.page(contact.keeper_id, colony, read_wanted(wanted), page)
    row = _row(found, wanted)
    return page_layouts(history_page(found, contact.services.handbook.foods), *row)


def read_wanted(said: str) -> Wanted:
    """The lines that an option or an identifier names."""
    if said in {ALL, SEEN}:
        return Wanted(seen=said == SEEN)
    try:
        return Wanted(duty=Duty(said))
    except ValueError:
        raise NoLongerDueError from None


def _row(found: HistoryPage, wanted: str) -> list[ui.ActionRow[Any]]:
    buttons: list[ui.DynamicItem[ui.Button[ui.LayoutView]]] = []
    if found.page > 1:
        buttons.append(HistoryButton(found.colony.id, wanted, found.page - 1, "Newer"))
    if found.page < found.pages:
        buttons.append(HistoryButton(found.colony.id, wanted, found.page + 1, "Older"))
    pictures = picture_buttons(found.colony.id, Depicted.GROWTH, Depicted.FOODS) if found.total else ()
    return [ui.ActionRow(*buttons, *pictures)] if buttons or pictures else []
