"""`/care calendar` and `/care logger`: the plan as a file to take along, and a logger's file to learn from."""

from __future__ import annotations

from typing import Any, Literal

import discord
from discord import app_commands, ui

from bot.adapters.chat.attachments import received, send_file, send_pictures
from bot.adapters.chat.contact import meet
from bot.adapters.chat.logger_item import KeepButton
from bot.adapters.chat.options import ColonyName, ZoneName
from bot.adapters.chat.presenters.choices import canonical_zone
from bot.adapters.chat.presenters.files import CALENDAR_FILE, calendar_page, logger_page
from bot.services.logger_reading import LARGEST_FILE, Hints


async def calendar(interaction: discord.Interaction) -> None:
    """The coming months for any calendar program."""
    contact = await meet(interaction)
    data, colonies = await contact.services.calendars.file(contact.keeper_id, contact.now)
    await contact.reply(calendar_page(colonies))
    if colonies:
        await send_file(contact, CALENDAR_FILE, data, "Your plan for a calendar program.")


@app_commands.describe(
    colony="Whose nest, room or place of rest was measured",
    file="A CSV file with a column for the time and one for temperature or humidity",
    dates="If the file writes 3/4: is that the 3rd of April, or the 4th of March?",
    scale="If the file does not name its scale",
    zone="If its clock was not yours",
)
async def logger(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    file: discord.Attachment,
    dates: Literal["day first", "month first"] | None = None,
    scale: Literal["C", "F"] | None = None,
    zone: ZoneName | None = None,
) -> None:
    """Read a logger's file, show how it was read, and offer to keep what it says."""
    contact = await meet(interaction)
    services = contact.services
    found = await contact.colony_id(colony)
    await services.colonies.show(contact.keeper_id, found, contact.now)
    hints = Hints(
        day_first=None if dates is None else dates == "day first",
        fahrenheit=None if scale is None else scale == "F",
        zone=None if zone is None else services.zones.get(canonical_zone(services.zones, zone)),
    )
    data = await received(file, LARGEST_FILE)
    view = await services.loggers.look(contact.keeper_id, found, data, contact.now, hints)
    buttons: list[ui.ActionRow[Any]] = []
    if not view.measured.empty:
        buttons.append(ui.ActionRow(KeepButton.of(found, view.measured)))
    await contact.reply(logger_page(view), *buttons)
    await send_pictures(contact, services.pictures.logger(view))
