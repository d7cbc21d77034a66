"""`/my reminders`: whether and when; asking for them opens the door to direct messages with a first word."""

from __future__ import annotations

import discord
from discord import app_commands

from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.door import open_door
from bot.adapters.chat.presenters.keeper import reminders_page
from bot.adapters.chat.reading import read_day, read_time
from bot.care.localtime import local_day
from bot.services.keepers import ReminderChanges
from bot.services.records import KeeperRecord


@app_commands.describe(
    on="Write to me by direct message, or not at all",
    at="Hour of the daily message, such as 18:30",
    quiet_from="Start of the hours without messages, such as 22:00",
    quiet_until="End of the hours without messages, such as 7:00",
    small_notes="Show small notes beside dangers and warnings",
    away_until="The day you are back, such as 2027-08-14 or in 2 weeks; only water until then",
    back="You are back: everything is reminded of again",
)
async def reminders(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    on: bool | None = None,
    at: str | None = None,
    quiet_from: str | None = None,
    quiet_until: str | None = None,
    small_notes: bool | None = None,
    away_until: str | None = None,
    back: bool = False,
) -> None:
    """Show or change reminders."""
    contact = await meet(interaction)
    today = await contact.today()
    changes = ReminderChanges(
        on=on,
        digest_at=None if at is None else read_time(at),
        quiet_from=None if quiet_from is None else read_time(quiet_from),
        quiet_until=None if quiet_until is None else read_time(quiet_until),
        mute_notes=None if small_notes is None else not small_notes,
        away_until=None if away_until is None else read_day(away_until, today),
        back=back,
    )
    keeper = await _kept(contact, changes)
    if on:
        keeper = await open_door(contact, keeper)
    await contact.reply(reminders_page(keeper, local_day(contact.now, keeper.settings.zone)))


async def _kept(contact: Contact, changes: ReminderChanges) -> KeeperRecord:
    if changes == ReminderChanges():
        return await contact.keeper()
    return await contact.services.keepers.set_reminders(contact.keeper_id, changes, contact.now)
