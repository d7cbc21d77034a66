"""Which of the asker's colonies a question is about: one whose name stands in it, else the only one of a named kind.

Where two would do, none is taken: a wrong date is worse than a general answer. A colony called by an everyday word,
such as “Queen”, is not told by its name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.care.answers.guide import Guide
from bot.care.answers.reading import Reader
from bot.care.answers.text import words


@dataclass(frozen=True, slots=True)
class Kept:
    """A colony as its keeper speaks of it."""

    name: str
    species: str | None
    """Name of its entry in the handbook."""
    genus: str | None


def asked_about(question: str, guide: Guide, colonies: Sequence[Kept]) -> Kept | None:
    """The colony that a question is about, if it can be told."""
    tokens, named = words(question), guide.names.find(question)
    called = [(len(own), colony) for colony in colonies if _holds(tokens, own := _telling(colony.name, guide.reader))]
    longest = max((length for length, _ in called), default=0)
    found = [colony for length, colony in called if length == longest]
    if not found:
        found = [colony for colony in colonies if any(one.is_kept(colony.species, colony.genus) for one in named)]
    return found[0] if len(found) == 1 else None


def _telling(name: str, reader: Reader) -> tuple[str, ...]:
    """The words of a name; none where all of them are everyday words."""
    own = words(name)
    return () if all(map(reader.is_everyday, own)) else own


def _holds(tokens: Sequence[str], name: tuple[str, ...]) -> bool:
    starts = range(len(tokens) - len(name) + 1)
    return bool(name) and any(tuple(tokens[start : start + len(name)]) == name for start in starts)
