"""Works out once what engines ask of the same value again and again; a value of the trade never changes."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

_Value = TypeVar("_Value")
_Rest = ParamSpec("_Rest")
_Result = TypeVar("_Result")


def once(work: Callable[Concatenate[_Value, _Rest], _Result]) -> Callable[Concatenate[_Value, _Rest], _Result]:
    """Remember a result with the value that it is about, which must be frozen and without slots.

    The results go with the value: nothing is kept beyond it, and a changed copy starts anew.
    """

    @wraps(work)
    def remembered(value: _Value, /, *args: _Rest.args, **named: _Rest.kwargs) -> _Result:
        known: dict[Hashable, _Result] = value.__dict__.setdefault("_once", {})
        key = (work, *args, *named.items())
        if key not in known:
            known[key] = work(value, *args, **named)
        return known[key]

    return remembered
