"""A season notice and the moderators' desk as components; the desk shows the notice itself, word for word."""

from __future__ import annotations

from typing import Any

import discord
from discord import ui

from bot.adapters.chat.layout import CARE, Layout, caution_box
from bot.adapters.chat.presenters.season import desk_lines
from bot.adapters.chat.presenters.text import fits
from bot.adapters.chat.season_items import DESK_ROWS, DeskButton, MemberButton
from bot.adapters.chat.season_marks import MemberAct
from bot.care.cautions import Caution, Severity, in_order
from bot.care.handbook import Handbook
from bot.care.season.words import FOR_WHOM
from bot.services.season_desk import NoticeView
from bot.services.season_records import Notice

PREVIEW = "-# Preview. Members also see the buttons: plan my colonies, remind me, my queen is awake, not for me."


def notice_layout(notice: Notice, handbook: Handbook, role_id: int | None) -> Layout:
    """A notice as posted: dangers and warnings first, the words, the figures, small notes, members' buttons."""
    row = ui.ActionRow[Any](*(MemberButton(act, notice.id) for act in MemberAct))
    return Layout(*_notice(notice, handbook, role_id, row))


def desk_layout(view: NoticeView, handbook: Handbook) -> Layout:
    """The state of a notice with what can be done, under the notice as members would see it."""
    notice = view.notice
    state = ui.TextDisplay[Any]("\n".join(desk_lines(view)))
    rows = [ui.ActionRow[Any](*(DeskButton(act, notice) for act in row)) for row in DESK_ROWS[notice.state]]
    desk = ui.Container[Any](state, *rows)
    preview = _notice(notice, handbook, view.setup.role_id, ui.TextDisplay(PREVIEW))
    return Layout(*preview, desk)


def words_fit(notice: Notice, handbook: Handbook) -> bool:
    """Whether a notice and its desk stay inside one message; the desk's own lines are allowed 600 characters."""
    return fits(*notice_texts(notice, handbook, notice.id), PREVIEW, "x" * 600)


def notice_texts(notice: Notice, handbook: Handbook, role_id: int | None) -> tuple[str, ...]:
    """All texts of a notice in their order: cautions, words, figures, notes; the empty ones are left out."""
    found = in_order(notice.cautions, handbook.cautions)
    first = [_said(caution) for caution in found if caution.severity is not Severity.NOTE]
    notes = [f"-# {caution.text}" for caution in found if caution.severity is Severity.NOTE]
    mention = f"<@&{role_id}>\n" if role_id is not None else ""
    words = f"{mention}### {notice.heading}\n{notice.text}"
    return tuple(text for text in ("\n\n".join(first), words, notice.numbers, "\n".join(notes)) if text)


def _notice(notice: Notice, handbook: Handbook, role_id: int | None, last: ui.Item[Any]) -> list[ui.Item[Any]]:
    texts = notice_texts(notice, handbook, role_id)
    shown: list[ui.Item[Any]] = []
    if any(handbook.cautions[found].severity is not Severity.NOTE for found in notice.cautions):
        shown.append(caution_box(texts[0]))
        texts = texts[1:]
    return [*shown, ui.Container(*(ui.TextDisplay[Any](text) for text in texts), last, accent_colour=CARE)]


def _said(caution: Caution) -> str:
    """A caution whole; where it speaks of one colony, with whom it is for."""
    mark = "⚠️ **Danger.**" if caution.severity is Severity.DANGER else "**Take care.**"
    whom = FOR_WHOM.get(caution.id)
    return f"{mark} {caution.text}" if whom is None else f"{mark} *{whom}:* {caution.text}"


def only_role(role_id: int | None) -> discord.AllowedMentions:
    """Leave to mention one role, and nobody else."""
    roles = [] if role_id is None else [discord.Object(role_id)]
    return discord.AllowedMentions(everyone=False, users=False, roles=roles)
