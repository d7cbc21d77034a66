"""Files beside answers, in private: pictures with words for those who cannot see them, and files in both directions."""

from __future__ import annotations

from collections.abc import Awaitable, Sequence
from io import BytesIO
from typing import Any

import discord
import structlog
from discord import ui

from bot.adapters.chat.contact import NOBODY, Contact
from bot.adapters.chat.layout import CARE, Layout
from bot.adapters.chat.presenters.text import short
from bot.care.errors import BadValueError
from bot.services.errors import NotSetUpError, NotYoursError
from bot.services.pictures import Picture

log = structlog.get_logger()
ALT = 1_000
"""Most characters of a description of a picture (the platform takes 1,024)."""
NOT_DRAWN = "I could not draw the picture just now. What I wrote stands without it."
LARGEST_SENT = 10_000_000
"""Bytes that the platform takes from a bot anywhere (its documentation of uploads names 10 MiB)."""


async def send_pictures(contact: Contact, drawing: Awaitable[Sequence[Picture]]) -> bool:
    """Draw, and show what was drawn under the answer; the answer stands whatever becomes of the pictures.

    Returns:
        Whether something was said: a picture, or that it could not be drawn.
    """
    try:
        pictures = await drawing
        if pictures:
            await show_pictures(contact, pictures)
    except (NotYoursError, NotSetUpError):
        raise
    except Exception as error:  # noqa: BLE001 - whatever fails here, the words were said already
        log.warning("picture_not_shown", error=type(error).__name__)
        await contact.note(NOT_DRAWN)
        return True
    return bool(pictures)


async def show_pictures(contact: Contact, pictures: Sequence[Picture]) -> None:
    """Pictures under the answer, with words for those who cannot see them."""
    gallery = ui.MediaGallery[Any]()
    files = []
    for number, picture in enumerate(pictures, start=1):
        name = f"picture-{number}.png"
        description = short(picture.alt, ALT)
        gallery.add_item(media=f"attachment://{name}", description=description)
        files.append(discord.File(BytesIO(picture.png), name, description=description))
    await _send(contact, Layout(gallery), files)


async def send_file(contact: Contact, name: str, data: bytes, words: str) -> None:
    """A file under the answer, with a line about it.

    Raises:
        BadValueError: too large for the platform.
    """
    if len(data) > LARGEST_SENT:
        raise BadValueError("file", "The file is larger than I may send here. Ask whoever runs this bot for it.")
    frame = ui.Container[Any](ui.TextDisplay(words), ui.File(f"attachment://{name}"), accent_colour=CARE)
    await _send(contact, Layout(frame), [discord.File(BytesIO(data), name)])


async def _send(contact: Contact, layout: Layout, files: Sequence[discord.File]) -> None:
    await contact.interaction.followup.send(view=layout, files=files, ephemeral=True, allowed_mentions=NOBODY)


async def received(file: discord.Attachment, largest: int) -> bytes:
    """What the keeper attached; its size is looked at before anything is fetched.

    Raises:
        BadValueError: too large, or gone by now.
    """
    if file.size > largest:
        raise BadValueError("file", f"That file is too large: I read up to {largest / 1_000_000:.0f} MB.")
    try:
        return await file.read()
    except discord.HTTPException as error:
        raise BadValueError("file", "I could not fetch that file from the platform. Attach it once more.") from error
