"""Who may use what, and how often: a small allowance per user, and the rights that moderators need."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

import discord

BURST = 10
"""Actions at once; nobody presses faster by hand for long (judgement)."""
SECONDS_EACH = 2.0
"""One more action after so many seconds."""
REMEMBERED = 5_000
"""Users kept in mind; the ones seen longest ago are forgotten."""


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
class Gate:
    """Allowances by user id. Pure but for its memory: the moment is an argument."""

    _seen: dict[int, tuple[float, datetime]] = field(default_factory=dict)

    def admit(self, user_id: int, now: datetime) -> None:
        """Count one action.

        Raises:
            TooFastError: the allowance is used up.
        """
        left, at = self._seen.pop(user_id, (float(BURST), now))
        left = min(float(BURST), left + max(0.0, (now - at).total_seconds()) / SECONDS_EACH)
        self._seen[user_id] = (max(0.0, left - 1) if left >= 1 else left, now)
        if len(self._seen) > REMEMBERED:
            self._seen.pop(next(iter(self._seen)))
        if left < 1:
            raise TooFastError(max(1, round((1 - left) * SECONDS_EACH)))


def require_moderator(permissions: discord.Permissions) -> None:
    """Moderators are those who manage the server; a command's default permission can be overridden, so look here too.

    Raises:
        NotAModeratorError.
    """
    if not (permissions.manage_guild or permissions.administrator):
        raise NotAModeratorError
