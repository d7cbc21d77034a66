"""Pages and boards as the platform's components. One look: amber for care, red for danger, little ornament."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import discord
from discord import ui

from bot.adapters.chat.presenters.board import Board, Fixed
from bot.adapters.chat.presenters.page import Page, Sheet, sheets

CARE = 0xA8631D
DANGER = 0x8E1F2B
CAUTIONS_ID, HEADING_ID, NOTES_ID = 9_001, 9_002, 9_003
"""Component ids by which the fixed texts of a message are found again."""


class Layout(ui.LayoutView):
    """A message of ours: it never times out, for its buttons are answered from the store, not from memory."""

    def __init__(self, *items: ui.Item[Any]) -> None:
        super().__init__(timeout=None)
        for item in items:
            self.add_item(item)


def page_layouts(page: Page, *more: ui.Item[Any]) -> list[Layout]:
    """A page as one or more messages; `more` (a row of buttons) stands under the last."""
    found = sheets(page)
    return [_sheet(sheet, more if sheet is found[-1] else ()) for sheet in found]


def _sheet(sheet: Sheet, more: tuple[ui.Item[Any], ...]) -> Layout:
    items: list[ui.Item[Any]] = []
    if sheet.cautions:
        items.append(caution_box("\n\n".join(sheet.cautions)))
    if sheet.body or more:
        body = [ui.TextDisplay[Any]("\n\n".join(sheet.body))] if sheet.body else []
        items.append(ui.Container(*body, *more, accent_colour=CARE))
    return Layout(*items)


def caution_box(text: str) -> ui.Container[Any]:
    """Cautions in a frame of their own, above everything else."""
    return ui.Container(ui.TextDisplay(text, id=CAUTIONS_ID), accent_colour=DANGER)


def care_box(text: str) -> ui.Container[Any]:
    """A text in a frame of its own."""
    return ui.Container(ui.TextDisplay(text), accent_colour=CARE)


def fixed_texts(message: discord.Message) -> Fixed:
    """The fixed texts of one of our messages, read back from it."""
    texts = {
        part.id: part.content
        for top in message.components
        for part in _inside(top)
        if isinstance(part, discord.TextDisplay)
    }
    return Fixed(cautions=texts.get(CAUTIONS_ID, ""), heading=texts.get(HEADING_ID, ""), notes=texts.get(NOTES_ID, ""))


def identifiers(message: discord.Message) -> Iterator[str]:
    """Identifiers of all buttons and pickers of a message, and the values its pickers offer."""
    for top in message.components:
        for part in _inside(top):
            if isinstance(part, discord.Button | discord.SelectMenu) and part.custom_id:
                yield part.custom_id


def fixed_items(board: Board) -> tuple[list[ui.Item[Any]], list[ui.Item[Any]]]:
    """What stands before the lines inside the frame, and what stands after them."""
    before: list[ui.Item[Any]] = []
    after: list[ui.Item[Any]] = []
    if board.fixed.heading:
        before.append(ui.TextDisplay(board.fixed.heading, id=HEADING_ID))
    if board.folded_text:
        after.append(ui.TextDisplay(board.folded_text))
    return before, after


def notes_item(board: Board) -> list[ui.Item[Any]]:
    """The small lines at the end."""
    return [ui.TextDisplay(board.fixed.notes, id=NOTES_ID)] if board.fixed.notes else []


def _inside(part: object) -> Iterator[object]:
    yield part
    for child in getattr(part, "children", ()):
        yield from _inside(child)
