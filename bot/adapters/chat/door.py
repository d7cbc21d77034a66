"""The door to direct messages: opened while the keeper is here, with a first word that shows whether it works."""

from __future__ import annotations

from bot.adapters.chat.contact import Contact, host
from bot.adapters.chat.presenters.keeper import greeting_page
from bot.services.errors import DeliveryError
from bot.services.records import KeeperRecord

CLOSED = (
    "I could not reach you by direct message just now. Allow direct messages from members of a server we share, "
    "then turn reminders on with `/my reminders`; until then `/care due` shows what waits."
)


async def open_door(contact: Contact, keeper: KeeperRecord) -> KeeperRecord:
    """Greet the keeper in their direct messages, and remember the channel.

    Raises:
        DeliveryError: the platform refuses; see `services/errors.py`.
    """
    messenger = host(contact.interaction).messenger
    channel_id = keeper.channel_id or await messenger.open_door(contact.keeper_id)
    await messenger.greet(channel_id, greeting_page(keeper), str(contact.interaction.id))
    return await contact.services.keepers.door_opened(contact.keeper_id, channel_id, contact.now)


async def open_first_door(contact: Contact, keeper: KeeperRecord) -> str | None:
    """At the first colony, if reminders are on and no channel is known; returns what to say when the door is closed."""
    if not keeper.reminders_on or keeper.channel_id is not None:
        return None
    try:
        await open_door(contact, keeper)
    except DeliveryError:
        return CLOSED
    return None
