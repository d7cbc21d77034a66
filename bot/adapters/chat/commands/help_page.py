"""`/help`: the next step for whoever asks, and every command out of the list that the platform was given."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Literal

import discord
from discord import app_commands

from bot.adapters.chat.contact import Contact, host, meet
from bot.adapters.chat.presenters.help import Chapter, Told, help_page
from bot.services.records import Door

EXAMPLE = "example"
"""Under this name a command carries the options that show how it is used."""
Registered = app_commands.Command[Any, ..., Any] | app_commands.Group | app_commands.ContextMenu


@app_commands.describe(about="Only these commands")
async def show(
    interaction: discord.Interaction,
    *,
    about: Literal["my", "colony", "care", "culture", "rest", "season"] | None = None,
) -> None:
    """What to do next, and the commands."""
    contact = await meet(interaction)
    chapters = [one for one in chapters_of(host(interaction).tree.get_commands()) if about in {None, one.name}]
    await contact.reply(help_page(await _next_step(contact), chapters))


async def _next_step(contact: Contact) -> int:
    """0: no place yet, 1: no colony yet, 2: reminders cannot reach them, 3: all set."""
    keeper = await contact.services.keepers.find(contact.keeper_id)
    if keeper is None:
        return 0
    if not await contact.services.colonies.of(contact.keeper_id):
        return 1
    return 3 if keeper.reminders_on and keeper.door is Door.OPEN else 2


def chapters_of(commands: Iterable[Registered]) -> list[Chapter]:
    """The commands by families, those without one at the end."""
    chapters: list[Chapter] = []
    single: list[Told] = []
    for command in commands:
        if isinstance(command, app_commands.Group):
            chapters.append(Chapter(command.name, command.description, tuple(_told(command))))
        elif isinstance(command, app_commands.Command):
            single.append(_one(command))
    return [*chapters, Chapter("", "Everything else", tuple(single))] if single else chapters


def _told(group: app_commands.Group) -> Iterator[Told]:
    for command in group.commands:
        if isinstance(command, app_commands.Command):
            yield _one(command)


def _one(command: app_commands.Command[Any, ..., Any]) -> Told:
    return Told(command.qualified_name, command.description, str(command.extras.get(EXAMPLE, "")))
