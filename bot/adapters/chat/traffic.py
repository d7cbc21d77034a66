"""How much the bot may send: an allowance, and a fuse that stops everything when the platform is about to ban us.

Figures: the platform allows 50 requests a second and bans after 10,000 refused ones in ten minutes (its documentation
of rate limits); we stay far below both. Pure: the moment, in seconds of any steady clock, is an argument.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

OVERALL_PER_SECOND = 25.0
SECONDS_BETWEEN_DOORS = 2.5
BAN_SECONDS = 600.0
"""Pause after a sign of a ban."""
MOST_REFUSALS = 1_000
"""Refused requests in ten minutes after which we stop by ourselves."""


@dataclass(slots=True)
class Allowance:
    """A bucket of `burst` requests that fills by `per_second`."""

    per_second: float
    burst: float
    _left: float | None = None
    _at: float = 0.0

    def take(self, at: float) -> float:
        """Take one request; returns 0 when it may go, else the seconds until it might. Nothing is taken then."""
        left = self._filled(at)
        self._left = left - 1 if left >= 1 else left
        return 0.0 if left >= 1 else (1 - left) / self.per_second

    def reserve(self, at: float) -> float:
        """Take one request in any case; returns the seconds to wait before it goes."""
        left = self._filled(at)
        self._left = left - 1
        return max(0.0, (1 - left) / self.per_second)

    def _filled(self, at: float) -> float:
        since, self._at = at - self._at, at
        return self.burst if self._left is None else min(self.burst, self._left + since * self.per_second)


@dataclass(slots=True)
class Fuse:
    """Blown by a ban or by too many refusals; closes by itself after a while."""

    _until: float = 0.0
    _refused: deque[float] = field(default_factory=deque)

    def blow(self, at: float, seconds: float = BAN_SECONDS) -> None:
        """Stop for a while."""
        self._until = max(self._until, at + seconds)

    def refused(self, at: float) -> None:
        """Count a request that the platform refused (401, 403)."""
        self._refused.append(at)
        while self._refused and self._refused[0] < at - BAN_SECONDS:
            self._refused.popleft()
        if len(self._refused) >= MOST_REFUSALS:
            self._refused.clear()
            self.blow(at)

    def wait(self, at: float) -> float:
        """Seconds until requests may go again; 0 when they may now."""
        return max(0.0, self._until - at)
