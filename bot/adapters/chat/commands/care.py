"""`/care due`, `week` and `why`: what waits, what comes, and the reasons."""

from __future__ import annotations

from typing import Any

import discord
from discord import app_commands, ui

from bot.adapters.chat.contact import meet
from bot.adapters.chat.due_item import show_due
from bot.adapters.chat.options import Care, ColonyName, hints
from bot.adapters.chat.picture_item import PictureButton
from bot.adapters.chat.presenters.care import week_page, why_page
from bot.care.duty import Duty
from bot.services.colony_pictures import Depicted

MOST_WATERS = 5
"""Buttons of a row; the colonies whose water is due first."""


async def due(interaction: discord.Interaction) -> None:
    """What waits now, with buttons."""
    contact = await meet(interaction)
    await show_due(contact)


@app_commands.describe(days="How many days ahead, 1 to 14")
async def week(interaction: discord.Interaction, *, days: app_commands.Range[int, 1, 14] = 7) -> None:
    """The coming days."""
    contact = await meet(interaction)
    view = await contact.services.care_views.week(contact.keeper_id, contact.now, days)
    watered = view.watered[:MOST_WATERS]
    buttons = [PictureButton(Depicted.WATER, int(each.key), f"Water of {each.name}") for each in watered]
    await contact.reply(week_page(view, view.today), *([ui.ActionRow[Any](*buttons)] if buttons else []))


@hints("colony", what="Which care")
async def why(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    what: Care,
) -> None:
    """The reason behind the next of a kind."""
    contact = await meet(interaction)
    found = await contact.colony_id(colony)
    view = await contact.services.care_views.why(contact.keeper_id, found, Duty(what), contact.now)
    await contact.reply(why_page(view, view.today))
