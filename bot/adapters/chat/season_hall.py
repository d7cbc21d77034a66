"""The community's channels on the platform: rights looked at before anything is sent, refusals as sentences.

Fulfils `services.season_hall.SeasonHall`. Requests go through the messenger's allowance and fuses, as reminders do.
"""

from __future__ import annotations

from collections.abc import Awaitable, Sequence
from typing import TypeVar

import discord
import structlog

from bot.adapters.chat.layout import Layout, identifiers, page_layouts
from bot.adapters.chat.messenger import NONCE_LIMIT, ChatMessenger
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.refusals import (
    NO_ACCESS,
    NO_MEMBER,
    NO_RIGHT,
    NO_USER,
    UNKNOWN_CHANNEL,
    UNKNOWN_MESSAGE,
    code_of,
)
from bot.adapters.chat.season_layout import desk_layout, notice_layout, only_role, picture_file
from bot.adapters.chat.season_marks import is_notice
from bot.adapters.chat.threads import thread_lacks
from bot.care.handbook import Handbook
from bot.care.season.language import Languages, SeasonWords, wording
from bot.services.errors import BadMessageError, DeliveryError, TryLaterError
from bot.services.pictures import Picture
from bot.services.ports import Posted
from bot.services.records import KeeperId
from bot.services.season_desk import NoticeView, missing_approvals
from bot.services.season_errors import HallClosedError, NoticeGoneError
from bot.services.season_hall import HallHealth
from bot.services.season_records import GuildId, Notice, SeasonSetup

log = structlog.get_logger()
OUTAGE_SECONDS = 300.0
LOOK_BACK = 50
"""Newest messages of a channel among which a notice is looked for."""
NEEDED = {
    "view_channel": "View Channel",
    "send_messages": "Send Messages",
    "read_message_history": "Read Message History",
}
"""Rights a notice needs, by the platform's own names. History: only with it a doubtful try can be looked up."""
GONE = "The channel for season notices is gone. Choose another with /season setup."
REFUSED = f"I may not write there. Grant me these rights in the channel: {', '.join(NEEDED.values())}."
LEFT = "I am no longer in this server."
T = TypeVar("T")


class ChatHall:
    """The halls of all communities of one client."""

    def __init__(
        self, client: discord.Client, messenger: ChatMessenger, handbook: Handbook, languages: Languages
    ) -> None:
        self._client = client
        self._messenger = messenger
        self._handbook = handbook
        self._languages = languages

    async def look(self, setup: SeasonSetup) -> HallHealth:
        """Look at channels, rights and role without sending anything.

        Raises:
            TryLaterError: the platform does not show the community right now (an outage).
        """
        guild = self._client.get_guild(setup.guild_id)
        if guild is None and self._elsewhere(setup.guild_id):
            return HallHealth()
        if guild is None and self._client.is_ready():
            return HallHealth(blocking=(LEFT,))
        if guild is None or guild.unavailable:
            raise TryLaterError(OUTAGE_SECONDS)
        blocking = _lacks(guild, setup.channel_id, GONE)
        warnings = [] if blocking else [*_mention(guild, setup), *_pictures(guild, setup)]
        if setup.helper_channel_id is not None:
            gone = "The moderators’ channel is gone. Choose another with /season setup."
            warnings += _lacks(guild, setup.helper_channel_id, gone)
        if setup.thread_channel_id is not None:
            warnings += thread_lacks(guild, setup.thread_channel_id)
        return HallHealth(blocking=tuple(blocking), warnings=tuple(warnings))

    async def post(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> Posted:
        """Post a notice with its nonce, mentioning the chosen role alone; rather without its picture than never.

        A refusal is certain, so the second request, which has the same nonce, cannot be a second message.

        Raises:
            HallClosedError, NoticeGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        role, words = self._role(setup), self._words(notice)
        if picture is not None and self._takes_pictures(setup):
            try:
                layout = notice_layout(notice, self._handbook, words, role, picture)
                return await self._send(setup.channel_id, layout, notice.nonce, role, picture)
            except (BadMessageError, HallClosedError) as refused:
                log.warning("notice_without_picture", guild=int(setup.guild_id), error=type(refused).__name__)
        layout = notice_layout(notice, self._handbook, words, role)
        return await self._send(setup.channel_id, layout, notice.nonce, role)

    async def find(self, channel_id: int, notice: Notice) -> Posted | None:
        """Look among the newest messages of the channel for this notice, by the identifiers of its buttons.

        Raises:
            HallClosedError, TryLaterError, OutcomeUnknownError.
        """
        own = self._client.user.id if self._client.user else 0
        for message in await self._ask(self._history(channel_id)):
            if message.author.id == own and any(is_notice(name, notice.id) for name in identifiers(message)):
                return Posted(channel_id, message.id)
        return None

    async def amend(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> None:
        """Put the present words and picture into the posted message; nobody is mentioned once more.

        Raises:
            NoticeGoneError, DeliveryError.
        """
        shown = picture if self._takes_pictures(setup) else None
        layout = notice_layout(notice, self._handbook, self._words(notice), self._role(setup), shown)
        files = [] if shown is None else [picture_file(shown)]
        nobody = discord.AllowedMentions.none()
        await self._ask(self._message(notice).edit(view=layout, attachments=files, allowed_mentions=nobody))

    async def retract(self, notice: Notice) -> None:
        """Remove the posted message; one that is gone already is fine.

        Raises:
            DeliveryError.
        """
        try:
            await self._ask(self._message(notice).delete())
        except NoticeGoneError:
            return

    async def tell_waiting(self, setup: SeasonSetup, notice: Notice, nonce: str) -> None:
        """Show moderators a notice that waits for them, in the helper channel.

        Raises:
            DeliveryError.
        """
        view = NoticeView(notice=notice, setup=setup, missing=missing_approvals(notice, setup))
        if setup.helper_channel_id is not None:
            layout = desk_layout(view, self._handbook, self._words(notice))
            await self._send(setup.helper_channel_id, layout, nonce, None)

    async def tell_trouble(self, setup: SeasonSetup, sentences: Sequence[str], nonce: str) -> None:
        """Tell moderators what is in the way, in the helper channel.

        Raises:
            DeliveryError.
        """
        if setup.helper_channel_id is None:
            return
        page = Page(title="The season: something is in the way", blocks=tuple(sentences))
        for number, layout in enumerate(page_layouts(page)):
            await self._send(setup.helper_channel_id, layout, f"{nonce[: NONCE_LIMIT - 2]}.{number}", None)

    async def ring(self, setup: SeasonSetup, sentence: str, nonce: str) -> None:
        """Say what is wrong with the whole bot, in the helper channel.

        Raises:
            DeliveryError.
        """
        if setup.helper_channel_id is not None:
            (layout,) = page_layouts(Page(title="Something is wrong with me", blocks=(sentence,)))
            await self._send(setup.helper_channel_id, layout, nonce, None)

    async def still_members(self, guild_id: GuildId, keepers: Sequence[KeeperId]) -> frozenset[KeeperId]:
        """Who of these is still in the community.

        Raises:
            DeliveryError.
        """
        guild = self._client.get_guild(guild_id)
        if guild is None or guild.unavailable:
            raise TryLaterError(OUTAGE_SECONDS)
        return frozenset([keeper for keeper in keepers if await self._is_member(guild, keeper)])

    async def _is_member(self, guild: discord.Guild, keeper: KeeperId) -> bool:
        try:
            await self._ask(guild.fetch_member(keeper))
        except DeliveryError as error:
            if code_of(error) in {NO_MEMBER, NO_USER}:
                return False
            raise
        return True

    def _role(self, setup: SeasonSetup) -> int | None:
        """The role to mention, as far as it is still there."""
        guild = self._client.get_guild(setup.guild_id)
        if guild is None:
            return setup.role_id if self._elsewhere(setup.guild_id) else None
        known = setup.role_id is not None and guild.get_role(setup.role_id) is not None
        return setup.role_id if known else None

    def _elsewhere(self, guild_id: GuildId) -> bool:
        """Whether another process is connected for a community: it is not seen from here, and refusals will tell."""
        ours, count = getattr(self._client, "shard_ids", None), self._client.shard_count
        return ours is not None and bool(count) and (guild_id >> 22) % (count or 1) not in ours

    def _words(self, notice: Notice) -> SeasonWords:
        return wording(self._languages, notice.language)

    def _takes_pictures(self, setup: SeasonSetup) -> bool:
        """Whether files are welcome in the channel, as far as can be seen from here."""
        guild = self._client.get_guild(setup.guild_id)
        return guild is not None and not _pictures(guild, setup)

    def _message(self, notice: Notice) -> discord.PartialMessage:
        if notice.channel_id is None or notice.message_id is None:
            raise NoticeGoneError("it was never posted")
        return self._client.get_partial_messageable(notice.channel_id).get_partial_message(notice.message_id)

    async def _history(self, channel_id: int) -> list[discord.Message]:
        channel = self._client.get_partial_messageable(channel_id)
        return [message async for message in channel.history(limit=LOOK_BACK)]

    async def _send(
        self, channel_id: int, layout: Layout, nonce: str, role_id: int | None, picture: Picture | None = None
    ) -> Posted:
        channel = self._client.get_partial_messageable(channel_id)
        files = [] if picture is None else [picture_file(picture)]
        sending = channel.send(view=layout, files=files, nonce=nonce, allowed_mentions=only_role(role_id))
        return Posted(channel_id, (await self._ask(sending)).id)

    async def _ask(self, request: Awaitable[T]) -> T:
        """One request through the messenger's allowance; what a channel may answer becomes a sentence."""
        try:
            return await self._messenger.ask(request)
        except DeliveryError as error:
            code = code_of(error)
            if code == UNKNOWN_CHANNEL:
                raise HallClosedError(GONE) from error
            if code == UNKNOWN_MESSAGE:
                raise NoticeGoneError("the message is gone") from error
            if code in {NO_ACCESS, NO_RIGHT}:
                raise HallClosedError(REFUSED) from error
            raise


def _lacks(guild: discord.Guild, channel_id: int, gone: str) -> list[str]:
    """What is missing to write into a channel, as a sentence that says what to grant."""
    channel = guild.get_channel_or_thread(channel_id)
    if channel is None:
        return [gone]
    rights = channel.permissions_for(guild.me)
    missing = [name for right, name in NEEDED.items() if not getattr(rights, right)]
    return [f"I lack rights in <#{channel_id}>. Grant me there: {', '.join(missing)}."] if missing else []


def _pictures(guild: discord.Guild, setup: SeasonSetup) -> list[str]:
    channel = guild.get_channel_or_thread(setup.channel_id)
    if channel is None or channel.permissions_for(guild.me).attach_files:
        return []
    return [f"Notices go out without their picture: grant me Attach Files in <#{channel.id}> for it."]


def _mention(guild: discord.Guild, setup: SeasonSetup) -> list[str]:
    if setup.role_id is None:
        return []
    role, channel = guild.get_role(setup.role_id), guild.get_channel_or_thread(setup.channel_id)
    if role is None:
        return ["The role to mention is gone: notices mention nobody. Choose another with /season setup."]
    may = channel is not None and channel.permissions_for(guild.me).mention_everyone
    if role.mentionable or may:
        return []
    return [
        (
            f"Nobody would be called: I may not mention <@&{role.id}>. Allow everyone to mention it, or grant me "
            f"“Mention @everyone, @here and All Roles” in <#{setup.channel_id}>."
        )
    ]
