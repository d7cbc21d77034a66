"""The door to direct messages: opened while the keeper is here, with a first word that shows whether it works."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from discord import ui

from bot.adapters.chat.contact import Contact, host
from bot.adapters.chat.due_item import DueButton
from bot.adapters.chat.presenters.keeper import greeting_page
from bot.care.caution_limits import select
from bot.care.cautions import Caution, Severity
from bot.care.duty import Duty
from bot.services.colonies import ColonyView
from bot.services.errors import DeliveryError
from bot.services.records import KeeperRecord

CLOSED = (
    "I could not reach you by direct message just now. Allow direct messages from members of a server we share, "
    "then turn reminders on with `/my reminders`; until then `/care due` shows what waits."
)


async def open_door(
    contact: Contact,
    keeper: KeeperRecord,
    colony: str = "",
    today: Sequence[Duty] = (),
    dangers: tuple[Caution, ...] = (),
) -> KeeperRecord:
    """Greet the keeper in their direct messages, with what a first colony needs today, and remember the channel.

    What is dangerous in that care stands before it.

    Raises:
        DeliveryError: the platform refuses; see `services/errors.py`.
    """
    messenger = host(contact.interaction).messenger
    channel_id = keeper.channel_id or await messenger.open_door(contact.keeper_id)
    row = [ui.ActionRow[Any](DueButton())] if today else []
    await messenger.greet(channel_id, greeting_page(keeper, colony, today, dangers), str(contact.interaction.id), *row)
    return await contact.services.keepers.door_opened(contact.keeper_id, channel_id, contact.now)


async def open_first_door(contact: Contact, view: ColonyView, today: date) -> str | None:
    """At the first colony, if reminders are on and no channel is known; returns what to say when the door is closed.

    The first word is a useful one: what is due today, and the button to answer it.
    """
    keeper = view.keeper
    if not keeper.reminders_on or keeper.channel_id is not None:
        return None
    try:
        due = [found for found in view.plan.occurrences if found.day <= today]
        ids = [name for found in due for name in found.cautions]
        warned = select(ids, contact.services.handbook, {}, today, keeper.mute_notes)
        dangers = tuple(caution for caution in warned if caution.severity is Severity.DANGER)
        duties = list(dict.fromkeys(found.duty for found in due))
        await open_door(contact, keeper, view.record.colony.name, duties, dangers)
    except DeliveryError:
        return CLOSED
    return None
