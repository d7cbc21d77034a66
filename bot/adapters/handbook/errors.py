"""What is wrong with a config folder, told all at once."""

from __future__ import annotations

from collections.abc import Sequence


class HandbookError(Exception):
    """A config folder that cannot be used; `str(error)` has one line for each problem.

    Args:
        problems: sentences that name the file, the key and what would be right; at least one.
    """

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = tuple(problems)
