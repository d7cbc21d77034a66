"""`/care due`, `week` and `why`: what waits, what comes, and the reasons."""

from __future__ import annotations

from typing import Any, Literal

import discord
from discord import app_commands, ui

from bot.adapters.chat.answering import Message, board_now
from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.contact import meet
from bot.adapters.chat.layout import Layout, caution_box
from bot.adapters.chat.marks import TODAY
from bot.adapters.chat.options import ColonyName
from bot.adapters.chat.picture_item import PictureButton
from bot.adapters.chat.presenters.care import nothing_due_page, week_page, why_page
from bot.adapters.chat.presenters.digest import with_cautions
from bot.care.duty import Duty
from bot.services.colony_pictures import Depicted

MOST_WATERS = 5
"""Buttons of a row; the colonies whose water is due first."""
WAITING = "This is what waits for you now."


async def due(interaction: discord.Interaction) -> None:
    """What waits now, with buttons."""
    contact = await meet(interaction)
    view = await contact.services.care_views.due(contact.keeper_id, contact.now)
    if not view.lines:
        await contact.reply(nothing_due_page(view))
        return
    words = with_cautions(WAITING, view.cautions)
    board = board_layout(await board_now(contact, Message(scope=TODAY, fixed=words.fixed)))
    await contact.show_all([*(Layout(caution_box(text)) for text in words.ahead), board])


@app_commands.describe(days="How many days ahead, 1 to 14")
async def week(interaction: discord.Interaction, *, days: app_commands.Range[int, 1, 14] = 7) -> None:
    """The coming days."""
    contact = await meet(interaction)
    view = await contact.services.care_views.week(contact.keeper_id, contact.now, days)
    watered = view.watered[:MOST_WATERS]
    buttons = [PictureButton(Depicted.WATER, int(each.key), f"Water of {each.name}") for each in watered]
    await contact.reply(week_page(view, await contact.today()), *([ui.ActionRow[Any](*buttons)] if buttons else []))


@app_commands.describe(colony="Which colony", what="Which care")
async def why(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    what: Literal[
        "sugar",
        "protein",
        "seeds",
        "leaves",
        "leftovers",
        "water",
        "barrier_check",
        "barrier_renew",
        "outside_wipe",
        "waste",
        "nest_change",
        "space",
        "rest_begin",
        "rest_check",
        "rest_end",
        "heat_check",
        "census",
    ],
) -> None:
    """The reason behind the next of a kind."""
    contact = await meet(interaction)
    found = await contact.colony_id(colony)
    view = await contact.services.care_views.why(contact.keeper_id, found, Duty(what), contact.now)
    await contact.reply(why_page(view, await contact.today()))
