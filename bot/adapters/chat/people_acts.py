"""What happens between members when somebody presses or asks: one use case, an answer, and a word to the other side.

A question or offer goes to the other side at once, but only if they let me write to them already: nobody is written to
for the first time because somebody else asked; what could not be told stands in `/my requests`. An answer is written
down with what it decides, and is delivered like any reminder.
"""

from __future__ import annotations

from typing import Any

from discord import ui

from bot.adapters.chat.contact import Contact, host
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters import people
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import joined, shown
from bot.services.errors import DeliveryError
from bot.services.handover import OfferView
from bot.services.records import Door, KeeperId
from bot.services.sitting_records import OfferId, SittingId

MOST_NAMED = 10


async def tell(contact: Contact, keeper_id: KeeperId, page: Page, *more: ui.Item[Any]) -> bool:
    """A word to another member, if their door is known to be open; returns whether it arrived.

    It comes at once, for somebody waits for the answer; in the reader's quiet hours without a sound.
    """
    other = await contact.services.keepers.find(keeper_id)
    if other is None or not other.reminders_on or other.channel_id is None or other.door in {Door.REFUSED, Door.GONE}:
        return False
    nonce, messenger = str(contact.interaction.id), host(contact.interaction).messenger
    quiet = other.settings.quiet.next_allowed(contact.now, other.settings.zone) > contact.now
    try:
        await messenger.greet(other.channel_id, page, nonce, *more, quiet=quiet)
    except DeliveryError:
        return False
    return True


async def back(contact: Contact) -> None:
    """“I am back”."""
    done = await contact.services.absence.back(contact.keeper_id, contact.now)
    await contact.note(" ".join(people.back_page(done).blocks))


async def waiting(contact: Contact) -> None:
    """What waits now, in a sentence."""
    view = await contact.services.care_views.due(contact.keeper_id, contact.now)
    names = list(dict.fromkeys(shown(line.colony_name) for line in view.lines))[:MOST_NAMED]
    count = len(view.lines)
    said = f"{count} thing{'s' if count > 1 else ''} for {joined(names)}: `/care due`." if count else "Nothing waits."
    await contact.note(said)


async def accept_sitting(contact: Contact, sitting: SittingId) -> None:
    """The member sits."""
    view = await contact.services.sitters.accept(contact.keeper_id, sitting, contact.now)
    await contact.show_all(page_layouts(people.accepted_page(view)))


async def decline_sitting(contact: Contact, sitting: SittingId) -> None:
    """The member would rather not."""
    await contact.services.sitters.decline(contact.keeper_id, sitting, contact.now)
    await contact.show_all(page_layouts(people.declined_page()))


async def stop_sitting(contact: Contact, sitting: SittingId) -> None:
    """Either side ends it."""
    who = contact.keeper_id
    view = await contact.services.sitters.stop(who, sitting, contact.now)
    await contact.show_all(page_layouts(people.stopped_page(view, who)))


async def offered(contact: Contact, view: OfferView, answers: ui.Item[Any]) -> None:
    """The colony was offered; `answers` are the buttons of the other side."""
    reached = await tell(contact, view.offer.to_id, people.offer_page(view), answers)
    await contact.show_all(page_layouts(people.offered_page(view, reached=reached)))


async def accept_offer(contact: Contact, offer: OfferId) -> None:
    """The member takes the colony."""
    moved = await contact.services.handover.accept(contact.keeper_id, offer, contact.now)
    await contact.show_all(page_layouts(people.moved_page(moved)))


async def refuse_offer(contact: Contact, offer: OfferId) -> None:
    """Either side does not want it after all."""
    await contact.services.handover.refuse(contact.keeper_id, offer, contact.now)
    await contact.show_all(page_layouts(people.refused_page()))
