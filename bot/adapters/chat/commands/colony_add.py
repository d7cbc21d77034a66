"""`/colony add`: species, workers and a name; all else may be said now or later."""

from __future__ import annotations

from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.contact import meet
from bot.adapters.chat.describing import Said, applied
from bot.adapters.chat.door import open_first_door
from bot.adapters.chat.nest_form import nest_row
from bot.adapters.chat.options import BarrierName, HeaterName, MaterialName, SpeciesName
from bot.adapters.chat.presenters.colony import added_page
from bot.care.colony import Colony


@app_commands.describe(
    species="Start typing; a genus alone will do",
    workers="How many, by eye; 0 for a founding queen",
    name="What you call it",
    queens="How many; 1 if you say nothing",
    brood="How much brood you see",
    founded="The day it was founded, such as 2026-05-20",
    material="What the nest is made of; a tube if you say nothing",
    water_ml="Millilitres you give at one watering",
    barrier="What keeps them in",
    heater="What warms the nest",
    heater_temperature="Measured at the warm wall, in your units",
)
async def add(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    species: SpeciesName,
    workers: int,
    name: str,
    queens: int | None = None,
    brood: Literal["none", "few", "some", "many"] | None = None,
    founded: str | None = None,
    material: MaterialName | None = None,
    water_ml: float | None = None,
    barrier: BarrierName | None = None,
    heater: HeaterName | None = None,
    heater_temperature: float | None = None,
) -> None:
    """Register a colony."""
    contact = await meet(interaction)
    units, today = await contact.units_and_today()
    said = Said(
        queens=queens,
        brood=brood,
        founded=founded,
        material=material,
        water_ml=water_ml,
        barrier=barrier,
        heater=heater,
        heater_temperature=heater_temperature,
    )
    colony = applied(Colony(key="", name=name, species=species, workers=workers), said, units, today)
    view = await contact.services.colonies.add(contact.keeper_id, colony, contact.now)
    await contact.reply(added_page(view, contact.services.handbook, today), nest_row(view.record.id))
    closed = await open_first_door(contact, view, today)
    if closed is not None:
        await contact.note(closed)
