"""Buttons and pickers that outlive restarts: each press is read from its identifier and answered from the store.

Messages hold dynamic items only, never time out, and are edited with fresh layouts: the library forgets the classes of
dynamic items when a view that mixes both kinds ends (seen in 2.7.1), and all old reminders would fall silent.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Self

import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.answering import Message, answer, answer_all, board_now
from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.layout import CARE, Layout, caution_box, fixed_items, fixed_texts, identifiers, notes_item
from bot.adapters.chat.marks import Act, Scope
from bot.adapters.chat.people_items import PEOPLE_ITEMS
from bot.adapters.chat.presenters.board import PAGE, Board, Fixed, Row, Shown, pages
from bot.adapters.chat.presenters.lines import Line, Standing, option_hint, option_label
from bot.adapters.chat.presenters.text import LABEL, day_name, short
from bot.adapters.chat.presenters.words import OUTCOME, capital
from bot.adapters.chat.reading import read_day
from bot.care.duty import Outcome
from bot.services.errors import AlreadyAnsweredError, NoLongerDueError
from bot.services.records import OccurrenceId

LABELS = {
    Act.DONE: "Done",
    Act.LATER: "Later",
    Act.SKIP: "Not needed",
    Act.UNDO: "Undo",
    Act.TOMORROW: "Tomorrow",
    Act.WEEKEND: "Saturday",
    Act.PICK_DAY: "Another day…",
    Act.BACK: "Back",
}
ROWS = {
    Row.ANSWER: (Act.DONE, Act.LATER, Act.SKIP),
    Row.WHEN: (Act.TOMORROW, Act.WEEKEND, Act.PICK_DAY, Act.BACK),
    Row.VERDICT: (Act.UNDO,),
    Row.UNDO: (Act.UNDO,),
    Row.NONE: (),
}
NEXT_PAGE = "page"


class AnswerButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.ANSWER):
    """One answer to one line."""

    def __init__(self, act: str, occurrence: int, scope: Scope, label: str = "?", *, first: bool = False) -> None:
        style = discord.ButtonStyle.primary if first else discord.ButtonStyle.secondary
        identifier = f"wb:a:{act}:{occurrence}:{scope.code}"
        super().__init__(ui.Button(label=short(label, LABEL), style=style, custom_id=identifier))
        self.act, self.occurrence, self.scope = act, OccurrenceId(occurrence), scope

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(match["act"], int(match["occurrence"]), Scope(match["scope"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Answer, then show the message as it stands."""
        if self.act == Act.PICK_DAY.value:
            await interaction.response.send_modal(DayForm(self.occurrence, self.scope))
        else:
            await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        try:
            act, verdict = marks.read_act(self.act)
        except (ValueError, IndexError):
            raise NoLongerDueError from None
        try:
            await answer(contact, act, self.occurrence, verdict)
        finally:
            choosing = self.occurrence if act is Act.LATER else None
            await refresh(contact, self.scope, focus=self.occurrence, choosing=choosing)


class AllDoneButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=marks.ALL):
    """Done for every open line of a message."""

    def __init__(self, scope: Scope) -> None:
        super().__init__(
            ui.Button(label="All done", style=discord.ButtonStyle.success, custom_id=f"wb:all:{scope.code}")
        )
        self.scope = scope

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(Scope(match["scope"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Answer all, then show the message as it stands."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        if not await answer_all(contact, message_of(contact, self.scope)):
            raise AlreadyAnsweredError(None)
        await refresh(contact, self.scope)


class LinePicker(ui.DynamicItem[ui.Select[ui.LayoutView]], template=marks.PICK):
    """Brings a folded line forward, or turns the page."""

    def __init__(self, page: int, scope: Scope, options: list[discord.SelectOption], placeholder: str) -> None:
        select = ui.Select[ui.LayoutView](
            custom_id=f"wb:pick:{page}:{scope.code}",
            options=options,
            placeholder=placeholder,
            min_values=1,
            max_values=1,
        )
        super().__init__(select)
        self.page, self.scope = page, scope

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, item: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a choice."""
        found = cls(int(match["page"]), Scope(match["scope"]), [discord.SelectOption(label="–")], "–")
        if isinstance(item, ui.Select):
            found.item = item
        return found

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show the chosen line with its reason and buttons."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        chosen = self.item.values[0] if self.item.values else ""
        if chosen.startswith(NEXT_PAGE):
            await refresh(contact, self.scope, page=int(chosen.removeprefix(NEXT_PAGE)))
        else:
            await refresh(contact, self.scope, focus=OccurrenceId(int(chosen)), page=self.page)


class DayForm(ui.Modal):
    """Asks for a day."""

    def __init__(self, occurrence: OccurrenceId, scope: Scope) -> None:
        super().__init__(title="When shall I remind you?", timeout=900)
        self.occurrence, self.scope = occurrence, scope
        self.day = ui.TextInput[Self](placeholder="2027-05-01, tomorrow, in 3 days", max_length=30, required=True)
        self.add_item(ui.Label(text="Day", description="Within the next 30 days", component=self.day))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Put the line off to that day."""
        await pressed(interaction, self._work)

    async def _work(self, contact: Contact) -> None:
        until = read_day(self.day.value, await contact.today())
        await contact.services.line_answers.later(contact.keeper_id, self.occurrence, until, contact.now)
        await refresh(contact, self.scope, focus=self.occurrence)
        await contact.note(f"I remind you again on {day_name(until)}.")


DYNAMIC_ITEMS: tuple[type[ui.DynamicItem[Any]], ...] = (AnswerButton, AllDoneButton, LinePicker, *PEOPLE_ITEMS)


def message_of(contact: Contact, scope: Scope) -> Message:
    """The message whose button was pressed, read back from the platform."""
    message = contact.interaction.message
    if message is None:
        return Message(scope=scope, fixed=Fixed())
    seen = dict.fromkeys(
        OccurrenceId(int(found["occurrence"]))
        for identifier in identifiers(message)
        if (found := marks.ANSWER.fullmatch(identifier)) is not None
    )
    return Message(scope=scope, fixed=fixed_texts(message), seen=tuple(seen))


async def refresh(
    contact: Contact,
    scope: Scope,
    *,
    focus: OccurrenceId | None = None,
    choosing: OccurrenceId | None = None,
    page: int = 1,
) -> None:
    """Edit the pressed message to what is true now."""
    board = await board_now(contact, message_of(contact, scope), focus=focus, choosing=choosing, page=page)
    await contact.show(board_layout(board))


def board_layout(board: Board, *more: ui.Item[Any]) -> Layout:
    """A board as components: cautions in their own frame, then lines with buttons, the folded rest, `more`, notes."""
    before, after = fixed_items(board)
    inside = [*before, *(item for shown in board.shown for item in _line_items(shown, board.scope)), *after]
    if board.folded:
        inside.append(ui.ActionRow(_picker(board)))
    if board.all_done:
        inside.append(ui.ActionRow(AllDoneButton(board.scope)))
    frame = ui.Container[Any](*inside, *more, *notes_item(board), accent_colour=CARE)
    return Layout(*([caution_box(board.fixed.cautions)] if board.fixed.cautions else []), frame)


def _line_items(shown: Shown, scope: Scope) -> Iterator[ui.Item[Any]]:
    yield ui.TextDisplay(shown.text)
    buttons = list(_buttons(shown, scope))
    if buttons:
        yield ui.ActionRow(*buttons)


def _buttons(shown: Shown, scope: Scope) -> Iterator[AnswerButton]:
    if shown.row is Row.VERDICT:
        for verdict in shown.line.ask:
            yield _verdict(shown.line, verdict, scope)
    for act in ROWS[shown.row]:
        yield AnswerButton(act.value, shown.line.id, scope, LABELS[act], first=act is Act.DONE)


def _verdict(line: Line, verdict: Outcome, scope: Scope) -> AnswerButton:
    act = f"{Act.VERDICT.value}{marks.VERDICTS.index(verdict)}"
    return AnswerButton(act, line.id, scope, capital(OUTCOME[verdict]))


def _picker(board: Board) -> LinePicker:
    start = (board.page - 1) * PAGE
    options = [
        discord.SelectOption(label=option_label(line), value=str(line.id), description=option_hint(line) or None)
        for line in board.folded[start : start + PAGE]
    ]
    last = pages(board)
    if last > 1:
        turn = board.page % last + 1
        options.append(discord.SelectOption(label=f"More lines ({turn} of {last})…", value=f"{NEXT_PAGE}{turn}"))
    what = "Answer another line" if board.folded[0].standing is Standing.OPEN else "Look at an answered line"
    return LinePicker(board.page, board.scope, options, f"{what}… ({len(board.folded)})")
