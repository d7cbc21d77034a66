"""`/rest show` and `plan`: the winter rest, and what the keeper decides about it."""

from __future__ import annotations

from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.attachments import send_pictures
from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.options import ColonyName
from bot.adapters.chat.presenters.rest import rest_page
from bot.adapters.chat.reading import read_day
from bot.care.units import celsius
from bot.services.records import ColonyId
from bot.services.rest import RestChanges


@app_commands.describe(colony="Which colony")
async def show(interaction: discord.Interaction, *, colony: ColonyName) -> None:
    """The winter rest of a colony."""
    contact = await meet(interaction)
    found = await contact.colony_id(colony)
    await _show(contact, found)
    await send_pictures(contact, contact.services.pictures.year(contact.keeper_id, found, contact.now))


@app_commands.describe(
    colony="Which colony",
    start="First day of the wind-down, such as 2027-10-15",
    weeks="How many weeks the cold part lasts",
    where="Where it will rest",
    coldest="Coldest temperature there, in your units",
    warmest="Warmest temperature there, in your units",
    skip="No rest this year; I say what that means",
)
async def plan(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    start: str | None = None,
    weeks: float | None = None,
    where: Literal["unheated room", "cellar", "fridge", "outdoors"] | None = None,
    coldest: float | None = None,
    warmest: float | None = None,
    skip: bool | None = None,
) -> None:
    """Decide about the winter rest."""
    contact = await meet(interaction)
    found, units = await contact.colony_id(colony), (await contact.keeper()).settings.units
    changes = RestChanges(
        start=None if start is None else read_day(start, await contact.today()),
        weeks=weeks,
        place=where,
        place_low_c=None if coldest is None else celsius(coldest, units),
        place_high_c=None if warmest is None else celsius(warmest, units),
        skip=skip,
    )
    await contact.services.rest.change(contact.keeper_id, found, changes, contact.now)
    await _show(contact, found)


async def _show(contact: Contact, colony_id: ColonyId) -> None:
    view = await contact.services.rest.show(contact.keeper_id, colony_id, contact.now)
    await contact.reply(rest_page(view))
