"""`/my data`, `erase`, `import` and `privacy`: a keeper's data are theirs."""

from __future__ import annotations

import discord
from discord import app_commands, ui

from bot.adapters.chat.attachments import received, send_file
from bot.adapters.chat.contact import meet
from bot.adapters.chat.erase_item import EraseButton
from bot.adapters.chat.presenters.own_data import DATA_FILE, data_page, erase_page, imported_page, privacy_page
from bot.services.own_data_reading import LARGEST_ZIP

READ_ME = "Everything of yours that I keep."


async def data(interaction: discord.Interaction) -> None:
    """Everything that is kept, as a file."""
    contact = await meet(interaction)
    packed = await contact.services.own_data.export(contact.keeper_id, contact.now)
    await contact.reply(data_page(packed.left_out))
    await send_file(contact, DATA_FILE, packed.data, READ_ME)


async def erase(interaction: discord.Interaction) -> None:
    """Ask before everything is removed."""
    contact = await meet(interaction)
    await contact.keeper()
    colonies = await contact.services.colonies.of(contact.keeper_id)
    await contact.reply(erase_page(colonies), ui.ActionRow(EraseButton(contact.keeper_id)))


@app_commands.describe(file="The ZIP that /my data gave you, here or on another server of the bot")
async def bring(interaction: discord.Interaction, *, file: discord.Attachment) -> None:
    """Bring an export in."""
    contact = await meet(interaction)
    packed = await received(file, LARGEST_ZIP)
    restored = await contact.services.own_data.import_(contact.keeper_id, packed, contact.now)
    await contact.reply(imported_page(restored))


async def privacy(interaction: discord.Interaction) -> None:
    """What is kept, why, and for how long."""
    contact = await meet(interaction)
    await contact.reply(privacy_page(contact.services.handbook))
