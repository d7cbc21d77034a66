"""`/culture add`, `show`, `done` and `remove`: the feeder insects that a keeper breeds."""

from __future__ import annotations

import discord
from discord import app_commands

from bot.adapters.chat.contact import meet
from bot.adapters.chat.options import CultureName, FeederName
from bot.adapters.chat.presenters import culture as pages
from bot.adapters.chat.reading import read_day
from bot.care.culture import MOST_ANIMALS, Culture, CultureEntry, CultureEvent
from bot.care.units import celsius
from bot.services.errors import NotYoursError

Animals = app_commands.Range[int, 0, MOST_ANIMALS]


@app_commands.describe(
    kind="Which insects",
    name="What you call it; the kind if you say nothing",
    started="When eggs or young ones went in, such as 2027-05-20 or yesterday",
    animals="How many live in it, roughly",
    temperature="Measured at the culture, in your units; the room's if you say nothing",
)
async def add(
    interaction: discord.Interaction,
    *,
    kind: FeederName,
    name: str | None = None,
    started: str | None = None,
    animals: Animals | None = None,
    temperature: float | None = None,
) -> None:
    """Begin to remember a culture."""
    contact = await meet(interaction)
    units, today = await contact.units_and_today()
    feeders = contact.services.handbook.feeders
    culture = Culture(
        key="",
        name=name or (feeders[kind].name if kind in feeders else kind),
        kind=kind,
        started=None if started is None else read_day(started, today),
        animals=animals,
        temperature_c=None if temperature is None else celsius(temperature, units),
    )
    view = await contact.services.cultures.add(contact.keeper_id, culture, contact.now)
    await contact.reply(pages.added_page(view))


@app_commands.describe(culture="Only this one, with the reasons behind its dates")
async def show(interaction: discord.Interaction, *, culture: CultureName | None = None) -> None:
    """All cultures, with their care and what they yield; or one, with the reasons."""
    contact = await meet(interaction)
    views = await contact.services.cultures.of(contact.keeper_id, contact.now)
    if culture is None:
        await contact.reply(pages.cultures_page(views))
        return
    found = await contact.culture_id(culture)
    view = next((view for view in views if view.record.id == found), None)
    if view is None:
        raise NotYoursError
    await contact.reply(pages.culture_page(view))


@app_commands.describe(
    culture="Which culture",
    died="How many died without a known reason; no care is noted then",
    taken="How many you took out to feed; no care is noted then",
    day="When, such as yesterday; today if you say nothing",
)
async def done(
    interaction: discord.Interaction,
    *,
    culture: CultureName,
    died: Animals | None = None,
    taken: Animals | None = None,
    day: str = "today",
) -> None:
    """Write down care, or how many died or were taken out."""
    contact = await meet(interaction)
    when = read_day(day, await contact.today())
    found = await contact.culture_id(culture)
    counted = {CultureEvent.DIED: died, CultureEvent.TAKEN: taken}
    entries = [CultureEntry(day=when, event=event, animals=many) for event, many in counted.items() if many is not None]
    noted = entries or [CultureEntry(day=when, event=CultureEvent.CARE)]
    views = [await contact.services.cultures.note(contact.keeper_id, found, entry, contact.now) for entry in noted]
    said = ", ".join(f"{entry.animals} {entry.event.value}" for entry in entries) or CultureEvent.CARE.value
    await contact.reply(pages.noted_page(views[-1], said, contact.keeper_id))


@app_commands.describe(culture="Which culture")
async def remove(interaction: discord.Interaction, *, culture: CultureName) -> None:
    """Forget a culture that ended."""
    contact = await meet(interaction)
    found = await contact.culture_id(culture)
    record = await contact.services.cultures.remove(contact.keeper_id, found, contact.now)
    await contact.reply(pages.removed_page(record))
