"""`/colony list`, `show` and `close`."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands, ui

from bot.adapters.chat.attachments import send_pictures
from bot.adapters.chat.contact import meet
from bot.adapters.chat.nest_form import nest_row
from bot.adapters.chat.options import ColonyName
from bot.adapters.chat.picture_item import picture_buttons
from bot.adapters.chat.presenters.colony import closed_page, colony_page, list_page
from bot.services.colony_pictures import Depicted


async def overview(interaction: discord.Interaction) -> None:
    """All colonies of the asker."""
    contact = await meet(interaction)
    await contact.reply(list_page(await contact.services.colonies.of(contact.keeper_id)))


@app_commands.describe(colony="Which colony")
async def show(interaction: discord.Interaction, *, colony: ColonyName) -> None:
    """One colony with its plan."""
    contact = await meet(interaction)
    found = await contact.colony_id(colony)
    view = await contact.services.colonies.show(contact.keeper_id, found, contact.now)
    pictures = ui.ActionRow[Any](*picture_buttons(found, Depicted.GROWTH, Depicted.FOODS, Depicted.WATER))
    await contact.reply(colony_page(view, contact.services.handbook, view.today), nest_row(found), pictures)
    await send_pictures(contact, contact.services.pictures.year(contact.keeper_id, found, contact.now))


@app_commands.describe(colony="Which colony", reason="What became of it, for its history")
async def close(interaction: discord.Interaction, *, colony: ColonyName, reason: str = "") -> None:
    """Stop caring for a colony."""
    contact = await meet(interaction)
    found = await contact.colony_id(colony)
    record = await contact.services.colonies.close(contact.keeper_id, found, reason, contact.now)
    await contact.reply(closed_page(record))
