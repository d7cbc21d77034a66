"""`/season`: set it up, write and schedule notices, look at log and community; members decide what they share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import discord
from discord import app_commands, ui

from bot.adapters.chat.attachments import show_pictures
from bot.adapters.chat.contact import Contact, meet
from bot.adapters.chat.gate import require_moderator
from bot.adapters.chat.options import LanguageName, ZoneName
from bot.adapters.chat.presenters.answer import month_block
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.season import (
    STATE,
    ahead_page,
    check_page,
    log_page,
    setup_page,
    share_page,
    stage_heading,
)
from bot.adapters.chat.presenters.text import OPTION, short
from bot.adapters.chat.reading import read_time
from bot.adapters.chat.season_acts import community, season_chat
from bot.adapters.chat.season_items import MOST_OPTIONS, NoticePicker
from bot.care.season.community import Half, SeasonStage
from bot.care.season.language import ENGLISH, wording
from bot.care.units import Units
from bot.services.season import SetupChanges
from bot.services.season_desk import Step
from bot.services.season_hall import look_kindly
from bot.services.season_records import Notice

HALVES = {
    "north": (Half.NORTH,),
    "south": (Half.SOUTH,),
    "tropics": (Half.TROPICS,),
    "north and south": (Half.NORTH, Half.SOUTH),
    "north and tropics": (Half.NORTH, Half.TROPICS),
    "south and tropics": (Half.SOUTH, Half.TROPICS),
    "everywhere": tuple(Half),
}
_Halves = Literal[
    "north", "south", "tropics", "north and south", "north and tropics", "south and tropics", "everywhere"
]
_Stage = Literal["prepare", "wind-down", "cool-down", "mid-rest check", "warm-up", "welcome back", "nothing due"]


@app_commands.describe(
    channel="Where notices appear",
    zone="The server's time zone; days and hours of notices are those of it",
    role="The one role that notices mention",
    mention_nobody="Notices mention no role any more",
    moderators_channel="Where I tell you what waits for you",
    leader_role="A role that may lead the season, beside those who manage the server",
    units="Degrees in notices",
    language="Language of notices; a caution without a translation is shown in English",
    members_in="For members on which parts of the earth",
    at="Hour of notices, such as 18:30",
    days_ahead="So many days before a stage begins its notice goes out (7)",
    prepare_ahead="So many days before the first wind-down to call for getting ready (28)",
    drafts_ahead="So many days before a notice its draft is written (10)",
    count="Whether members who agree are counted",
    threads="Where I may open a private thread for a member who agreed, when their direct messages are closed",
    no_threads="I open no such threads any more",
    two_approve="Whether two moderators must approve a notice",
)
async def setup(  # noqa: PLR0913 - each is an option of the command
    interaction: discord.Interaction,
    *,
    channel: discord.TextChannel | None = None,
    zone: ZoneName | None = None,
    role: discord.Role | None = None,
    mention_nobody: bool = False,
    moderators_channel: discord.TextChannel | None = None,
    leader_role: discord.Role | None = None,
    units: Literal["C", "F"] | None = None,
    language: LanguageName | None = None,
    members_in: _Halves | None = None,
    at: str | None = None,
    days_ahead: int | None = None,
    prepare_ahead: int | None = None,
    drafts_ahead: int | None = None,
    count: bool | None = None,
    two_approve: bool | None = None,
    threads: discord.TextChannel | None = None,
    no_threads: bool = False,
) -> None:
    """Show or change how the season is led."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = await chat.lead(interaction)
    if leader_role is not None:
        require_moderator(interaction.permissions)
    changes = SetupChanges(
        channel_id=None if channel is None else channel.id,
        zone_name=zone,
        role_id=0 if mention_nobody else None if role is None else role.id,
        helper_channel_id=None if moderators_channel is None else moderators_channel.id,
        leader_role_id=None if leader_role is None else leader_role.id,
        units=None if units is None else Units(units),
        language=language,
        halves=None if members_in is None else HALVES[members_in],
        post_at=None if at is None else read_time(at),
        lead_days=days_ahead,
        prepare_days=prepare_ahead,
        draft_days=drafts_ahead,
        count=count,
        two_approve=two_approve,
        thread_channel_id=0 if no_threads else None if threads is None else threads.id,
    )
    if changes == SetupChanges():
        kept = await chat.season.setup(guild_id)
    else:
        kept = await chat.season.change(guild_id, changes, interaction.user.id, contact.now)
    words = wording(contact.services.languages, kept.language)
    await contact.reply(setup_page(kept, await look_kindly(chat.hall, kept), words))


@app_commands.describe(
    stage="Write the notice of this stage ahead of its time, or open it",
    members_in="For members in which half, where the server has several",
)
async def draft(
    interaction: discord.Interaction,
    *,
    stage: _Stage | None = None,
    members_in: Literal["north", "south", "tropics"] | None = None,
) -> None:
    """Notices that wait, are scheduled or posted; or one of them on the desk."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = await chat.lead(interaction)
    if stage is None:
        await _list(contact, await chat.desk_cases.list(guild_id))
        return
    half = (await chat.season.setup(guild_id)).halves[0] if members_in is None else Half(members_in)
    notice = await chat.drafts.write(guild_id, SeasonStage(stage), half, interaction.user.id, contact.now)
    step = Step(guild_id, notice.id, interaction.user.id, contact.now)
    await chat.show_desk(contact, await chat.desk_cases.look(step))


async def schedule(interaction: discord.Interaction) -> None:
    """What lies ahead, and when."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = await chat.lead(interaction)
    stages = await chat.drafts.ahead(guild_id, contact.now)
    figures = await chat.counting.shown(guild_id, contact.now)
    kept = await chat.season.setup(guild_id)
    words = contact.services.languages[ENGLISH]
    await contact.reply(ahead_page(stages, figures, kept, words))
    picture = await chat.pictures.ahead(kept, words, contact.now)
    if picture is not None:
        await show_pictures(contact, [picture])


async def log(interaction: discord.Interaction) -> None:
    """Who did what, and when."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = await chat.lead(interaction)
    await contact.reply(log_page(await chat.season.log(guild_id), await chat.season.notices(guild_id)))


async def check(interaction: discord.Interaction) -> None:
    """How the community fares."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = await chat.lead(interaction)
    page = check_page(await chat.checking.community(guild_id, contact.now))
    month = await contact.services.feedback.monthly(guild_id, contact.now.date())
    answers = month_block(month, *await contact.services.asking.titles())
    await contact.reply(replace(page, blocks=(*page.blocks, answers)))


@app_commands.describe(
    count_me="Your colonies count in the season's figures, without your name",
    help_me="Moderators may see when water or a rest step of yours is overdue",
    threads="If your direct messages are closed to me, I may say in a private thread here that something is due",
)
async def share(
    interaction: discord.Interaction,
    *,
    count_me: bool | None = None,
    help_me: bool | None = None,
    threads: bool | None = None,
) -> None:
    """Show or change what you share in this server."""
    contact, chat = await meet(interaction), season_chat(interaction)
    guild_id = community(interaction)
    if count_me is None and help_me is None and threads is None:
        consent = await chat.season.consent(guild_id, contact.keeper_id)
    else:
        consent = await chat.season.agree(
            guild_id, contact.keeper_id, contact.now, counted=count_me, helped=help_me, threads=threads
        )
    allowed = await chat.season.allows_threads(guild_id)
    await contact.reply(share_page(consent, threads_allowed=allowed))


async def _list(contact: Contact, notices: Sequence[Notice]) -> None:
    """All notices of the season, the newest of many; choosing one opens it."""
    if not notices:
        none = "No draft waits. I write each some days ahead; `/season draft stage:` writes one now."
        await contact.reply(Page(title="Notices of the season", blocks=(none,)))
        return
    lines = "\n".join(f"**{STATE[notice.state]}** {stage_heading(notice)}" for notice in notices[-MOST_OPTIONS:])
    options = [
        discord.SelectOption(
            label=short(stage_heading(notice), OPTION), value=str(notice.id), description=STATE[notice.state]
        )
        for notice in notices[-MOST_OPTIONS:]
    ]
    row = ui.ActionRow[Any](NoticePicker(options))
    await contact.reply(Page(title="Notices of the season", blocks=(lines,)), row)
