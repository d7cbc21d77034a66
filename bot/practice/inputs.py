"""What is typed into the page, as values for the bot: options of commands, fields of forms. Bad input gets a sentence.

The limits are those of the definitions that the bot handed to the platform; kinds are the platform's option types.
"""

from __future__ import annotations

import base64
import math
import re
from collections.abc import Mapping
from typing import Any

from bot.practice.errors import PracticeError

KINDS = {3: "text", 4: "whole", 5: "yesno", 6: "person", 7: "room", 8: "role", 9: "person", 10: "number", 11: "file"}
LONGEST_NAME = 100
LONGEST = 6000
"""Characters that the platform takes in one option."""

Definition = Mapping[str, Any]


def describe(name: str, definition: Definition) -> dict[str, Any]:
    """A command for the page: its words, what it does, its options; the needed ones first."""
    options = [_option(option) for option in definition.get("options") or ()]
    return {"name": name, "does": definition.get("description") or "", "options": options}


def _option(option: Definition) -> dict[str, Any]:
    return {
        "name": option["name"],
        "hint": option.get("description") or "",
        "kind": KINDS.get(option["type"], "text"),
        "needed": bool(option.get("required")),
        "suggests": bool(option.get("autocomplete")),
        "choices": [{"name": choice["name"], "value": str(choice["value"])} for choice in option.get("choices") or ()],
    }


def read_options(definition: Definition, typed: Mapping[str, Any], handles: Mapping[str, Any]) -> dict[str, Any]:
    """Values for the options that were filled in; empty ones count as not given.

    Raises:
        PracticeError: a needed option is empty, or a value that its definition does not take.
    """
    known = {option["name"]: option for option in definition.get("options") or ()}
    for name in typed:
        if name not in known:
            raise PracticeError(f"There is no option “{name[:40]}” here; known are: {', '.join(known) or 'none'}.")
    values = {}
    for name, option in known.items():
        if KINDS.get(option["type"]) == "file" and typed.get(name):
            values[name] = read_attached(name, typed[name])
            continue
        text = str(typed.get(name) or "").strip()
        if text:
            values[name] = read_option(option, text, handles)
        elif option.get("required"):
            raise PracticeError(f"{name}: this is needed. {option.get('description') or ''}".strip())
    return values


def read_attached(name: str, given: Any) -> tuple[str, bytes]:
    """A file as the page packs it: its name, and its bytes in base 64.

    Raises:
        PracticeError: it is no file.
    """
    if isinstance(given, dict) and isinstance(given.get("name"), str) and isinstance(given.get("data"), str):
        try:
            return given["name"][-LONGEST_NAME:] or "file", base64.b64decode(given["data"], validate=True)
        except ValueError:
            pass
    raise PracticeError(f"{name}: attach a file.")


def read_option(option: Definition, text: str, handles: Mapping[str, Any]) -> Any:
    """One value.

    Raises:
        PracticeError: what would be right.
    """
    kind, name = KINDS.get(option["type"]), option["name"]
    if kind in {"person", "room", "role"}:
        if text not in handles:
            raise PracticeError(f"{name}: choose one of {', '.join(handles)}.")
        return handles[text]
    if kind == "yesno":
        return _yes_or_no(name, text)
    value: str | int | float = text if kind == "text" else _number(name, text, whole=kind == "whole")
    choices = [choice["value"] for choice in option.get("choices") or ()]
    if choices and value not in choices:
        raise PracticeError(f"{name}: choose one of {', '.join(str(choice['name']) for choice in option['choices'])}.")
    _check_limits(option, value)
    return value


def _yes_or_no(name: str, text: str) -> bool:
    if text not in {"yes", "no"}:
        raise PracticeError(f"{name}: answer yes or no.")
    return text == "yes"


def _number(name: str, text: str, *, whole: bool) -> int | float:
    tidy = text.replace("\u2212", "-")
    if whole:
        if not re.fullmatch(r"[-+]?[0-9]{1,15}", tidy):
            raise PracticeError(f"{name}: give a whole number, such as 12.")
        return int(tidy)
    try:
        value = float(tidy)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise PracticeError(f"{name}: give a number with a point, such as 21.5.")
    return value


def _check_limits(option: Definition, value: str | float) -> None:
    kind = "length" if isinstance(value, str) else "value"
    size = len(value) if isinstance(value, str) else value
    low = option.get(f"min_{kind}")
    high = option.get(f"max_{kind}", LONGEST if isinstance(value, str) else None)
    what = "characters" if isinstance(value, str) else ""
    if low is not None and size < low:
        raise PracticeError(f"{option['name']}: give at least {low} {what}".strip() + ".")
    if high is not None and size > high:
        raise PracticeError(f"{option['name']}: give at most {high} {what}".strip() + ".")


def read_form(form: Mapping[str, Any], typed: Mapping[str, Any], handles: Mapping[str, Any]) -> dict[str, Any]:
    """Values for the fields of a form as `view.form` described it.

    Raises:
        PracticeError: a needed field is empty, or a value of the wrong kind.
    """
    values = {}
    for field in form["fields"]:
        if field["kind"] == "text":
            continue
        given = typed.get(field["id"])
        if given in (None, "", []):
            if field["required"]:
                raise PracticeError(f"{field['label']}: this is needed.")
            continue
        values[field["id"]] = _field(field, given, handles)
    return values


def _field(field: Mapping[str, Any], given: Any, handles: Mapping[str, Any]) -> Any:
    right = isinstance(given, {"check": bool, "picker": list}.get(field["kind"], str))
    if not right:
        raise PracticeError(f"{field['label']}: this is no answer to the question.")
    return [handles.get(value, value) for value in given] if field["kind"] == "picker" else given
