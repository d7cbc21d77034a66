"""What a reply says, before it becomes components: cautions, a title, blocks of text, notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bot.adapters.chat.presenters.cautions import first_texts, last_texts
from bot.adapters.chat.presenters.text import fits
from bot.care.cautions import Caution

BLOCK = 1_500
"""Longest block that is kept together; a longer one is split between lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A reply. Blocks are paragraphs that stay together; `advice` shows what to do beside each caution."""

    title: str
    blocks: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    advice: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """One message of a page."""

    cautions: tuple[str, ...]
    body: tuple[str, ...]


def sheets(page: Page) -> tuple[Sheet, ...]:
    """The page as messages that keep the platform's limits: all cautions come before the first word of the body."""
    parts = [(text, True) for text in first_texts(page.cautions, advice=page.advice)]
    parts += [(f"### {page.title}", False)]
    parts += [(piece, False) for text in page.blocks for piece in _pieces(text)]
    parts += [(text, False) for text in last_texts(page.cautions)]
    found: list[Sheet] = []
    for text, leads in parts:
        sheet = found[-1] if found else Sheet((), ())
        grown = Sheet((*sheet.cautions, text), sheet.body) if leads else Sheet(sheet.cautions, (*sheet.body, text))
        if found and fits(*_spaced(grown)):
            found[-1] = grown
        else:
            found.append(Sheet((text,), ()) if leads else Sheet((), (text,)))
    return tuple(found)


def _spaced(sheet: Sheet) -> tuple[str, ...]:
    return tuple(text + "\n\n" for text in (*sheet.cautions, *sheet.body))


def _pieces(text: str) -> Sequence[str]:
    """A block, or a long one in pieces that end with a line."""
    pieces = [""]
    for line in text.splitlines() or [""]:
        for part in (line[at : at + BLOCK] for at in range(0, max(len(line), 1), BLOCK)):
            if pieces[-1] and len(pieces[-1]) + len(part) >= BLOCK:
                pieces.append(part)
            else:
                pieces[-1] += ("\n" if pieces[-1] else "") + part
    return [piece for piece in pieces if piece]
