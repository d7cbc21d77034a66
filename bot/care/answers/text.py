"""Plain text to plain words: case, accents, apostrophes and temperatures evened out for four languages.

Numbers with a unit of temperature become one of four marks, because "at 4C" and "38 degrees" are different questions.
"""

from __future__ import annotations

import re
import unicodedata

COLD, COOL, ROOM, HOT = "temperature-cold", "temperature-cool", "temperature-room", "temperature-hot"
_ELISION = re.compile(r"\b(qu|[cdjlmnst])['’\u00b4`]", re.IGNORECASE)
_APOSTROPHE = re.compile(r"['’\u00b4`]")
_TEMPERATURE = re.compile(
    r"(-?\d{1,3})\s*\+?\s*(?:°\s*)?(c|f|degrees?|degs?|celsius|fahrenheit|grad|grados|degres?|°)(?![a-z])"
)
_WORD = re.compile(r"[a-z]+(?:-[a-z]+)*|\d+")
_LONGEST_TEXT = 2000
_LONGEST_WORD = 40


def plain(text: str) -> str:
    """Lower case without accents; ß becomes ss, œ becomes oe. `für` and `fur` are one word here."""
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold().replace("œ", "oe"))
    return "".join(character for character in decomposed if not unicodedata.combining(character))


def words(text: str) -> tuple[str, ...]:
    """Words of a question in order; at most the first 2,000 characters are read."""
    flat = plain(text[:_LONGEST_TEXT])
    flat = _APOSTROPHE.sub("", _ELISION.sub(r"\1 ", flat))
    return tuple(part[:_LONGEST_WORD] for word in _WORD.findall(flat) for part in word.split("-") if part)


def temperature_marks(text: str) -> frozenset[str]:
    """Marks for each temperature named with a unit; Fahrenheit where the unit or the size of the number says so."""
    found = _TEMPERATURE.findall(plain(text[:_LONGEST_TEXT]))
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
