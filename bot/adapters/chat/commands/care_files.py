"""`/care calendar` and `/care logger`: the plan as a file to take along, and a logger's file to learn from."""

from __future__ import annotations

from typing import Any, Literal

import discord
from discord import app_commands, ui

from bot.adapters.chat.attachments import received, send_file, send_pictures
from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.logger_item import ForgetButton, KeepButton
from bot.adapters.chat.options import ColonyName, ZoneName
from bot.adapters.chat.presenters.choices import canonical_zone
from bot.adapters.chat.presenters.files import CALENDAR_FILE, SPOT, calendar_page, logger_page, no_readings_page
from bot.care.errors import BadValueError
from bot.services.logger_reading import LARGEST_FILE, Hints
from bot.services.records import ColonyId

WHERE = {words: spot for spot, words in SPOT.items()}
Where = Literal["in the room", "at the warm wall", "in the nest", "in the outworld", "in the place of rest"]


async def calendar(interaction: discord.Interaction) -> None:
    """The coming months for any calendar program."""
    contact = await meet(interaction)
    data, colonies = await contact.services.calendars.file(contact.keeper_id, contact.now)
    await contact.reply(calendar_page(colonies))
    if colonies:
        await send_file(contact, CALENDAR_FILE, data, "Your plan for a calendar program.")


@app_commands.describe(
    colony="Of which colony",
    where="Where the logger lay: each spot is used for what it is",
    file="A CSV file with a column for the time and one for temperature or humidity; none: what I kept",
    dates="If the file writes 3/4: is that the 3rd of April, or the 4th of March?",
    scale="If the file does not name its scale",
    zone="If its clock was not yours",
)
async def logger(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    where: Where | None = None,
    file: discord.Attachment | None = None,
    dates: Literal["day first", "month first"] | None = None,
    scale: Literal["C", "F"] | None = None,
    zone: ZoneName | None = None,
) -> None:
    """Read a logger's file, show how it was read, and offer to keep what it says."""
    contact = await meet(interaction)
    services = contact.services
    found = await contact.colony_id(colony)
    kept = await services.colonies.show(contact.keeper_id, found, contact.now)
    if file is None:
        await _show_kept(contact, found, kept.record.colony.name)
        return
    if where is None:
        raise BadValueError(
            "where", "Say where the logger lay: a warm wall must not stand for the room. Choose `where`."
        )
    hints = Hints(
        day_first=None if dates is None else dates == "day first",
        fahrenheit=None if scale is None else scale == "F",
        zone=None if zone is None else services.zones.get(canonical_zone(services.zones, zone)),
    )
    data = await received(file, LARGEST_FILE)
    view = await services.loggers.look(contact.keeper_id, found, WHERE[where], data, contact.now, hints)
    await contact.reply(logger_page(view), ui.ActionRow[Any](KeepButton(found)))
    await send_pictures(contact, services.pictures.logger(view))


async def _show_kept(contact: Contact, colony_id: ColonyId, name: str) -> None:
    """What was kept of a colony, spot by spot; the buttons stand under the last."""
    views = await contact.services.loggers.history(contact.keeper_id, colony_id, contact.now)
    if not views:
        await contact.reply(no_readings_page(name))
        return
    pages = [logger_page(view) for view in views]
    layouts = [layout for page in pages[:-1] for layout in page_layouts(page)]
    await contact.show_all([*layouts, *page_layouts(pages[-1], ui.ActionRow[Any](ForgetButton(colony_id)))])
    for view in views:
        await send_pictures(contact, contact.services.pictures.logger(view))
