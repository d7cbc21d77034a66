"""A season notice and the moderators' desk as components; the desk shows the notice itself, word for word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from io import BytesIO
from typing import Any

import discord
from discord import ui

from bot.adapters.chat.layout import CARE, Layout, caution_box
from bot.adapters.chat.presenters.season import desk_lines
from bot.adapters.chat.presenters.text import fits, short
from bot.adapters.chat.season_items import DESK_ROWS, UNDER, WAITING_ROW, DeskButton, MemberButton
from bot.care.cautions import Caution, Severity, in_order
from bot.care.handbook import Handbook
from bot.care.season.language import SeasonWords
from bot.services.pictures import Picture
from bot.services.season_desk import NoticeView
from bot.services.season_records import Notice

PREVIEW = "-# Preview. Members also see the buttons: {buttons}."
PICTURE = "season.png"
ALT = 1_000
"""Most characters of a description of a picture (the platform takes 1,024)."""


def notice_layout(
    notice: Notice, handbook: Handbook, words: SeasonWords, role_id: int | None, picture: Picture | None = None
) -> Layout:
    """A notice as posted: dangers and warnings first, words, figures, small notes, the picture, members' buttons."""
    row = ui.ActionRow[Any](*(MemberButton(act, notice.id, words.button[act.value]) for act in UNDER[notice.stage]))
    return Layout(*_notice(notice, handbook, words, role_id, *_gallery(picture), row))


def desk_layout(view: NoticeView, handbook: Handbook, words: SeasonWords, picture: Picture | None = None) -> Layout:
    """The state of a notice with what can be done, under the notice as members would see it."""
    notice = view.notice
    state = ui.TextDisplay[Any]("\n".join(desk_lines(view)))
    acts = ((WAITING_ROW,) if notice.amendment is not None else ()) + DESK_ROWS[notice.state]
    rows = [ui.ActionRow[Any](*(DeskButton(act, notice) for act in row)) for row in acts]
    desk = ui.Container[Any](state, *rows)
    coming = notice if notice.amendment is None else replace(notice, text=notice.amendment)
    end = ui.TextDisplay[Any](preview_line(notice, words))
    return Layout(*_notice(coming, handbook, words, view.setup.role_id, *_gallery(picture), end), desk)


def preview_line(notice: Notice, words: SeasonWords) -> str:
    """The last line of a preview."""
    return PREVIEW.format(buttons=", ".join(words.button[act.value] for act in UNDER[notice.stage]))


def words_fit(notice: Notice, handbook: Handbook, words: SeasonWords) -> bool:
    """Whether a notice and its desk stay inside one message; the desk's own lines are allowed 600 characters."""
    return fits(*notice_texts(notice, handbook, words, notice.id), preview_line(notice, words), "x" * 600)


def notice_texts(notice: Notice, handbook: Handbook, words: SeasonWords, role_id: int | None) -> tuple[str, ...]:
    """All texts of a notice in their order: cautions, words, figures, notes; the empty ones are left out."""
    found = _cautions(notice, handbook)
    first = [_said(caution, words) for caution in found if caution.severity is not Severity.NOTE]
    notes = [f"-# {words.caution_text(caution)}" for caution in found if caution.severity is Severity.NOTE]
    mention = f"<@&{role_id}>\n" if role_id is not None else ""
    text = f"{mention}### {notice.heading}\n{notice.text}"
    return tuple(text for text in ("\n\n".join(first), text, notice.numbers, "\n".join(notes)) if text)


def picture_file(picture: Picture) -> discord.File:
    """The file that a layout with this picture speaks of."""
    return discord.File(BytesIO(picture.png), PICTURE, description=short(picture.alt, ALT))


def _notice(
    notice: Notice, handbook: Handbook, words: SeasonWords, role_id: int | None, *last: ui.Item[Any]
) -> list[ui.Item[Any]]:
    texts = notice_texts(notice, handbook, words, role_id)
    shown: list[ui.Item[Any]] = []
    if any(caution.severity is not Severity.NOTE for caution in _cautions(notice, handbook)):
        shown.append(caution_box(texts[0]))
        texts = texts[1:]
    return [*shown, ui.Container(*(ui.TextDisplay[Any](text) for text in texts), *last, accent_colour=CARE)]


def _cautions(notice: Notice, handbook: Handbook) -> Sequence[Caution]:
    """In their order; ids of an older handbook that are gone now are passed over."""
    return in_order([name for name in notice.cautions if name in handbook.cautions], handbook.cautions)


def _gallery(picture: Picture | None) -> tuple[ui.Item[Any], ...]:
    if picture is None:
        return ()
    gallery = ui.MediaGallery[Any]()
    gallery.add_item(media=f"attachment://{PICTURE}", description=short(picture.alt, ALT))
    return (gallery,)


def _said(caution: Caution, words: SeasonWords) -> str:
    """A caution whole; where it speaks of one colony, with whom it is for."""
    mark = f"⚠️ **{words.danger}**" if caution.severity is Severity.DANGER else f"**{words.take_care}**"
    whom, text = words.whom.get(caution.id), words.caution_text(caution)
    return f"{mark} {text}" if whom is None else f"{mark} *{whom}* {text}"


def only_role(role_id: int | None) -> discord.AllowedMentions:
    """Leave to mention one role, and nobody else."""
    roles = [] if role_id is None else [discord.Object(role_id)]
    return discord.AllowedMentions(everyone=False, users=False, roles=roles)
