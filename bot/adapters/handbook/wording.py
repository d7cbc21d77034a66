"""Turns what pydantic finds wrong with an entry into sentences that name the key and what would be right."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from bot.adapters.handbook.figures import Stated
from bot.adapters.handbook.species_pages import DevelopmentValue, Facts

FIGURE = 'write { value = …, unit = "…", source = ["…"], confidence = "…" }'

PLAIN = {
    "missing": "is missing; every entry of this kind needs it",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "bool_type": "must be true or false",
    "string_type": "must be a text in quotation marks",
    "tuple_type": "must be a list in square brackets",
    "model_type": f"must be a figure with its source: {FIGURE}",
    "string_too_short": "is empty; write at least a word",
    "too_short": "is an empty list; name at least one",
}
"""Pydantic error type -> what would be right."""


def sentence(error: ErrorDetails, page: type[BaseModel]) -> str:
    """What is wrong, without the place; `page` is the schema of the entry."""
    kind, context = error["type"], error.get("ctx", {})
    said = PLAIN.get(kind, error["msg"][:1].lower() + error["msg"][1:])
    if kind == "missing" and error["loc"][-1] == "value":
        said = f"is missing; {FIGURE}"
    elif kind == "extra_forbidden":
        said = _unknown_key(error["loc"], page)
    elif kind == "enum":
        said = f"is {error['input']!r}; use one of {context['expected']}"
    elif kind == "string_too_long":
        said = f"has {len(error['input'])} characters; at most {context['max_length']} are shown whole"
    elif kind == "value_error":
        said = str(context["error"])
    return said


def key_of(location: Iterable[int | str]) -> str:
    """The dotted key of a place inside an entry; `facts.rest_weeks.value`."""
    return ".".join(str(part) for part in location)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A hint with the nearest known word, or all of them when they are few, or nothing."""
    words = sorted(known)
    close = get_close_matches(word, words, n=1)
    if close:
        return f"; did you mean {close[0]}?"
    return f"; known are {', '.join(words)}" if len(words) <= 30 else ""


def _unknown_key(location: tuple[int | str, ...], page: type[BaseModel]) -> str:
    inside: type[BaseModel] = Stated
    if len(location) == 1:
        inside = page
    elif location[0] == "facts" and len(location) == 2:
        inside = Facts
    elif "value" in location:
        inside = DevelopmentValue
    return "is not a key here" + did_you_mean(str(location[-1]), inside.model_fields)
