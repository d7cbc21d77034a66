"""What one beat did, as numbers that add up."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What one beat did."""

    claimed: int = 0
    sent: int = 0
    late: int = 0
    """Of those sent: which came late enough to say that the bot was away."""
    silent: int = 0
    """Keepers with nothing due, or served by another process meanwhile."""
    later: int = 0
    refused: int = 0
    failed: int = 0
    threads: int = 0
    """Words in private threads, where direct messages are refused."""

    def plus(self, other: Tally) -> Tally:
        """Both together."""
        return Tally(
            claimed=self.claimed + other.claimed,
            sent=self.sent + other.sent,
            late=self.late + other.late,
            silent=self.silent + other.silent,
            later=self.later + other.later,
            refused=self.refused + other.refused,
            failed=self.failed + other.failed,
            threads=self.threads + other.threads,
        )


def summed(tallies: Iterable[Tally]) -> Tally:
    """All together."""
    total = Tally()
    for tally in tallies:
        total = total.plus(tally)
    return total
