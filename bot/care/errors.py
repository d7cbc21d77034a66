"""Errors of the trade. Each carries a stable code, and its text is a sentence for a person.

CareError
├── BadValueError        a value that cannot be: says which, and what would be right
└── UnknownNameError     a name the handbook does not know: carries the nearest names
"""

from __future__ import annotations


class CareError(Exception):
    """Root of the family; `str(error)` is a sentence that may be shown to a keeper as it is."""

    code = "care"


class BadValueError(CareError):
    """A value outside what can be true.

    Args:
        field: the name of the value in the words of the design, such as `workers`.
        sentence: what is wrong and what would be right.
    """

    code = "bad_value"

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


class UnknownNameError(CareError):
    """A name that the handbook does not hold.

    Args:
        kind: what was looked for, such as `species`.
        name: what was asked.
        nearest: names that resemble it, best first; may be empty.
    """

    code = "unknown_name"

    def __init__(self, kind: str, name: str, nearest: tuple[str, ...] = ()) -> None:
        shown = name if len(name) <= 60 else name[:57] + "…"
        hint = f" Did you mean {' or '.join(nearest)}?" if nearest else ""
        super().__init__(f"The handbook has no {kind} called “{shown}”.{hint}")
        self.kind = kind
        self.name = name
        self.nearest = nearest
