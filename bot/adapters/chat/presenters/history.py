"""A colony's history as text, and what an observation means."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.people import person
from bot.adapters.chat.presenters.text import day_name, day_said, number, shown
from bot.adapters.chat.presenters.words import DUTY, OUTCOME, capital
from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.goods import Food
from bot.services.acknowledgement import Recorded
from bot.services.history import HistoryPage, Observed, aside
from bot.services.records import KeeperId

NOTE_SHOWN = 200
"""Characters of a note in a list."""
THANKS = "`/colony history` shows all that is written down."


def history_page(found: HistoryPage, foods: Mapping[str, Food]) -> Page:
    """A page of a history, newest first."""
    lines = "\n".join(f"{entry_line(entry, foods)}{_by(found.sat.get(entry))}" for entry in found.entries)
    what = _which(found)
    if not found.entries:
        lines = f"Nothing is written down{what} yet. `/care fed`, `/care watered` and `/colony note` write here."
    lines_word = "line" if found.total == 1 else "lines"
    foot = f"-# Page {found.page} of {found.pages}, {number(found.total)} {lines_word}{what}, newest first."
    title = f"History of {shown(found.colony.colony.name)}"
    return Page(title=title, blocks=(lines, foot) if found.entries else (lines,))


def _which(found: HistoryPage) -> str:
    if found.wanted.seen:
        return " of what was seen or noted"
    return "" if found.wanted.duty is None else f" about {DUTY[found.wanted.duty]}"


def _by(sitter: KeeperId | None) -> str:
    return "" if sitter is None else f" · by {person(sitter)}"


def entry_line(entry: LogEntry, foods: Mapping[str, Food]) -> str:
    """One entry: the day, what, and how it was."""
    return f"**{day_name(entry.day)} {entry.day.year}** {', '.join(_parts(entry, foods))}"


def _parts(entry: LogEntry, foods: Mapping[str, Food]) -> Iterator[str]:
    if aside(entry):
        yield OUTCOME[entry.outcome]
    else:
        yield DUTY[entry.duty]
        if entry.outcome is not Outcome.DONE:
            yield OUTCOME[entry.outcome]
    if entry.food is not None:
        food = foods.get(entry.food)
        yield shown(entry.food) if food is None else food.name
    if entry.side is not None:
        yield f"side {entry.side.value}"
    if entry.count is not None:
        yield number(entry.count) + (" workers" if entry.duty is Duty.CENSUS else "")
    if entry.note is not None:
        yield f"“{shown(entry.note, NOTE_SHOWN)}”"


def observed_page(observed: Observed, foods: Mapping[str, Food]) -> Page:
    """What was written down, what it means, and what to look at now."""
    name = shown(observed.colony.colony.name)
    blocks = [f"✓ Written down for **{name}**: {entry_line(observed.entry, foods)}"]
    if observed.means:
        blocks.append("\n".join(observed.means))
    if observed.checks:
        steps = [f"{place}. {check}" for place, check in enumerate(observed.checks, start=1)]
        blocks.append("\n".join(["**Look now, in this order**", *steps]))
    blocks.append(THANKS)
    return Page(
        title=capital(OUTCOME[observed.entry.outcome]), blocks=tuple(blocks), cautions=observed.cautions, advice=True
    )


def census_page(recorded: Recorded, before: int) -> Page:
    """What was counted, against what was known."""
    colony = recorded.colony.colony
    said = f"✓ Written down for **{shown(colony.name)}**: "
    if recorded.outcome is Outcome.DONE:
        text = f"{said}{number(colony.workers)} workers. Before, I counted on {number(before)}."
    else:
        outcome = OUTCOME[recorded.outcome] if recorded.outcome else ""
        text = f"{said}{outcome}. I go on counting on {number(before)} workers until you give me a number."
    blocks = [text, "Food, water and room follow this number."]
    if recorded.next_day is not None:
        blocks.append(f"Next count: {day_said(recorded.next_day)}.")
    return Page(title="Head count", blocks=tuple(blocks))
