"""One contact with a keeper: deferred, admitted by the gate, welcomed back, and answered in private."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Protocol, cast

import discord
from discord import app_commands, ui

from bot.adapters.chat.errors import answer_error
from bot.adapters.chat.gate import Gate
from bot.adapters.chat.layout import Layout, page_layouts
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.services import ChatServices
from bot.care.errors import BadValueError
from bot.care.localtime import local_day
from bot.care.units import Units
from bot.services.access import bare
from bot.services.errors import RecordsError
from bot.services.records import ColonyId, CultureId, Door, KeeperId, KeeperRecord

NOBODY = discord.AllowedMentions.none()
WELCOME_BACK = (
    "Your direct messages were closed to me, so reminders rested. I try again from now on; `/my reminders` shows how."
)
REGISTERS = "`/colony add` registers one"
MOST_LISTED = 10
"""Names that are listed where none of them was meant."""


class Doorman(Protocol):
    """What commands need of direct messages."""

    async def open_door(self, keeper_id: KeeperId) -> int:
        """Open the channel and return its id."""
        ...

    async def greet(self, channel_id: int, page: Page, nonce: str, *more: ui.Item[Any], quiet: bool = False) -> None:
        """Say something of ours in the channel, once for each nonce; `more` (a row of buttons) stands under it.

        `quiet` says it without a sound.
        """
        ...


class Host(Protocol):
    """What the client carries for its commands and buttons."""

    services: ChatServices
    gate: Gate
    tree: app_commands.CommandTree[Any]

    @property
    def messenger(self) -> Doorman:
        """Direct messages."""
        ...


@dataclass(frozen=True, slots=True)
class Contact:
    """Who asks, when, and everything to answer with."""

    interaction: discord.Interaction
    services: ChatServices
    keeper_id: KeeperId
    now: datetime
    door: Door | None = None
    """The state of a door that was closed until this contact."""

    async def keeper(self) -> KeeperRecord:
        """The asker's settings.

        Raises:
            NotSetUpError.
        """
        return await self.services.keepers.get(self.keeper_id)

    async def today(self) -> date:
        """The asker's local day.

        Raises:
            NotSetUpError.
        """
        return (await self.units_and_today())[1]

    async def units_and_today(self) -> tuple[Units, date]:
        """The asker's units and local day.

        Raises:
            NotSetUpError.
        """
        settings = (await self.keeper()).settings
        return settings.units, local_day(self.now, settings.zone)

    async def colony_id(self, said: str) -> ColonyId:
        """A colony by the name the keeper typed or the id behind a choice; the services check whose it is.

        Raises:
            BadValueError: no such name.
        """
        names = await self.services.colonies.names(self.keeper_id)
        return ColonyId(_called(said, names, "colony", REGISTERS))

    async def cared_id(self, said: str) -> ColonyId:
        """As `colony_id`, also of a colony that the asker sits for now; their own come first.

        Raises:
            BadValueError: no such name.
        """
        names = await self.services.acknowledgement.names(self.keeper_id, self.now)
        return ColonyId(_called(said, names, "colony", REGISTERS))

    async def culture_id(self, said: str) -> CultureId:
        """A feeder culture by the name the keeper typed or the id behind a choice; the services check whose it is.

        Raises:
            BadValueError: no such name.
        """
        mine = await self.services.cultures.names(self.keeper_id)
        names = {record.id: record.culture.name for record in mine}
        return CultureId(_called(said, names, "culture", "`/culture add` begins one"))

    async def reply(self, page: Page, *more: ui.Item[Any]) -> None:
        """Answer in private, in as many messages as the platform needs."""
        await self.show_all(page_layouts(page, *more))

    async def show_all(self, layouts: Sequence[Layout]) -> None:
        """The first layout becomes the answer, the others follow it."""
        await self.show(layouts[0])
        for layout in layouts[1:]:
            await self.interaction.followup.send(view=layout, ephemeral=True, allowed_mentions=NOBODY)
        if self.interaction.type is discord.InteractionType.application_command:
            await self.welcome_back()

    async def show(self, layout: Layout, files: Sequence[discord.File] | None = None) -> None:
        """Put a layout into the answer, or into the message whose button was pressed; files replace those of it."""
        await self.interaction.edit_original_response(
            view=layout, attachments=discord.utils.MISSING if files is None else files, allowed_mentions=NOBODY
        )

    async def note(self, text: str) -> None:
        """A quiet word of ours beside the answer."""
        layout = page_layouts(Page(title="Noted", blocks=(text,)))[0]
        await self.interaction.followup.send(view=layout, ephemeral=True, allowed_mentions=NOBODY)

    async def welcome_back(self) -> None:
        """Tell a keeper whose door was closed until now; presses are followed by it in `pressed`."""
        if self.door is not None:
            await self.note(WELCOME_BACK)


def _called(said: str, names: Mapping[ColonyId, str] | Mapping[CultureId, str], what: str, first: str) -> int:
    """Which is meant, by its name or the id behind a choice; `first` says how there comes to be one."""
    wanted = " ".join(said.split()).casefold()
    for shown in (lambda name: name, bare):
        for key, name in names.items():
            if wanted in {shown(name).casefold(), str(key)}:
                return key
    if wanted.isascii() and wanted.isdigit() and len(wanted) < 19:
        return int(wanted)
    hint = f"yours are: {', '.join(list(names.values())[:MOST_LISTED])}" if names else f"you have none yet; {first}"
    raise BadValueError(what, f"You have no {what} called “{said[:40]}”; {hint}.")


def host(interaction: discord.Interaction) -> Host:
    """The client, as its commands see it."""
    return cast("Host", interaction.client)


async def meet(interaction: discord.Interaction, *, privately: bool = False) -> Contact:
    """Begin to answer: defer at once, since a store is touched; then count, and welcome back.

    Args:
        interaction: what was asked.
        privately: a press is answered beside the message, for its asker alone, instead of by editing the message.

    Raises:
        TooFastError.
    """
    if interaction.type is discord.InteractionType.application_command:
        await interaction.response.defer(ephemeral=True)
    elif privately:
        await interaction.response.defer(ephemeral=True, thinking=True)
    else:
        await interaction.response.defer()
    found = host(interaction)
    now = found.services.clock.now()
    found.gate.admit(interaction.user.id, now, interaction.guild_id)
    keeper_id = KeeperId(interaction.user.id)
    try:
        door = await found.services.keepers.came_back(keeper_id, now)
    except RecordsError:
        door = None  # whoever needs the records says so; an answer to a question does not
    return Contact(interaction, found.services, keeper_id, now, door)


async def pressed(
    interaction: discord.Interaction, work: Callable[[Contact], Awaitable[None]], *, privately: bool = False
) -> None:
    """Do what a button or form asks for; the library would only log what goes wrong there, so it is answered here."""
    try:
        contact = await meet(interaction, privately=privately)
        await work(contact)
        await contact.welcome_back()
    except Exception as error:  # noqa: BLE001 - every error gets its sentence or its number
        await answer_error(interaction, error)
