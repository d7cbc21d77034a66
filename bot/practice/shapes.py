"""Rooms and messages as practice mode speaks of them, free of the simulated platform."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

BOT_NAME = "Winterbrood"
DIRECT = "direct"
"""Key of the room that every person shares with the bot alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A channel of the community."""

    name: str
    topic: str = ""
    leaders_only: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """A message as somebody sees it; `parts` are the platform's components, as they are."""

    id: int
    author: str
    by_bot: bool
    at: datetime
    private: bool
    asked: str | None
    """The command that it answers; after a restart only its first word is known."""
    text: str
    parts: Sequence[Mapping[str, Any]]


def stable_id(text: str) -> int:
    """A snowflake-sized id that depends on the text alone, so that it is the same in every run."""
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:6], "big") | 1 << 47
