"""A colony as text: what is known, what is only taken as given, what comes next."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_said, distance, joined, number, shown
from bot.adapters.chat.presenters.words import DUTY, capital
from bot.care.colony import Colony, Nest, NestKind
from bot.care.duty import Duty, Occurrence
from bot.care.handbook import Handbook
from bot.care.situation import DEFAULT_ROOM_C
from bot.care.units import Units, say_temperature
from bot.services.colonies import ColonyView
from bot.services.records import ColonyRecord

NEXT_LINES = 8
_UNIT = re.compile(r"_(c|mm|mg)$")
NEED_A_LOOK = "Nothing is planned within the next 30 days."


def added_page(view: ColonyView, handbook: Handbook, today: date) -> Page:
    """A colony that was just registered."""
    settings = view.keeper.settings
    promise = (
        f"I write to you at {settings.digest_at:%H:%M} when something is due. `/my reminders` changes or stops that."
        if view.keeper.reminders_on
        else "Reminders are off; `/my reminders` turns them on."
    )
    page = colony_page(view, handbook, today)
    return Page(
        title=f"Welcome, {shown(view.record.colony.name)}", blocks=(*page.blocks, promise), cautions=page.cautions
    )


def colony_page(view: ColonyView, handbook: Handbook, today: date) -> Page:
    """One colony with its plan."""
    units = view.keeper.settings.units
    blocks = [_facts(view, handbook, units), _assumed(view, units), _ahead(view.plan.occurrences, today)]
    blocks += view.plan.warnings
    return Page(
        title=shown(view.record.colony.name),
        blocks=tuple(block for block in blocks if block),
        cautions=view.cautions,
    )


def _facts(view: ColonyView, handbook: Handbook, units: Units) -> str:
    colony, profile = view.record.colony, view.profile
    species = f"*{profile.name}*" + (" (genus only, so all bands are wider)" if profile.rank == "genus" else "")
    lines = [
        f"**Species** {species}",
        f"**Colony** {_people(colony)}, {colony.current_stage.value}{_brood(colony)}",
        f"**Nest** {_nest(colony.nest, handbook)}",
    ]
    if colony.outworld is not None and colony.outworld.barrier is not None:
        renewed = colony.outworld.renewed
        since = "" if renewed is None else f", renewed {day_said(renewed)}"
        lines.append(f"**Barrier** {handbook.barriers[colony.outworld.barrier].name}{since}")
    if colony.heater is not None:
        wall = colony.heater.hot_c
        at = "" if wall is None else f", {say_temperature(wall, units)} at the wall"
        lines.append(f"**Heater** {handbook.heaters[colony.heater.kind].name}{at}")
    if profile.weak_fields:
        lines.append(f"-# Little is known of its {joined(_fields(profile.weak_fields))}.")
    return "\n".join(lines)


def _fields(names: Sequence[str]) -> list[str]:
    """Names of a profile's fields without their units, each once."""
    return list(dict.fromkeys(_UNIT.sub("", name).replace("_", " ") for name in names))


def _people(colony: Colony) -> str:
    queens = "" if colony.queens == 1 else f", {number(colony.queens)} queens" if colony.queens else ", no queen"
    return f"{number(colony.workers)} worker{'' if colony.workers == 1 else 's'}{queens}"


def _brood(colony: Colony) -> str:
    return "" if colony.brood.level is None else f", brood: {colony.brood.level.value}"


def _nest(nest: Nest, handbook: Handbook) -> str:
    material = handbook.materials.get(nest.material or "")
    made = (
        nest.kind.value if material is None or nest.kind is NestKind.TUBE else f"{nest.kind.value} of {material.name}"
    )
    water = "" if nest.water_ml is None else f", {number(nest.water_ml)} ml a watering"
    side = "" if nest.kind is NestKind.TUBE else f", side {nest.watered_side.value} watered last"
    return f"{made}{water}{side}"


def _assumed(view: ColonyView, units: Units) -> str:
    """What a default stands in for."""
    colony, place = view.record.colony, view.place
    assumed = [
        (place.temperature_c is None, f"a room of {say_temperature(DEFAULT_ROOM_C, units)}"),
        (colony.brood.level is None, "brood like that of most colonies of this size"),
        (colony.nest.kind is not NestKind.TUBE and colony.nest.material is None, "a common nest material"),
        (colony.nest.water_ml is None, "the usual amount of water"),
        (colony.outworld is None or colony.outworld.barrier is None, "a barrier I know nothing of"),
        (colony.heater is None, "no heater"),
    ]
    words = [text for missing, text in assumed if missing]
    return f"-# Until you say otherwise I count on {joined(words)}. `/colony edit` changes it." if words else ""


def _ahead(occurrences: Sequence[Occurrence], today: date) -> str:
    firsts: dict[Duty, Occurrence] = {}
    for found in occurrences:
        firsts.setdefault(found.duty, found)
    lines = list(_next_lines(list(firsts.values())[:NEXT_LINES], today))
    return "\n".join(["**What comes next**", *lines]) if lines else NEED_A_LOOK


def _next_lines(firsts: Sequence[Occurrence], today: date) -> Iterator[str]:
    for found in firsts:
        when = distance(found.day, today, found.earliest, found.latest)
        yield f"**{capital(DUTY[found.duty])}** {when} – {found.reason}"


def list_page(records: Sequence[ColonyRecord]) -> Page:
    """All colonies of a keeper, one line each."""
    lines = [
        f"**{shown(record.colony.name)}** *{record.colony.species}*, {number(record.colony.workers)} workers"
        for record in records
    ]
    return Page(
        title="Your colonies",
        blocks=("\n".join(lines) or "You have registered no colony yet. `/colony add` is the first step.",),
    )


def closed_page(record: ColonyRecord) -> Page:
    """A colony that is no longer cared for."""
    return Page(
        title=f"Farewell, {shown(record.colony.name)}",
        blocks=("I remind you of nothing more for this colony. Its history stays.",),
    )
