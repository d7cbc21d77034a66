"""`/my place`: where the keeper is, what the room is like, which units are read."""

from __future__ import annotations

from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.options import CountryName, ZoneName
from bot.adapters.chat.presenters.choices import canonical_zone
from bot.adapters.chat.presenters.keeper import place_page
from bot.care.units import Units, celsius
from bot.services.keepers import PlaceChanges
from bot.services.records import KeeperRecord


@app_commands.describe(
    zone="Your time zone, such as Europe/Vienna; its town tells the latitude",
    latitude="Degrees, north positive, south negative; only if your zone's town is far away",
    country="Where you keep your ants, for local rules",
    temperature="Room temperature in the warm season",
    winter_temperature="Room temperature in the cold season, where it differs",
    humidity="Relative humidity of the room in percent",
    units="Degrees Celsius or Fahrenheit, for what you type and read",
)
async def place(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    zone: ZoneName | None = None,
    latitude: float | None = None,
    country: CountryName | None = None,
    temperature: float | None = None,
    winter_temperature: float | None = None,
    humidity: float | None = None,
    units: Literal["C", "F"] | None = None,
) -> None:
    """Show or change the place."""
    contact = await meet(interaction)
    scale = await _scale(contact, units)
    changes = PlaceChanges(
        zone_name=None if zone is None else canonical_zone(contact.services.zones, zone),
        latitude=latitude,
        country=country,
        temperature_c=None if temperature is None else celsius(temperature, scale),
        winter_temperature_c=None if winter_temperature is None else celsius(winter_temperature, scale),
        humidity_percent=humidity,
        units=None if units is None else Units(units),
    )
    await _show(contact, await _kept(contact, changes))


async def _scale(contact: Contact, chosen: str | None) -> Units:
    """The scale of the numbers in this very command."""
    if chosen is not None:
        return Units(chosen)
    known = await contact.services.keepers.find(contact.keeper_id)
    return Units.CELSIUS if known is None else known.settings.units


async def _kept(contact: Contact, changes: PlaceChanges) -> KeeperRecord:
    """With nothing to change it only looks."""
    if changes == PlaceChanges():
        return await contact.keeper()
    return await contact.services.keepers.set_place(contact.keeper_id, changes, contact.now)


async def _show(contact: Contact, keeper: KeeperRecord) -> None:
    mine = await contact.services.colonies.of(contact.keeper_id)
    await contact.reply(place_page(keeper, contact.services.handbook, colonies=len(mine)))
