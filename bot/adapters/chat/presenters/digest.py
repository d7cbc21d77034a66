"""The fixed words of a reminder: cautions first, a heading that says why it comes, notes last."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bot.adapters.chat.presenters.board import Fixed
from bot.adapters.chat.presenters.cautions import block, first_texts, last_texts, split
from bot.adapters.chat.presenters.people import note_text
from bot.care.cautions import Caution
from bot.services.ports import Digest

CATCH_UP = "I was away for a while. This is everything that still waits; what no longer helps is left out."
FIRST_LIMIT, NOTES_LIMIT = 1_500, 600
"""Characters of dangers and warnings, and of notes, beside which the lines of a message still have room."""
NEWS_LIMIT = 1_000
"""Characters of what other members answered or report, beside which the lines still have room."""
ABOVE = "What your sitter or other members tell you stands in the message before this one."
NOW = "Something cannot wait today."
USUAL = "This is what your colonies need today."


@dataclass(frozen=True, slots=True)
class Opening:
    """Cautions, then news, that go ahead in messages of their own; and the fixed words around the lines."""

    ahead: tuple[str, ...]
    fixed: Fixed
    news: tuple[str, ...] = ()


def opening(digest: Digest) -> Opening:
    """The words around the lines of a reminder."""
    told = CATCH_UP if digest.catch_up else NOW if any(line.urgent for line in digest.lines) else USUAL
    news = [note_text(note) for note in digest.notes]
    long = len(block(news)) > NEWS_LIMIT
    parts = [*([told] if digest.lines else []), digest.notice, *([ABOVE] if long else news)]
    words = with_cautions(block(part for part in parts if part), digest.cautions)
    return replace(words, news=tuple(block(group) for group in split(news))) if long else words


def with_cautions(heading: str, cautions: Sequence[Caution]) -> Opening:
    """Cautions around a heading; so many that they would crowd out the lines go ahead, whole."""
    first, last = first_texts(cautions), last_texts(cautions)
    crowded = len(block(first)) > FIRST_LIMIT
    noisy = len("\n".join(last)) > NOTES_LIMIT
    ahead = split((*(first if crowded or noisy else ()), *(last if noisy else ())))
    fixed = Fixed(
        cautions="" if crowded or noisy else block(first),
        heading=heading,
        notes="" if noisy else "\n".join(last),
    )
    return Opening(tuple(block(group) for group in ahead), fixed)
