"""Which connections to the platform's gateway one of several processes keeps.

The platform spreads communities over numbered connections, `shard = (community id >> 22) % count`, and direct messages
arrive on number 0 (its documentation of the gateway).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

MOST = 10_000
_SPAN = re.compile(r"(\d{1,5})(?:-(\d{1,5}))?")


@dataclass(frozen=True, slots=True)
class Shards:
    """Numbers of this process out of `count` in all."""

    ids: tuple[int, ...]
    count: int

    @classmethod
    def of(cls, span: str, count: int) -> Shards:
        """From words of the command line, such as `0-3` of 8.

        Raises:
            ValueError: what is wrong, and what would be right.
        """
        found = _SPAN.fullmatch(span)
        if found is None or not 1 <= count <= MOST:
            raise ValueError("Write shards like --shards 0-3 --of 8: numbers from 0, and how many there are in all.")
        first, last = int(found[1]), int(found[2] or found[1])
        if not first <= last < count:
            raise ValueError(f"--shards {span} does not lie within 0 to {count - 1}, the numbers of --of {count}.")
        return cls(tuple(range(first, last + 1)), count)
