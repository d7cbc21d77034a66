"""Plain text to plain words: case, accents, apostrophes and temperatures evened out for four languages.

Numbers with a unit of temperature become one of four marks, because "at 4C" and "38 degrees" are different questions.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from typing import TypeVar

V = TypeVar("V")
COLD, COOL, ROOM, HOT = "temperature-cold", "temperature-cool", "temperature-room", "temperature-hot"
_ELISION = re.compile(r"\b(qu|[cdjlmnst])['’\u00b4`]", re.IGNORECASE)
_APOSTROPHE = re.compile(r"['’\u00b4`]")
_TEMPERATURE = re.compile(
    r"(-?\d{1,3})\s*\+?\s*(?:°\s*)?(c|f|degrees?|degs?|celsius|fahrenheit|grad|grados|degres?|°)(?![a-z])"
)
_WORD = re.compile(r"[a-z]+(?:-[a-z]+)*|\d+")
LONGEST_TEXT = 2000
"""Characters of a question that are read: as many as a message of the platform has."""
_LONGEST_WORD = 40


def plain(text: str) -> str:
    """Lower case without accents; ß becomes ss, œ becomes oe. `für` and `fur` are one word here."""
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    return "".join(character for character in decomposed if not unicodedata.combining(character))


def words(text: str) -> tuple[str, ...]:
    """Words of a question in order; at most the first 2,000 characters are read."""
    flat = plain(text[:LONGEST_TEXT])
    flat = _APOSTROPHE.sub("", _ELISION.sub(r"\1 ", flat))
    return tuple(part[:_LONGEST_WORD] for word in _WORD.findall(flat) for part in word.split("-") if part)


def longest_phrase(
    phrases: Mapping[tuple[str, ...], V], tokens: Sequence[str], at: int, most: int
) -> tuple[V | None, int]:
    """What the longest phrase from a position on means, and how many words it takes: `None` and 1 where there is none.

    Args:
        phrases: words -> what they mean.
        tokens: words of a question.
        at: the position.
        most: words of the longest phrase.
    """
    for used in range(min(most, len(tokens) - at), 0, -1):
        meant = phrases.get(tuple(tokens[at : at + used]))
        if meant is not None:
            return meant, used
    return None, 1


def temperature_marks(text: str) -> frozenset[str]:
    """Marks for each temperature named with a unit; Fahrenheit where the unit or the size of the number says so."""
    found = _TEMPERATURE.findall(plain(text[:LONGEST_TEXT]))
    return frozenset(_mark(int(number), unit) for number, unit in found)


def _mark(number: int, unit: str) -> str:
    celsius = (number - 32) / 1.8 if unit.startswith("f") or number > 60 else float(number)
    for limit, mark in ((9, COLD), (19, COOL), (29, ROOM)):
        if celsius < limit:
            return mark
    return HOT


def spellings(surface: str) -> tuple[str, ...]:
    """How a surface of the lexicon may be typed: umlauts dropped, and written out with e."""
    if surface.isascii():
        return (surface.lower(),)
    written_out = surface.replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return tuple(dict.fromkeys((plain(surface), plain(written_out))))
