"""The help page: what comes next for this keeper, then the commands, each with an example that can be typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.adapters.chat.presenters.page import Page

STEPS = (
    (
        "**First step of three: where your ants live.** Type `/my place`, choose `zone` and begin to write your "
        "town or continent. I need it for your hours and your winter; nothing else is asked."
    ),
    (
        "**Second step of three: your first colony.** Type `/colony add`: the species (a genus will do), how many "
        "workers you see, and a name. Everything else can wait."
    ),
    (
        "**Third step of three: reminders.** Type `/my reminders on:True`. I say hello by direct message at once, "
        "so that you see it works; if I cannot, I tell you what to allow."
    ),
    (
        "**All is set.** I write to you when something is due, and you answer with the buttons. `/care due` shows "
        "what waits now, `/care week` the coming days, `/care why` the reasons."
    ),
)
"""By what is still missing: a place, a colony, an open door for reminders, nothing."""


@dataclass(frozen=True, slots=True)
class Told:
    """A command: its words, what it does, and options of an example (may be empty)."""

    name: str
    does: str
    example: str


@dataclass(frozen=True, slots=True)
class Chapter:
    """Commands under one first word; the last chapter, without a name, holds those that stand alone."""

    name: str
    about: str
    commands: tuple[Told, ...]


def help_page(step: int, chapters: Sequence[Chapter]) -> Page:
    """The next step first, then the commands."""
    return Page(title="How I help", blocks=(STEPS[step], *(_chapter(one) for one in chapters)))


def _chapter(chapter: Chapter) -> str:
    lines = [f"**{chapter.about}**", *(_line(one) for one in chapter.commands)]
    return "\n".join(lines)


def _line(told: Told) -> str:
    return f"`{' '.join((f'/{told.name}', told.example)).strip()}` {told.does}"
