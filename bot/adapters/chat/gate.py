"""Who may use what, and how often: allowances per user and per server, and the rights that moderators need."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

import discord

BURST = 10
"""Actions at once; nobody presses faster by hand for long (judgement)."""
SECONDS_EACH = 2.0
"""One more action after so many seconds."""
SERVER_BURST = 300
SERVER_SECONDS_EACH = 0.1
"""What all members of one server have together, so that a busy one leaves room for the others (judgement)."""
REMEMBERED = 5_000
"""Users, and servers, kept in mind; the ones seen longest ago are forgotten."""


class TooFastError(Exception):
    """More actions than anybody needs."""

    code = "too_fast"

    def __init__(self, wait_seconds: int) -> None:
        super().__init__(f"wait {wait_seconds} s")
        self.wait_seconds = wait_seconds


class NotAModeratorError(Exception):
    """The asker may not lead this community."""

    code = "not_a_moderator"


@dataclass(slots=True)
class _Allowances:
    """One allowance an id, filled again with time; the ids seen longest ago are forgotten."""

    burst: int
    seconds_each: float
    seen: dict[int, tuple[float, datetime]] = field(default_factory=dict)

    def take(self, key: int, now: datetime) -> None:
        """Count one action.

        Raises:
            TooFastError: the allowance is used up.
        """
        left, at = self.seen.pop(key, (float(self.burst), now))
        left = min(float(self.burst), left + max(0.0, (now - at).total_seconds()) / self.seconds_each)
        self.seen[key] = (max(0.0, left - 1) if left >= 1 else left, now)
        if len(self.seen) > REMEMBERED:
            self.seen.pop(next(iter(self.seen)))
        if left < 1:
            raise TooFastError(max(1, round((1 - left) * self.seconds_each)))


@dataclass(slots=True)
class Gate:
    """Allowances of members and of servers. Pure but for its memory: the moment is an argument."""

    _members: _Allowances = field(default_factory=lambda: _Allowances(BURST, SECONDS_EACH))
    _servers: _Allowances = field(default_factory=lambda: _Allowances(SERVER_BURST, SERVER_SECONDS_EACH))

    def admit(self, user_id: int, now: datetime, guild_id: int | None = None) -> None:
        """Count one action of a member, and of the server where it happened.

        Raises:
            TooFastError: one of the allowances is used up.
        """
        self._members.take(user_id, now)
        if guild_id is not None:
            self._servers.take(guild_id, now)


def require_moderator(permissions: discord.Permissions) -> None:
    """Moderators are those who manage the server; a command's default permission can be overridden, so look here too.

    Raises:
        NotAModeratorError.
    """
    if not (permissions.manage_guild or permissions.administrator):
        raise NotAModeratorError
