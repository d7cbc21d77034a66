"""The list of all commands. A new one is a callback in a file of this folder and a line here."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from typing import Any

from discord import app_commands

from bot.adapters.chat.commands import (
    ask,
    care,
    care_done,
    care_files,
    colony,
    colony_add,
    colony_edit,
    colony_records,
    culture,
    help_page,
    own_data,
    people,
    place,
    reminders,
    rest,
    season,
)
from bot.adapters.chat.commands.help_page import EXAMPLE

Callback = Callable[..., Coroutine[Any, Any, None]]


@dataclass(frozen=True, slots=True)
class Entry:
    """A command: its name, what the platform shows beside it, what it does, and options that show how it is used."""

    name: str
    description: str
    callback: Callback
    example: str = ""


@dataclass(frozen=True, slots=True)
class Family:
    """Commands under one first word."""

    name: str
    description: str
    entries: tuple[Entry, ...]


FAMILIES: tuple[Family, ...] = (
    Family(
        "my",
        "Where you keep your ants, when you are reminded, and your data",
        (
            Entry(
                "place",
                "Show or change your time zone, room and units",
                place.place,
                "zone:Europe/Vienna temperature:23",
            ),
            Entry("reminders", "Show or change when I write to you", reminders.reminders, "on:True at:18:30"),
            Entry(
                "away",
                "Show or begin an absence; a member may sit for you",
                people.away,
                "until:in 2 weeks sitter:@Robin",
            ),
            Entry("back", "You are back: everything is reminded of again", people.back),
            Entry("requests", "What members ask of you, and what you agreed on", people.requests),
            Entry("data", "Everything that I keep of you, as a file", own_data.data),
            Entry("import", "Bring in the file that /my data gave you", own_data.bring, "file:winterbrood-data.zip"),
            Entry("erase", "Remove everything of yours, after you confirm", own_data.erase),
            Entry("privacy", "What I keep, why, and for how long", own_data.privacy),
        ),
    ),
    Family(
        "colony",
        "Your colonies",
        (
            Entry("add", "Register a colony", colony_add.add, "species:Lasius niger workers:12 name:Dusk"),
            Entry("list", "All your colonies", colony.overview),
            Entry("show", "One colony with its plan", colony.show, "colony:Dusk"),
            Entry("edit", "Change what I know of a colony", colony_edit.edit, "colony:Dusk workers:40"),
            Entry("give", "Hand a colony over to another member for good", people.give, "colony:Dusk member:@Robin"),
            Entry(
                "close", "Stop caring for a colony; its history stays", colony.close, "colony:Dusk reason:given away"
            ),
            Entry("history", "What is written down, newest first", colony_records.history, "colony:Dusk only:water"),
            Entry("note", "Write a note into a colony's history", colony_records.note, "colony:Dusk text:moved shelf"),
            Entry("census", "Count the workers, or compare by eye", colony_records.census, "colony:Dusk compared:more"),
            Entry("seen", "Write down what you saw", colony_records.seen, "colony:Dusk what:eggs"),
        ),
    ),
    Family(
        "care",
        "What is due, and what you did",
        (
            Entry("due", "What waits for you now", care.due),
            Entry("week", "The plan for the coming days", care.week, "days:10"),
            Entry("why", "Why something is due when it is", care.why, "colony:Dusk what:water"),
            Entry("fed", "Write down that you fed a colony", care_done.fed, "colony:Dusk food:Mealworm day:yesterday"),
            Entry("watered", "Write down that you watered a nest", care_done.watered, "colony:Dusk found:about dry"),
            Entry("upkeep", "Write down any other care", care_done.upkeep, "colony:Dusk what:barrier_renew"),
            Entry("topic", "What I know, topic by topic", ask.topic, "topic:A queen alone"),
            Entry("calendar", "The coming months for a calendar program", care_files.calendar),
            Entry(
                "logger",
                "Plan with what a data logger saw",
                care_files.logger,
                "colony:Dusk where:in the room file:logger.csv",
            ),
        ),
    ),
    Family(
        "culture",
        "The feeder insects that you breed",
        (
            Entry("add", "Begin to remember a culture", culture.add, "kind:mealworms started:2027-05-20"),
            Entry("show", "All your cultures: care, growth and yield", culture.show, "culture:mealworms"),
            Entry("done", "Write down care, deaths or what you took out", culture.done, "culture:mealworms taken:20"),
            Entry("remove", "Forget a culture that ended", culture.remove, "culture:mealworms"),
        ),
    ),
    Family(
        "rest",
        "The winter rest",
        (
            Entry("show", "The winter rest of a colony, or why it has none", rest.show, "colony:Dusk"),
            Entry(
                "plan",
                "Decide when, where and how long a colony rests",
                rest.plan,
                "colony:Dusk start:2027-10-15 weeks:16",
            ),
        ),
    ),
    Family(
        "season",
        "The season of a whole community",
        (
            Entry(
                "setup",
                "For moderators: how the season is led here",
                season.setup,
                "channel:#season zone:Europe/Vienna language:de",
            ),
            Entry("draft", "For moderators: notices that wait, are scheduled or posted", season.draft, "stage:prepare"),
            Entry("schedule", "For moderators: what lies ahead, with figures", season.schedule),
            Entry("check", "For moderators: how the community fares", season.check),
            Entry("log", "For moderators: who did what, and when", season.log),
            Entry("share", "What you share with this server: nothing unless you say so", season.share, "count_me:True"),
        ),
    ),
)
SINGLE: tuple[Entry, ...] = (
    Entry("ask", "Ask about your ants in your own words", ask.ask, "question:mould in the tube"),
    Entry("help", "What to do next, and every command with an example", help_page.show, "about:colony"),
)
"""Commands without a family."""
ANSWER_THIS = "Answer this"
"""Stands in the menu of every message."""


Built = app_commands.Command[Any, ..., Any] | app_commands.Group | app_commands.ContextMenu


def build_commands() -> list[Built]:
    """Fresh command objects for one client, usable in servers, in direct messages, and by whoever installed the bot."""
    families = [_group(family) for family in FAMILIES]
    menu = app_commands.ContextMenu(
        name=ANSWER_THIS, callback=ask.answer_this, allowed_installs=_installs(), allowed_contexts=_contexts()
    )
    return [*families, *(_command(entry, root=True) for entry in SINGLE), menu]


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
        extras={EXAMPLE: entry.example},
        allowed_installs=_installs() if root else None,
        allowed_contexts=_contexts() if root else None,
    )


def _installs() -> app_commands.AppInstallationType:
    return app_commands.AppInstallationType(guild=True, user=True)


def _contexts() -> app_commands.AppCommandContext:
    return app_commands.AppCommandContext(guild=True, dm_channel=True, private_channel=True)
