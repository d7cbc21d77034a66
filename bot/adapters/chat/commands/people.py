"""`/my away`, `/my back`, `/my requests` and `/colony give`: what a keeper arranges with another member."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import discord
from discord import app_commands, ui

from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.layout import CARE, Layout
from bot.adapters.chat.options import ColonyName
from bot.adapters.chat.people_acts import tell
from bot.adapters.chat.people_items import ConfirmButton, Row, offer_row, question_row, stop_row, withdraw_row
from bot.adapters.chat.presenters import people
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import fits
from bot.adapters.chat.reading import read_day
from bot.care.errors import BadValueError
from bot.services.records import ColonyId, KeeperId
from bot.services.sitting_records import SittingState

Person = discord.User | discord.Member
MOST_SHOWN = 8
"""Requests in one message: each takes five of its 40 components (the platform's documentation)."""


@app_commands.describe(
    until="The day you are back, such as 2027-08-14 or in 2 weeks",
    since="The day you leave, if not today",
    sitter="A member who looks after them; I ask for you",
    colony="Only this colony for the sitter, if not all",
    feeders="The sitter looks after your feeder insects too",
)
async def away(
    interaction: discord.Interaction,
    *,
    until: str | None = None,
    since: str | None = None,
    sitter: Person | None = None,
    colony: ColonyName | None = None,
    feeders: bool | None = None,
) -> None:
    """Show or begin an absence, with or without a sitter."""
    contact = await meet(interaction)
    if until is None:
        if (since, sitter, colony, feeders) != (None, None, None, None):
            raise BadValueError("until", "Say `until` too: the day you are back, such as 2027-08-14 or in 2 weeks.")
        await contact.reply(people.away_page(await contact.keeper()))
        return
    today = await contact.today()
    days = (today if since is None else read_day(since, today), read_day(until, today))
    if sitter is not None:
        colonies = () if colony is None else (await contact.colony_id(colony),)
        await _ask(contact, sitter, colonies, days, feeders=feeders is True)
        return
    await contact.reply(people.away_page(await contact.services.absence.leave(contact.keeper_id, days, contact.now)))


async def _ask(
    contact: Contact, sitter: Person, colonies: tuple[ColonyId, ...], days: tuple[date, date], *, feeders: bool
) -> None:
    _check_person(sitter)
    asked = KeeperId(sitter.id)
    view = await contact.services.sitters.ask(contact.keeper_id, asked, colonies, days, contact.now, feeders=feeders)
    await contact.services.absence.leave(contact.keeper_id, days, contact.now)
    reached = await tell(contact, asked, people.question_page(view), question_row(view.sitting.id))
    await contact.reply(people.asked_page(view, reached=reached))


async def back(interaction: discord.Interaction) -> None:
    """Everything is reminded of again."""
    contact = await meet(interaction)
    done = await contact.services.absence.back(contact.keeper_id, contact.now)
    await contact.reply(people.back_page(done))


async def requests(interaction: discord.Interaction) -> None:
    """Questions, agreements and offers, with their buttons."""
    contact = await meet(interaction)
    found = await _requests(contact)
    if not found:
        await contact.reply(Page(title="Nothing asked", blocks=("Nobody asks anything of you, nor you of anybody.",)))
        return
    await contact.show_all([Layout(*boxes) for boxes in _messages(found)])


def _messages(found: Sequence[tuple[str, Row]]) -> Sequence[Sequence[ui.Container[Any]]]:
    """Requests in frames, so many to a message as the platform's limits allow."""
    messages: list[list[tuple[str, Row]]] = [[]]
    for text, row in found:
        if len(messages[-1]) == MOST_SHOWN or not fits(text, *(earlier for earlier, _ in messages[-1])):
            messages.append([])
        messages[-1].append((text, row))
    return [
        [ui.Container(ui.TextDisplay(text), row, accent_colour=CARE) for text, row in inside] for inside in messages
    ]


async def _requests(contact: Contact) -> list[tuple[str, Row]]:
    who = contact.keeper_id
    found: list[tuple[str, Row]] = []
    for view in await contact.services.sitters.of(who, contact.now):
        asked = view.sitting.state is SittingState.ASKED and view.sitting.sitter_id == who
        row = question_row(view.sitting.id) if asked else stop_row(view.sitting, who)
        found.append((people.sitting_line(view, who), row))
    for offer in await contact.services.handover.of(who, contact.now):
        mine = offer.offer.keeper_id == who
        row = withdraw_row(offer.offer.id) if mine else offer_row(offer.offer.id)
        found.append((people.offer_line(offer, who), row))
    return found


@app_commands.describe(colony="Which colony", member="Who shall have it")
async def give(interaction: discord.Interaction, *, colony: ColonyName, member: Person) -> None:
    """Hand a colony over for good; asked once more before anything is offered."""
    contact = await meet(interaction)
    _check_person(member)
    found = await contact.colony_id(colony)
    view = await contact.services.colonies.show(contact.keeper_id, found, contact.now)
    await contact.reply(people.give_page(view.record, member.id), Row(ConfirmButton(found, member.id)))


def _check_person(member: Person) -> None:
    if member.bot:
        raise BadValueError("member", "Name a person, not a bot.")
