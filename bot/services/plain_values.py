"""Dataclasses of ours to plain JSON values and back; reading refuses whatever does not fit, and names the place.

Ids are text, since many readers of JSON round large numbers; days and moments are ISO 8601. Zones are left out: their
name stands beside them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date, datetime, time, tzinfo
from enum import Enum
from math import isfinite
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from bot.care.errors import BadValueError, CareError

T = TypeVar("T")
Plain = Any
"""What JSON can hold: a dict, list, text, number, truth or nothing."""
LONGEST_TEXT = 2000
LARGEST_WHOLE = 2**63 - 1
LONGEST_LIST = 20_000
UNSAFE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
"""Control letters and halves of letters, which databases and files choke on."""


class BadPlainError(CareError):
    """A value that does not fit; the sentence says where, and what would be right."""

    code = "own_data"


def to_plain(value: object, without: frozenset[str] = frozenset()) -> Plain:
    """Plain values; fields called as in `without` are left out."""
    if is_dataclass(value) and not isinstance(value, type):
        names = [field.name for field in fields(value) if field.name not in without]
        return {name: _shown(name, getattr(value, name), without) for name in names if _kept(getattr(value, name))}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): to_plain(one, without) for key, one in value.items()}
    if isinstance(value, (tuple, list)):
        return [to_plain(one, without) for one in value]
    return value


def from_plain(kind: type[T], value: Plain, where: str, given: Mapping[str, object] | None = None) -> T:
    """A dataclass out of a plain object; `given` supplies fields that the object must not have.

    Raises:
        BadPlainError: a key that is unknown or missing, a value of another kind, or one that cannot be.
    """
    if not isinstance(value, dict):
        raise BadPlainError(f"{where} must be an object with keys; found {_found(value)}.")
    known = {field.name: field for field in fields(kind) if field.name not in (given or {})}  # type: ignore[arg-type]
    for key in value:
        if key not in known:
            raise BadPlainError(f"{where} has no key “{str(key)[:40]}”; known are: {', '.join(known)}.")
    hints = get_type_hints(kind)
    found = {
        name: _read(hints[name], value[name], f"{where}.{name}")
        for name, field in known.items()
        if name in value or _missing(field, where)
    }
    try:
        return kind(**found, **(given or {}))
    except BadValueError as problem:
        raise BadPlainError(f"{where}: {problem}") from problem
    except ValueError as problem:
        raise BadPlainError(f"{where} holds values that cannot be together.") from problem


def _kept(value: object) -> bool:
    return not isinstance(value, tzinfo)


def _shown(name: str, value: object, without: frozenset[str]) -> Plain:
    is_id = (name == "id" or name.endswith("_id")) and isinstance(value, int)
    return str(value) if is_id else to_plain(value, without)


def _missing(field: Field[Any], where: str) -> bool:
    """False for a field that may be missing.

    Raises:
        BadPlainError: it must not.
    """
    if field.default is MISSING and field.default_factory is MISSING:
        raise BadPlainError(f"{where}.{field.name} is missing; it must be given.")
    return False


def _read(kind: Any, value: Plain, where: str) -> Any:
    origin = get_origin(kind)
    if origin in {Union, UnionType}:
        choices = [choice for choice in get_args(kind) if choice is not NoneType]
        return None if value is None and NoneType in get_args(kind) else _read(choices[0], value, where)
    if origin is tuple:
        if not isinstance(value, list) or len(value) > LONGEST_LIST:
            raise BadPlainError(f"{where} must be a list of at most {LONGEST_LIST:,}; found {_found(value)}.")
        return tuple(_read(get_args(kind)[0], one, f"{where}[{place}]") for place, one in enumerate(value, start=1))
    if is_dataclass(kind):
        return from_plain(kind, value, where)  # type: ignore[arg-type]
    if issubclass(kind, Enum):
        if value not in [member.value for member in kind]:
            words = ", ".join(str(member.value) for member in kind)
            raise BadPlainError(f"{where} must be one of: {words}; found {_found(value)}.")
        return kind(value)
    return _simple(kind, value, where)


def _simple(kind: type, value: Plain, where: str) -> object:
    """A text, number, truth, day, wall time or moment."""
    if kind is bool and isinstance(value, bool):
        return value
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if kind is float and number and isfinite(value) and abs(value) < LARGEST_WHOLE:
        return float(value)
    if kind is int and number and isinstance(value, int) and abs(value) <= LARGEST_WHOLE:
        return value
    if kind is str and isinstance(value, str) and len(value) <= LONGEST_TEXT and not UNSAFE.search(value):
        return value
    if kind in WRITTEN and isinstance(value, str):
        return _written(kind, value, where)
    raise BadPlainError(f"{where} must be {WORDS[kind]}; found {_found(value)}.")


def _written(kind: type, value: str, where: str) -> object:
    """A day, wall time or moment as ISO 8601."""
    try:
        found = WRITTEN[kind](value)
    except ValueError:
        found = None
    zoned = getattr(found, "tzinfo", None) is not None
    if found is None or zoned is not (kind is datetime):
        raise BadPlainError(f"{where} must be {WORDS[kind]}; found {_found(value)}.")
    return found


WRITTEN: Mapping[type, Any] = {
    date: date.fromisoformat,
    time: time.fromisoformat,
    datetime: datetime.fromisoformat,
}
WORDS: Mapping[type, str] = {
    bool: "true or false",
    float: "a number",
    int: "a whole number",
    str: f"text of at most {LONGEST_TEXT} letters without control signs",
    date: "a day such as 2027-01-31",
    time: "a wall time such as 18:30:00",
    datetime: "a moment with its offset, such as 2027-01-31T17:30:00+00:00",
}


def _found(value: Plain) -> str:
    shown = UNSAFE.sub("?", repr(value))
    return shown if len(shown) <= 40 else f"{shown[:39]}…"
