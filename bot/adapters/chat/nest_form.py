"""The nest in five fields: kinder as a form than as options of a command."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.contact import Contact, host, pressed
from bot.adapters.chat.describing import read_number, with_nest
from bot.adapters.chat.errors import answer_error
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.colony import colony_page
from bot.adapters.chat.presenters.text import LABEL, OPTION, short
from bot.care.colony import Colony, Nest
from bot.care.goods import Material
from bot.services.records import ColonyId, KeeperId

MOST_OPTIONS = 25
TITLE = 45


class NestButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.NEST):
    """Opens the form."""

    def __init__(self, colony: int) -> None:
        button = ui.Button[ui.LayoutView](
            label=short("Describe the nest", LABEL),
            style=discord.ButtonStyle.secondary,
            custom_id=f"wb:nest:{colony}",
        )
        super().__init__(button)
        self.colony = ColonyId(colony)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show the form with what is known; a form must be the first answer, so nothing is deferred."""
        try:
            services = host(interaction).services
            keeper_id = KeeperId(interaction.user.id)
            view = await services.colonies.show(keeper_id, self.colony, services.clock.now())
            form = NestForm(self.colony, view.record.colony, list(services.handbook.materials.values()))
            await interaction.response.send_modal(form)
        except Exception as error:  # noqa: BLE001 - every error gets its sentence or its number
            await answer_error(interaction, error)


class NestForm(ui.Modal):
    """Material, water, wetted area, openness, room."""

    def __init__(self, colony_id: ColonyId, colony: Colony, materials: list[Material]) -> None:
        super().__init__(title=short(f"The nest of {colony.name}", TITLE), timeout=900)
        self.colony_id = colony_id
        nest = colony.nest
        self.material = ui.Select[Self](
            placeholder="What it is made of",
            options=[_option(found, nest) for found in materials[:MOST_OPTIONS]],
            required=False,
        )
        self.water = _field(nest.water_ml)
        self.wetted = _field(nest.wetted_cm2)
        self.openness = _field(nest.openness)
        self.volume = _field(nest.volume_cm3)
        self.add_item(ui.Label(text="Material", component=self.material))
        self.add_item(_label("Water", "ml given to one side at a watering", self.water))
        self.add_item(_label("Wetted area", "cm² of the side that gets the water", self.wetted))
        self.add_item(_label("Openness", "share of it open to the air: 0.02 (closed) to 1 (bare)", self.openness))
        self.add_item(_label("Room", "cm³ inside the chambers", self.volume))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Keep what was said."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        said = {
            "water_ml": read_number("water", self.water.value),
            "wetted_cm2": read_number("wetted area", self.wetted.value),
            "openness": read_number("openness", self.openness.value),
            "volume_cm3": read_number("room", self.volume.value),
        }
        material = self.material.values[0] if self.material.values else None

        def change(colony: Colony) -> Colony:
            return replace(colony, nest=with_nest(colony.nest, material=material, **said))

        services = contact.services
        view = await services.colonies.edit(contact.keeper_id, self.colony_id, change, contact.now)
        page = colony_page(view, services.handbook, view.today)
        await contact.show_all(page_layouts(page, nest_row(self.colony_id)))


def nest_row(colony_id: int) -> ui.ActionRow[Any]:
    """The button that opens the form."""
    return ui.ActionRow(NestButton(colony_id))


def _option(material: Material, nest: Nest) -> discord.SelectOption:
    return discord.SelectOption(
        label=short(material.name, OPTION), value=material.id, default=material.id == nest.material
    )


def _field(value: float | None) -> ui.TextInput[Any]:
    return ui.TextInput(default="" if value is None else f"{value:g}", required=False, max_length=12)


def _label(text: str, description: str, field: ui.TextInput[Any]) -> ui.Label[Any]:
    return ui.Label(text=text, description=description, component=field)
