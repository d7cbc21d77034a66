"""`/care fed`, `watered` and `upkeep`: what was done without a reminder, or before one came."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import partial
from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.answering import Message, board_now
from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.marks import SHOWN
from bot.adapters.chat.options import CaredName, FoodName, Upkeep, hints
from bot.adapters.chat.presenters.board import Fixed
from bot.adapters.chat.presenters.care import recorded_heading
from bot.adapters.chat.reading import read_day
from bot.care.colony import Colony, LogEntry, NestKind, Side
from bot.care.duty import Duty, Outcome
from bot.care.errors import UnknownNameError
from bot.care.goods import Food, FoodKind
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.services.access import Hands
from bot.services.acknowledgement import Recorded, Telling
from bot.services.records import ColonyId

DUTY_OF = {
    FoodKind.SUGAR: Duty.SUGAR,
    FoodKind.PREY: Duty.PROTEIN,
    FoodKind.SEEDS: Duty.SEEDS,
    FoodKind.LEAVES: Duty.LEAVES,
}


@hints(
    "colony",
    "day",
    food="What you gave",
    taken="What they had taken, if you know already",
)
async def fed(
    interaction: discord.Interaction,
    *,
    colony: CaredName,
    food: FoodName,
    taken: Literal["taken", "half taken", "refused", "gone quickly"] | None = None,
    day: str = "today",
) -> None:
    """Write down a feeding."""
    contact = await meet(interaction)
    given, found = _food(contact.services.handbook, food), await contact.cared_id(colony)

    def entry(hands: Hands, outcome: Outcome = Outcome.DONE) -> LogEntry:
        return LogEntry(day=_day(contact, hands, day), duty=DUTY_OF[given.kind], outcome=outcome, food=given.id)

    recorded = await _record(contact, found, entry)
    if taken is not None:
        seen = await _record(contact, found, partial(entry, outcome=Outcome(taken)))
        recorded = replace(seen, occurrence_id=None)
    await _show(contact, recorded)


@hints(
    "colony",
    "day",
    found="How the other side was when you came",
    side="Which side you watered; the other one than last time if you say nothing",
)
async def watered(
    interaction: discord.Interaction,
    *,
    colony: CaredName,
    found: Literal["still damp", "about dry", "bone dry"] | None = None,
    side: Literal["A", "B"] | None = None,
    day: str = "today",
) -> None:
    """Write down a watering."""
    contact = await meet(interaction)

    def entry(hands: Hands) -> LogEntry:
        return LogEntry(
            day=_day(contact, hands, day),
            duty=Duty.WATER,
            outcome=Outcome.DONE if found is None else Outcome(found),
            side=_side(hands.colony.colony, side),
        )

    await _show(contact, await _record(contact, await contact.cared_id(colony), entry))


@hints(
    "colony",
    "day",
    "note",
    what="What you did",
    found="What you found",
    workers="How many you counted, for a head count",
)
async def upkeep(
    interaction: discord.Interaction,
    *,
    colony: CaredName,
    what: Upkeep,
    found: Literal["done", "ok", "worn", "not needed", "awake", "mould", "pupae present"] = "done",
    day: str = "today",
    workers: int | None = None,
    note: app_commands.Range[str, 1, 500] | None = None,
) -> None:
    """Write down other care."""
    contact = await meet(interaction)

    def entry(hands: Hands) -> LogEntry:
        when = _day(contact, hands, day)
        return LogEntry(day=when, duty=Duty(what), outcome=Outcome(found), count=workers, note=note)

    await _show(contact, await _record(contact, await contact.cared_id(colony), entry))


def _food(handbook: Handbook, said: str) -> Food:
    wanted = said.casefold()
    for key, food in handbook.foods.items():
        if wanted in {key.casefold(), food.name.casefold()}:
            return food
    names = tuple(food.name for food in handbook.foods.values() if wanted[:4] in food.name.casefold())
    raise UnknownNameError("food", said, names[:3])


def _side(colony: Colony, said: str | None) -> Side | None:
    if said is not None:
        return Side(said)
    return None if colony.nest.kind is NestKind.TUBE else colony.nest.watered_side.other


def _day(contact: Contact, hands: Hands, said: str) -> date:
    """A day of the colony's own place, where a sitter may be hours away."""
    return read_day(said, local_day(contact.now, hands.owner.settings.zone))


async def _record(contact: Contact, colony_id: ColonyId, entry: Telling) -> Recorded:
    return await contact.services.acknowledgement.record(contact.keeper_id, colony_id, entry, contact.now)


async def _show(contact: Contact, recorded: Recorded) -> None:
    """What was written down; where it answered an open line, with its question and the way back."""
    seen = () if recorded.occurrence_id is None else (recorded.occurrence_id,)
    message = Message(scope=SHOWN, fixed=Fixed(heading=recorded_heading(recorded)), seen=seen)
    await contact.show_all([board_layout(await board_now(contact, message))])
