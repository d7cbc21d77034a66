"""The buttons and pickers of the season; all of them outlive restarts. What they do is in `season_acts`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, Self, cast

import discord
from discord import ui

from bot.adapters.chat import season_marks
from bot.adapters.chat.presenters.text import OPTION, short
from bot.adapters.chat.season_marks import DeskAct, MemberAct
from bot.care.season.community import SeasonStage
from bot.services.records import ColonyId, ColonyRecord
from bot.services.season_members import Sight
from bot.services.season_records import Notice, NoticeId, NoticeState

MOST_OPTIONS = 25
UNDER: Mapping[SeasonStage, tuple[MemberAct, ...]] = {
    SeasonStage.PREPARE: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.NOT_FOR_ME),
    SeasonStage.WIND_DOWN: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.PUPAE, MemberAct.NOT_FOR_ME),
    SeasonStage.COOL_DOWN: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.PUPAE, MemberAct.NOT_FOR_ME),
    SeasonStage.MID_REST: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.AWAKE, MemberAct.NOT_FOR_ME),
    SeasonStage.WARM_UP: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.AWAKE, MemberAct.NOT_FOR_ME),
    SeasonStage.WELCOME_BACK: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.AWAKE, MemberAct.NOT_FOR_ME),
    SeasonStage.NOTHING_DUE: (MemberAct.PLAN, MemberAct.REMIND, MemberAct.NOT_FOR_ME),
}
"""Buttons under the notice of a stage: what can be seen then can be told."""
ASKS = {Sight.AWAKE: "Which colony is awake?", Sight.PUPAE: "Which colony still has eggs or pupae?"}
DESK_LABELS = {
    DeskAct.APPROVE: "Approve",
    DeskAct.EDIT: "Edit text…",
    DeskAct.WHEN: "Day and hour…",
    DeskAct.NOW: "Post now",
    DeskAct.DAY: "A day later",
    DeskAct.WEEK: "A week later",
    DeskAct.CANCEL: "Do not post",
    DeskAct.RETRACT: "Take it back",
    DeskAct.DROP: "Drop the new words",
    DeskAct.LOOK: "Look again",
}
_MOVE = (DeskAct.NOW, DeskAct.WHEN, DeskAct.DAY, DeskAct.WEEK)
DESK_ROWS: Mapping[NoticeState, tuple[tuple[DeskAct, ...], ...]] = {
    NoticeState.DRAFT: ((DeskAct.APPROVE, DeskAct.EDIT, DeskAct.CANCEL, DeskAct.LOOK), _MOVE),
    NoticeState.SCHEDULED: ((DeskAct.EDIT, DeskAct.CANCEL, DeskAct.LOOK), _MOVE),
    NoticeState.PAUSED: ((DeskAct.EDIT, DeskAct.CANCEL, DeskAct.LOOK), _MOVE),
    NoticeState.POSTING: ((DeskAct.LOOK,),),
    NoticeState.POSTED: ((DeskAct.EDIT, DeskAct.RETRACT, DeskAct.LOOK),),
    NoticeState.CANCELLED: (),
    NoticeState.RETRACTED: (),
}
WAITING_ROW = (DeskAct.APPROVE, DeskAct.DROP)
"""Before the others where new words of a posted notice wait."""
NOTHING = (discord.SelectOption(label="–"),)
_GREEN = frozenset({DeskAct.APPROVE, MemberAct.PLAN})
_RED = frozenset({DeskAct.CANCEL, DeskAct.RETRACT})


class SeasonActs(Protocol):
    """What presses lead to; the client carries it."""

    async def member(self, interaction: discord.Interaction, act: MemberAct) -> None:
        """A button under a notice."""
        ...

    async def desk(self, interaction: discord.Interaction, act: DeskAct, notice_id: NoticeId) -> None:
        """A moderator's step."""
        ...

    async def seen(self, interaction: discord.Interaction, sight: Sight, colony_id: ColonyId) -> None:
        """Something was seen in a colony."""
        ...

    async def walk(self, interaction: discord.Interaction, number: int) -> None:
        """One of a member's colonies, by its number in their list."""
        ...

    async def rest_form(self, interaction: discord.Interaction, colony_id: ColonyId, number: int) -> None:
        """The form of a rest."""
        ...


class SeasonHost(Protocol):
    """What the client carries for the season."""

    season_acts: SeasonActs


def acts(interaction: discord.Interaction) -> SeasonActs:
    """What presses lead to."""
    return cast("SeasonHost", interaction.client).season_acts


class MemberButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=season_marks.MEMBER):
    """A button under a posted notice, in the language of the notice; anybody may press it."""

    def __init__(self, act: MemberAct, notice: NoticeId, label: str = "–") -> None:
        identifier = season_marks.member(act, notice)
        super().__init__(ui.Button(label=label, style=_style(act), custom_id=identifier))
        self.act, self.notice = act, notice

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(MemberAct(match["act"]), NoticeId(int(match["notice"])))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Answer the member in private."""
        await acts(interaction).member(interaction, self.act)


class DeskButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=season_marks.DESK):
    """A moderator's step; rights are looked at with every press."""

    def __init__(self, act: DeskAct, notice: Notice | NoticeId) -> None:
        number = notice.id if isinstance(notice, Notice) else notice
        posted = isinstance(notice, Notice) and notice.state is NoticeState.POSTED
        label = "Amend text…" if posted and act is DeskAct.EDIT else DESK_LABELS[act]
        super().__init__(ui.Button(label=label, style=_style(act), custom_id=f"wb:sd:{act.value}:{number}"))
        self.act, self.notice = act, NoticeId(number)

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press; an act of another version of the bot only looks."""
        known = {act.value for act in DeskAct}
        act = DeskAct(match["act"]) if match["act"] in known else DeskAct.LOOK
        return cls(act, NoticeId(int(match["notice"])))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Take the step."""
        await acts(interaction).desk(interaction, self.act, self.notice)


class NoticePicker(ui.DynamicItem[ui.Select[ui.LayoutView]], template=season_marks.PICK):
    """Opens a notice on the desk."""

    def __init__(self, options: Sequence[discord.SelectOption]) -> None:
        super().__init__(_picker("wb:sl", "Open a notice…", options))

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, item: ui.Item[Any], __: re.Match[str], /) -> Self:
        """Read a choice."""
        found = cls(NOTHING)
        if isinstance(item, ui.Select):
            found.item = item
        return found

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show the notice."""
        await acts(interaction).desk(interaction, DeskAct.LOOK, NoticeId(int(self.item.values[0])))


class SeenPicker(ui.DynamicItem[ui.Select[ui.LayoutView]], template=season_marks.SEEN):
    """Asks in which colony something was seen."""

    def __init__(self, sight: Sight, options: Sequence[discord.SelectOption]) -> None:
        super().__init__(_picker(season_marks.seen(sight), ASKS[sight], options))
        self.sight = sight

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, item: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a choice."""
        found = cls(Sight(match["sight"] or Sight.AWAKE), NOTHING)
        if isinstance(item, ui.Select):
            found.item = item
        return found

    async def callback(self, interaction: discord.Interaction) -> None:
        """Write it down."""
        await acts(interaction).seen(interaction, self.sight, ColonyId(int(self.item.values[0])))


class WalkButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=season_marks.WALK):
    """The next colony of a walk through all of a member's."""

    def __init__(self, number: int) -> None:
        button = ui.Button[ui.LayoutView](label="Next colony", custom_id=f"wb:sp:{number}")
        super().__init__(button)
        self.number = number

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["number"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show it."""
        await acts(interaction).walk(interaction, self.number)


class RestButton(ui.DynamicItem[ui.Button[ui.LayoutView]], template=season_marks.FORM):
    """Opens the form of a colony's winter rest."""

    def __init__(self, colony: int, number: int) -> None:
        style = discord.ButtonStyle.primary
        super().__init__(ui.Button(label="Where and when…", style=style, custom_id=f"wb:sf:{colony}:{number}"))
        self.colony, self.number = ColonyId(colony), number

    @classmethod
    async def from_custom_id(cls, _: discord.Interaction, __: ui.Item[Any], match: re.Match[str], /) -> Self:
        """Read a press."""
        return cls(int(match["colony"]), int(match["number"]))

    async def callback(self, interaction: discord.Interaction) -> None:
        """Show the form."""
        await acts(interaction).rest_form(interaction, self.colony, self.number)


SEASON_ITEMS: tuple[type[ui.DynamicItem[Any]], ...] = (
    MemberButton,
    DeskButton,
    NoticePicker,
    SeenPicker,
    WalkButton,
    RestButton,
)


def colony_options(records: Sequence[ColonyRecord]) -> list[discord.SelectOption]:
    """Colonies to choose from."""
    return [
        discord.SelectOption(
            label=short(record.colony.name, OPTION),
            value=str(record.id),
            description=short(record.colony.species, OPTION),
        )
        for record in records[:MOST_OPTIONS]
    ]


def _style(act: MemberAct | DeskAct) -> discord.ButtonStyle:
    if act in _GREEN:
        return discord.ButtonStyle.success
    return discord.ButtonStyle.danger if act in _RED else discord.ButtonStyle.secondary


def _picker(identifier: str, placeholder: str, options: Sequence[discord.SelectOption]) -> ui.Select[ui.LayoutView]:
    return ui.Select(
        custom_id=identifier, placeholder=placeholder, options=list(options[:MOST_OPTIONS]), min_values=1, max_values=1
    )
