"""What is counted about answers, and the repository of it as a Protocol. No text and nobody's name is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Protocol

from bot.services.season_records import GuildId

NOWHERE = GuildId(0)
"""Stands for direct messages and other places outside of servers."""


class Reception(StrEnum):
    """What became of a question. The subject is a card, but for unanswered ones, where it is the nearest topic."""

    ASKED = "asked"
    UNANSWERED = "unanswered"
    HELPED = "helped"
    NOT_HELPED = "not helped"


@dataclass(frozen=True, slots=True)
class AnswerCount:
    """How often something happened in one server in one month."""

    subject: str
    reception: Reception
    count: int


class AnswerCounts(Protocol):
    """Counts by server, month (its first day), subject and reception."""

    async def add(self, guild_id: GuildId, month: date, subject: str, reception: Reception) -> None:
        """One more."""
        ...

    async def of(self, guild_id: GuildId, month: date) -> Sequence[AnswerCount]:
        """All counts of a month, by subject and reception."""
        ...
