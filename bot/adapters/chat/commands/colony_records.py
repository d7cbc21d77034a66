"""`/colony history`, `note`, `census` and `seen`: what a colony's book holds, and what is added to it by hand."""

from __future__ import annotations

from datetime import date
from typing import Literal

import discord
from discord import app_commands

from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.history_item import ALL, history_layouts
from bot.adapters.chat.options import Care, ColonyName, hints
from bot.adapters.chat.presenters.history import census_page, observed_page
from bot.adapters.chat.reading import read_day
from bot.care.checks import NOTE_LIMIT
from bot.care.colony import LogEntry, Side
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.records import ColonyId

Lines = Literal["seen", Care]
"""What was seen or noted, or one kind of care."""
SIGHT = {
    "eggs": Outcome.EGGS,
    "pupae": Outcome.PUPAE,
    "alates": Outcome.ALATES,
    "deaths": Outcome.DEATHS,
    "mould": Outcome.MOULD,
    "mites": Outcome.MITES,
    "awake": Outcome.AWAKE,
    "clustered": Outcome.CLUSTERED,
}
COMPARED = {"more": Outcome.MORE, "fewer": Outcome.FEWER, "same": Outcome.SAME}
ONE_OF_BOTH = "Give a number of workers, or how they compare with last time: one of the two."


@app_commands.describe(colony="Which colony, also one you closed", only="Only these lines", page="1 is the newest")
async def history(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    only: Lines | None = None,
    page: app_commands.Range[int, 1, 9999] = 1,
) -> None:
    """What is written down, page by page."""
    contact = await meet(interaction)
    found = await _with_closed(contact, colony)
    await contact.show_all(await history_layouts(contact, found, only or ALL, page))


@hints("colony", "day", text="Anything worth remembering; no addresses or health matters")
async def note(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    text: app_commands.Range[str, 1, NOTE_LIMIT],
    day: str = "today",
) -> None:
    """Write a note into a colony's history."""
    contact = await meet(interaction)
    when = await _day(contact, day)
    await _observe(contact, colony, LogEntry(day=when, duty=Duty.SPACE, outcome=Outcome.NOTED, note=text))


@hints("colony", "day", workers="How many, by eye", compared="Or only how they compare with last time")
async def census(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    workers: app_commands.Range[int, 0, 20_000_000] | None = None,
    compared: Literal["more", "fewer", "same"] | None = None,
    day: str = "today",
) -> None:
    """Write down a count."""
    contact = await meet(interaction)
    if (workers is None) == (compared is None):
        raise BadValueError("workers", ONE_OF_BOTH)
    found = await contact.colony_id(colony)
    view = await contact.services.colonies.show(contact.keeper_id, found, contact.now)
    outcome = Outcome.DONE if compared is None else COMPARED[compared]
    entry = LogEntry(day=await _day(contact, day), duty=Duty.CENSUS, outcome=outcome, count=workers)
    recorded = await contact.services.acknowledgement.record(contact.keeper_id, found, entry, contact.now)
    await contact.reply(census_page(recorded, view.record.colony.workers))


@hints(
    "colony",
    "note",
    "day",
    what="What you saw",
    number="How many, for dead ants",
    side="Which side of the nest, for mould",
)
async def seen(
    interaction: discord.Interaction,
    *,
    colony: ColonyName,
    what: Literal["eggs", "pupae", "alates", "deaths", "mould", "mites", "awake", "clustered"],
    number: app_commands.Range[int, 1, 20_000_000] | None = None,
    side: Literal["A", "B"] | None = None,
    note: app_commands.Range[str, 1, NOTE_LIMIT] | None = None,
    day: str = "today",
) -> None:
    """Write down what was seen."""
    contact = await meet(interaction)
    entry = LogEntry(
        day=await _day(contact, day),
        duty=Duty.SPACE,
        outcome=SIGHT[what],
        side=None if side is None else Side(side),
        count=number,
        note=note,
    )
    await _observe(contact, colony, entry)


async def _day(contact: Contact, said: str) -> date:
    return read_day(said, await contact.today())


async def _observe(contact: Contact, colony: str, entry: LogEntry) -> None:
    found = await contact.colony_id(colony)
    observed = await contact.services.history.observe(contact.keeper_id, found, entry, contact.now)
    await contact.reply(observed_page(observed, contact.services.handbook.foods))


async def _with_closed(contact: Contact, said: str) -> ColonyId:
    """A colony by name, kept ones first; the history of a closed one stays."""
    wanted = " ".join(said.split()).casefold()
    for record in await contact.services.history.of(contact.keeper_id):
        if wanted == record.colony.name.casefold():
            return record.id
    return await contact.colony_id(said)
