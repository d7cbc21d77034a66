"""Who has said something about a message already, so that a second press counts nothing. Forgotten with the process."""

from __future__ import annotations

from dataclasses import dataclass, field

REMEMBERED = 5_000
"""Pairs kept in mind; the oldest are forgotten."""


@dataclass(slots=True)
class Told:
    """Pairs of a user and a message."""

    _pairs: dict[tuple[int, int], None] = field(default_factory=dict)

    def first(self, user_id: int, message_id: int) -> bool:
        """Remember a pair; false when it was known."""
        pair = (user_id, message_id)
        if pair in self._pairs:
            return False
        self._pairs[pair] = None
        if len(self._pairs) > REMEMBERED:
            self._pairs.pop(next(iter(self._pairs)))
        return True
