"""The list of all commands. A new one is a callback in a file of this folder and a line here."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any

from discord import app_commands

from bot.adapters.chat.commands import (
    care,
    care_done,
    colony,
    colony_add,
    colony_edit,
    people,
    place,
    reminders,
    rest,
    season,
)

Callback = Callable[..., Coroutine[Any, Any, None]]


@dataclass(frozen=True, slots=True)
class Entry:
    """A command: its name, what the platform shows beside it, and what it does."""

    name: str
    description: str
    callback: Callback


@dataclass(frozen=True, slots=True)
class Family:
    """Commands under one first word."""

    name: str
    description: str
    entries: tuple[Entry, ...]


FAMILIES: tuple[Family, ...] = (
    Family(
        "my",
        "Where you keep your ants, and when you are reminded",
        (
            Entry("place", "Show or change your time zone, room and units", place.place),
            Entry("reminders", "Show or change when I write to you", reminders.reminders),
            Entry("away", "Show or begin an absence; a member may sit for you", people.away),
            Entry("back", "You are back: everything is reminded of again", people.back),
            Entry("requests", "What members ask of you, and what you agreed on", people.requests),
        ),
    ),
    Family(
        "colony",
        "Your colonies",
        (
            Entry("add", "Register a colony", colony_add.add),
            Entry("list", "All your colonies", colony.overview),
            Entry("show", "One colony with its plan", colony.show),
            Entry("edit", "Change what I know of a colony", colony_edit.edit),
            Entry("give", "Hand a colony over to another member for good", people.give),
            Entry("close", "Stop caring for a colony; its history stays", colony.close),
        ),
    ),
    Family(
        "care",
        "What is due, and what you did",
        (
            Entry("due", "What waits for you now", care.due),
            Entry("week", "The plan for the coming days", care.week),
            Entry("why", "Why something is due when it is", care.why),
            Entry("fed", "Write down that you fed a colony", care_done.fed),
            Entry("watered", "Write down that you watered a nest", care_done.watered),
            Entry("upkeep", "Write down any other care", care_done.upkeep),
        ),
    ),
    Family(
        "rest",
        "The winter rest",
        (
            Entry("show", "The winter rest of a colony, or why it has none", rest.show),
            Entry("plan", "Decide when, where and how long a colony rests", rest.plan),
        ),
    ),
    Family(
        "season",
        "The season of a whole community",
        (
            Entry("setup", "For moderators: how the season is led here", season.setup),
            Entry("draft", "For moderators: notices that wait, are scheduled or posted", season.draft),
            Entry("schedule", "For moderators: what lies ahead, with figures", season.schedule),
            Entry("check", "For moderators: how the community fares", season.check),
            Entry("log", "For moderators: who did what, and when", season.log),
            Entry("share", "What you share with this server: nothing unless you say so", season.share),
        ),
    ),
)
SINGLE: tuple[Entry, ...] = ()
"""Commands without a family."""


def build_commands() -> list[app_commands.Command[Any, ..., Any] | app_commands.Group]:
    """Fresh command objects for one client, usable in servers, in direct messages, and by whoever installed the bot."""
    families = [_group(family) for family in FAMILIES]
    return [*families, *(_command(entry, root=True) for entry in SINGLE)]


def _group(family: Family) -> app_commands.Group:
    group = app_commands.Group(
        name=family.name,
        description=family.description,
        allowed_installs=_installs(),
        allowed_contexts=_contexts(),
    )
    for entry in family.entries:
        group.add_command(_command(entry, root=False))
    return group


def _command(entry: Entry, *, root: bool) -> app_commands.Command[Any, ..., Any]:
    return app_commands.Command(
        name=entry.name,
        description=entry.description,
        callback=entry.callback,
        allowed_installs=_installs() if root else None,
        allowed_contexts=_contexts() if root else None,
    )


def _installs() -> app_commands.AppInstallationType:
    return app_commands.AppInstallationType(guild=True, user=True)


def _contexts() -> app_commands.AppCommandContext:
    return app_commands.AppCommandContext(guild=True, dm_channel=True, private_channel=True)
