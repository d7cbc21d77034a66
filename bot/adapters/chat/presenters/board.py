"""A reminder or a list of what is due as a pure arrangement: what is shown, what is folded, within the limits.

Budget: 40 components in one message (the platform's documentation), of which every line with three buttons takes five.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto

from bot.adapters.chat.marks import Scope
from bot.adapters.chat.presenters.lines import Line, Standing, by_colony, by_need, folded_text, line_text
from bot.adapters.chat.presenters.text import fits
from bot.services.records import OccurrenceId

MOST_COMPONENTS = 40
MOST_SHOWN = 6
PAGE = 24
"""Folded lines on one page of the picker; the 25th option turns the page."""


class Row(Enum):
    """Which buttons stand under a line."""

    ANSWER = auto()
    WHEN = auto()
    VERDICT = auto()
    UNDO = auto()
    NONE = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """What stays the same through all edits of a message: cautions before, heading, notes after."""

    cautions: str = ""
    heading: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A line with its text and buttons."""

    line: Line
    text: str
    row: Row


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """What one message with answerable lines shows."""

    scope: Scope
    fixed: Fixed
    shown: tuple[Shown, ...]
    folded: tuple[Line, ...] = ()
    folded_text: str = ""
    page: int = 1
    all_done: bool = False


def arrange(
    scope: Scope,
    fixed: Fixed,
    lines: Sequence[Line],
    *,
    focus: OccurrenceId | None = None,
    choosing: OccurrenceId | None = None,
    page: int = 1,
    spare: int = 0,
) -> Board:
    """As many lines with buttons as the platform allows, the rest folded; `choosing` is asked when, not whether.

    `spare` components are left free for what else stands in the message.
    """
    grouped = by_colony(lines)
    chosen = by_need(grouped, focus)[:MOST_SHOWN]
    board = _board(scope, fixed, grouped, chosen, choosing, page)
    while chosen and not _within(board, spare):
        chosen = chosen[:-1]
        board = _board(scope, fixed, grouped, chosen, choosing, page)
    return board


def pages(board: Board) -> int:
    """How many pages the picker has."""
    return max(1, -(-len(board.folded) // PAGE))


def _board(
    scope: Scope,
    fixed: Fixed,
    lines: Sequence[Line],
    chosen: Sequence[Line],
    choosing: OccurrenceId | None,
    page: int,
) -> Board:
    ids = {line.id for line in chosen}
    inside = [line for line in lines if line.id in ids]
    folded = tuple(line for line in lines if line.id not in ids)
    open_first = tuple(sorted(folded, key=lambda line: line.standing is not Standing.OPEN))
    headed = [
        Shown(
            line=line,
            text=line_text(line, heading=index == 0 or inside[index - 1].colony != line.colony),
            row=_row(line, choosing),
        )
        for index, line in enumerate(inside)
    ]
    board = Board(
        scope=scope,
        fixed=fixed,
        shown=tuple(headed),
        folded=open_first,
        folded_text=folded_text(open_first),
        all_done=sum(line.standing is Standing.OPEN for line in lines) > 1,
    )
    return replace(board, page=min(max(1, page), pages(board)))


def _row(line: Line, choosing: OccurrenceId | None) -> Row:
    if line.standing is Standing.OPEN:
        return Row.WHEN if line.id == choosing else Row.ANSWER
    if line.standing in {Standing.DONE, Standing.SKIPPED}:
        return Row.VERDICT if line.ask else Row.UNDO
    return Row.NONE


def _within(board: Board, spare: int) -> bool:
    texts = [shown.text for shown in board.shown]
    return components(board) + spare <= MOST_COMPONENTS and fits(
        board.fixed.cautions, board.fixed.heading, board.fixed.notes, board.folded_text, *texts
    )


def components(board: Board) -> int:
    """How many components the message has, nested ones counted."""
    total = 1 + sum(bool(text) for text in (board.fixed.heading, board.fixed.notes, board.folded_text))
    total += 2 if board.fixed.cautions else 0
    total += sum(1 + _row_size(shown) for shown in board.shown)
    total += 2 if board.folded else 0
    return total + (2 if board.all_done else 0)


def _row_size(shown: Shown) -> int:
    buttons = {
        Row.ANSWER: 3,
        Row.WHEN: 4,
        Row.VERDICT: len(shown.line.ask) + 1,
        Row.UNDO: 1,
        Row.NONE: 0,
    }[shown.row]
    return buttons + 1 if buttons else 0
