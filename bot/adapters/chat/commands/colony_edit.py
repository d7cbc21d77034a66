"""`/colony edit`: only what is said changes."""

from __future__ import annotations

from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.describing import Said, applied
from bot.adapters.chat.nest_form import nest_row
from bot.adapters.chat.options import BarrierName, ColonyName, HeaterName, MaterialName, SpeciesName
from bot.adapters.chat.presenters.colony import colony_page


@app_commands.describe(
    colony="Which colony",
    name="A new name",
    species="What it turned out to be",
    workers="How many now, by eye",
    queens="How many now",
    brood="How much brood you see",
    stage="Where it stands, if the number of workers misleads",
    founded="The day it was founded, such as 2026-05-20",
    material="What the nest is made of",
    water_ml="Millilitres you give at one watering",
    barrier="What keeps them in",
    barrier_renewed="The day it was renewed, such as yesterday",
    heater="What warms the nest; none takes it away",
    heater_temperature="Measured at the warm wall, in your units",
)
async def edit(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    name: str | None = None,
    species: SpeciesName | None = None,
    workers: int | None = None,
    queens: int | None = None,
    brood: Literal["none", "few", "some", "many"] | None = None,
    stage: Literal["founding", "first workers", "growing", "mature"] | None = None,
    founded: str | None = None,
    material: MaterialName | None = None,
    water_ml: float | None = None,
    barrier: BarrierName | None = None,
    barrier_renewed: str | None = None,
    heater: HeaterName | None = None,
    heater_temperature: float | None = None,
) -> None:
    """Change a colony."""
    said = Said(
        name=name,
        species=species,
        workers=workers,
        queens=queens,
        brood=brood,
        stage=stage,
        founded=founded,
        material=material,
        water_ml=water_ml,
        barrier=barrier,
        barrier_renewed=barrier_renewed,
        heater=heater,
        heater_temperature=heater_temperature,
    )
    await _change(await meet(interaction), colony, said)


async def _change(contact: Contact, colony: str, said: Said) -> None:
    found = await contact.colony_id(colony)
    units, today = await contact.units_and_today()
    view = await contact.services.colonies.edit(
        contact.keeper_id, found, lambda before: applied(before, said, units, today), contact.now
    )
    await contact.reply(colony_page(view, contact.services.handbook, today), nest_row(found))
