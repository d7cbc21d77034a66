"""What is kept of reminding a keeper in a private thread: where, when next, and a word that is on its way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from bot.services.records import KeeperId
from bot.services.season_records import GuildId


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadReminder:
    """One for each keeper whose direct messages were refused and who agreed to a thread."""

    keeper_id: KeeperId
    guild_id: GuildId
    channel_id: int
    """Under which the thread hangs."""
    thread_id: int | None = None
    """The keeper's own thread, once opened; used again every time."""
    next_at: datetime | None = None
    """UTC; when to look whether something is due. `None`: nothing is told here now."""
    told_on: date | None = None
    """The keeper's local day of the last word; there is one a day at most."""
    nonce: str | None = None
    """Of a word on its way: the same for every try, at most 25 characters. `None`: none is."""
    count: int = 0
    """How many things that word says are due."""
    attempts: int = 0
    first_try_at: datetime | None = None
    message_id: int | None = None
    """The last word that arrived."""
    sent_at: datetime | None = None
    problem: str | None = None
    lease_until: datetime | None = None
