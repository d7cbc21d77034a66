"""A sentence for everything that can go wrong. Surprises get a number for the moderators' log and show no internals."""

from __future__ import annotations

import hashlib
import traceback
from base64 import b32encode
from collections.abc import Callable, Mapping
from typing import Any, cast

import discord
import structlog
from discord import app_commands

from bot.adapters.chat.gate import NotAModeratorError, TooFastError
from bot.adapters.chat.layout import page_layouts
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_name, shown
from bot.adapters.chat.presenters.words import OUTCOME
from bot.care.errors import CareError
from bot.services.errors import (
    AlreadyAnsweredError,
    DeliveryError,
    DoorRefusedError,
    DuplicateNameError,
    ServiceError,
    TooManyError,
    TryLaterError,
)
from bot.services.sitting_errors import AskedOftenError, SatAlreadyError, SittingAheadError, SittingOverError

log = structlog.get_logger()
FOREIGN = frozenset({"not_yours", "gone", "sitting_ahead", "sitting_over"})
"""Codes of reaching for what is somebody else's: worth a line in the log."""
STORE = "store"
"""Code of trouble with the database; its own text is for the operator, since it may name a file."""

Known = CareError | ServiceError | TooFastError | NotAModeratorError


def _as_it_is(error: Exception) -> str:
    """Sentences of the trade name what would be right; what the keeper typed into them is made harmless."""
    return shown(str(error), 600)


def _answered(error: Exception) -> str:
    outcome = error.outcome if isinstance(error, AlreadyAnsweredError) else None
    said = "" if outcome is None else f" ({OUTCOME[outcome]})"
    return f"That was answered already{said}. Nothing was changed."


def _duplicate(error: Exception) -> str:
    name, culture = (error.name, error.culture) if isinstance(error, DuplicateNameError) else ("", False)
    what = "feeder culture" if culture else "colony"
    return f"You have a {what} called “{shown(name)}” already. Give this one another name."


def _too_many(error: Exception) -> str:
    limit, cultures = (error.limit, error.cultures) if isinstance(error, TooManyError) else (0, False)
    if cultures:
        return f"I can look after {limit} feeder cultures for you at most. End one first: `/culture remove`."
    return f"I can look after {limit} colonies for you at most. Close one that you no longer keep: `/colony close`."


def _too_fast(error: Exception) -> str:
    wait = error.wait_seconds if isinstance(error, TooFastError) else 2
    return f"That was a lot at once. Try again in {wait} second{'s' if wait > 1 else ''}; nothing is lost."


def _later(error: Exception) -> str:
    minutes = max(1, round(error.after / 60)) if isinstance(error, TryLaterError) else 1
    return f"I cannot reach your direct messages right now. Try again in {minutes} minute{'s' if minutes > 1 else ''}."


def _ahead(error: Exception) -> str:
    since = day_name(error.since) if isinstance(error, SittingAheadError) else "later"
    return f"Your days as a sitter begin on {since}. Until then the keeper looks after this colony."


def _over(error: Exception) -> str:
    until = f" since {day_name(error.until)}" if isinstance(error, SittingOverError) else ""
    return f"Your days as a sitter of this colony are over{until}. Tell the keeper what you did; nothing was changed."


def _asked_often(error: Exception) -> str:
    again = day_name(error.again) if isinstance(error, AskedOftenError) else "another day"
    wait = f"You asked this member several times of late. From {again} on you can ask again"
    return f"{wait}; `/my requests` shows how it stands."


def _sat_already(error: Exception) -> str:
    name = error.name if isinstance(error, SatAlreadyError) else ""
    return f"Somebody sits for “{shown(name)}” on those days, or was asked to. `/my requests` takes that back first."


SENTENCES: Mapping[str, Callable[[Exception], str]] = {
    "care": _as_it_is,
    "bad_value": _as_it_is,
    "unknown_name": _as_it_is,
    "logger_file": _as_it_is,
    "own_data": _as_it_is,
    "service": lambda _: "That did not work. Nothing was changed.",
    "not_set_up": lambda _: "First tell me where your ants live: `/my place`, with your time zone.",
    "sitting_ahead": _ahead,
    "sitting_over": _over,
    "sat_already": _sat_already,
    "asked_often": _asked_often,
    "gone": lambda _: "Nothing waits for this answer any more. `/my requests` shows what does.",
    "reminders_off": lambda _: "A sitter must be reminded: turn that on first with `/my reminders on:True`.",
    "not_yours": lambda _: "I do not find that among what is yours. Only its own keeper can answer here.",
    "already_answered": _answered,
    "no_longer_due": lambda _: "That is no longer open: the plan has moved on. `/care due` shows what waits now.",
    "duplicate_name": _duplicate,
    "too_many": _too_many,
    STORE: lambda _: "I cannot reach my records right now, so nothing was changed. Try again in a while.",
    "stale_colony": lambda _: "The colony was changed at the same moment. Look at it once more and try again.",
    "too_fast": _too_fast,
    "not_a_moderator": lambda _: "Only moderators of this server can do that.",
}
"""One sentence for each code of `care/errors.py`, `services/errors.py` and the gate."""

DELIVERY: Mapping[type[DeliveryError], Callable[[Exception], str]] = {
    DoorRefusedError: lambda _: (
        "Your direct messages are closed to me. Allow messages from members of this server in your privacy settings,"
        " then use `/my reminders` once more."
    ),
    TryLaterError: _later,
    DeliveryError: lambda _: "I could not open your direct messages. Try again a little later.",
}
"""What may happen when a keeper asks for reminders."""


def sentence(error: BaseException) -> str | None:
    """The sentence for an error that was foreseen, else `None`."""
    if isinstance(error, DeliveryError):
        kind = next(kind for kind in type(error).__mro__ if kind in DELIVERY)
        return DELIVERY[kind](error)
    return SENTENCES[error.code](error) if isinstance(error, Known) else None


def cause(error: BaseException) -> BaseException:
    """What really happened, under the library's wrapping."""
    while True:
        inner = error.original if isinstance(error, app_commands.CommandInvokeError) else error.__cause__
        if inner is None or not isinstance(error, app_commands.AppCommandError):
            return error
        error = inner


def incident_number(interaction_id: int) -> str:
    """Eight signs that a keeper can read out and a moderator can search for."""
    return b32encode(hashlib.sha256(str(interaction_id).encode()).digest()).decode()[:8]


async def answer_error(interaction: discord.Interaction, error: BaseException) -> None:
    """Tell the asker, privately, what went wrong; log what was not foreseen, without anything personal."""
    found = cause(error)
    said = sentence(found)
    if isinstance(found, ServiceError) and found.code == STORE:
        log.error("store_trouble", where=_where(interaction), trouble=str(found))
    if isinstance(found, ServiceError) and found.code in FOREIGN:
        log.warning("refused", where=_where(interaction), code=found.code)
    if said is None:
        number = incident_number(interaction.id)
        log.error("incident", incident=number, where=_where(interaction), error=type(found).__name__, at=_frames(found))
        said = f"Something went wrong on my side. If it happens again, tell a moderator this number: `{number}`."
    layout = page_layouts(Page(title="Not this time", blocks=(said,)))[0]
    try:
        if interaction.response.is_done():
            await interaction.followup.send(view=layout, ephemeral=True)
        else:
            await interaction.response.send_message(view=layout, ephemeral=True)
    except discord.HTTPException as trouble:
        log.warning("error_not_told", where=_where(interaction), status=trouble.status, code=trouble.code)


def _where(interaction: discord.Interaction) -> str:
    if interaction.command is not None:
        return interaction.command.qualified_name
    identifier = cast("dict[str, Any]", interaction.data or {}).get("custom_id", "")
    return f"{interaction.type.name} {identifier}".strip()


def _frames(error: BaseException) -> list[str]:
    """Where in the code; the text of an exception may hold what a keeper typed, so it is left out."""
    return [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in traceback.extract_tb(error.__traceback__)[-8:]]
