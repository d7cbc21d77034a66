"""Private threads of keepers whose direct messages are closed: only the keeper is let in, and only a number is said.

Fulfils `services.threads.Threads`. Opening a thread has no nonce, so one that a crash left over is looked for by its
name, which tells nobody whose it is. Requests go through the messenger's allowance and fuses, as reminders do.
"""

from __future__ import annotations

import hashlib
from base64 import b32encode
from collections.abc import Awaitable, Mapping
from typing import Literal, TypeVar

import discord

from bot.adapters.chat.layout import identifiers, page_layouts
from bot.adapters.chat.messenger import ChatMessenger
from bot.adapters.chat.presenters.thread import thread_page
from bot.adapters.chat.refusals import NO_ACCESS, NO_MEMBER, NO_RIGHT, NO_USER, UNKNOWN_CHANNEL, code_of
from bot.adapters.chat.thread_item import thread_row
from bot.services.errors import BadMessageError, DeliveryError, OutcomeUnknownError, TryLaterError
from bot.services.ports import Posted
from bot.services.records import KeeperId
from bot.services.season_errors import HallClosedError
from bot.services.season_records import SeasonSetup
from bot.services.thread_records import ThreadReminder
from bot.services.threads import NotHereError, ThreadGoneError

NEEDED = {
    "view_channel": "View Channel",
    "create_private_threads": "Create Private Threads",
    "send_messages_in_threads": "Send Messages in Threads",
    "read_message_history": "Read Message History",
}
"""Rights a thread needs, by the platform's own names. History: only with it a doubtful try can be looked up."""
CHANNEL_GONE = "The channel for reminder threads is gone. Choose another with /season setup."
REFUSED = f"I may not open reminder threads. Grant me in their channel: {', '.join(NEEDED.values())}."
LOCKED = "A reminder thread of mine was locked. Unlock it, or take reminder threads away with /season setup."
FULL = "This server has as many open threads as it can hold, so I cannot open a reminder thread."
OUTAGE_SECONDS = 300.0
LOOK_BACK = 20
WEEK_MINUTES: Literal[10080] = 10080
LOCKED_CODE, FULL_CODE = 160005, 160006
IN_CHANNEL: Mapping[int, DeliveryError] = {
    UNKNOWN_CHANNEL: HallClosedError(CHANNEL_GONE),
    NO_ACCESS: HallClosedError(REFUSED),
    NO_RIGHT: HallClosedError(REFUSED),
    FULL_CODE: HallClosedError(FULL),
    NO_MEMBER: NotHereError("no member of the server"),
    NO_USER: NotHereError("no such account"),
}
IN_THREAD: Mapping[int, DeliveryError] = {
    **IN_CHANNEL,
    UNKNOWN_CHANNEL: ThreadGoneError("removed"),
    LOCKED_CODE: HallClosedError(LOCKED),
}
T = TypeVar("T")


class ChatThreads:
    """The threads of all communities of one client."""

    def __init__(self, client: discord.Client, messenger: ChatMessenger) -> None:
        self._client = client
        self._messenger = messenger

    async def lacks(self, setup: SeasonSetup) -> tuple[str, ...]:
        """What keeps threads from being opened, as sentences for moderators; nothing is sent.

        Raises:
            TryLaterError: the platform does not show the community right now (an outage).
        """
        guild = self._client.get_guild(setup.guild_id)
        if guild is None or setup.thread_channel_id is None:
            return ()  # of another process; a refusal will tell
        if guild.unavailable:
            raise TryLaterError(OUTAGE_SECONDS)
        return thread_lacks(guild, setup.thread_channel_id)

    async def open(self, reminder: ThreadReminder) -> int:
        """The keeper's own thread under the channel, opened if need be, with nobody else let in; returns its id.

        Raises:
            HallClosedError, NotHereError, TryLaterError, OutcomeUnknownError.
        """
        channel = await self._ask(self._client.fetch_channel(reminder.channel_id), IN_CHANNEL)
        if not isinstance(channel, discord.TextChannel):
            raise HallClosedError(CHANNEL_GONE)
        name, own = thread_name(reminder.keeper_id), self._client.user.id if self._client.user else 0
        for thread in await self._ask(channel.guild.active_threads(), IN_CHANNEL):
            if (thread.parent_id, thread.owner_id, thread.name) == (channel.id, own, name):
                break
        else:
            private = discord.ChannelType.private_thread
            opening = channel.create_thread(
                name=name, type=private, invitable=False, auto_archive_duration=WEEK_MINUTES
            )
            thread = await self._ask(opening, IN_CHANNEL)
        await self._ask(thread.add_user(discord.Object(reminder.keeper_id)), IN_CHANNEL)
        return thread.id

    async def remind(self, thread_id: int, reminder: ThreadReminder) -> Posted:
        """Say how much is due, with the nonce, and nothing about what. The keeper alone is called.

        Raises:
            HallClosedError, ThreadGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        nonce = reminder.nonce or ""
        (layout,) = page_layouts(thread_page(reminder), thread_row(nonce))
        called = discord.AllowedMentions(
            everyone=False, roles=False, replied_user=False, users=[discord.Object(reminder.keeper_id)]
        )
        thread = self._client.get_partial_messageable(thread_id)
        sending = thread.send(view=layout, nonce=nonce, allowed_mentions=called)
        return Posted(thread_id, (await self._ask(sending, IN_THREAD)).id)

    async def find(self, thread_id: int, reminder: ThreadReminder) -> Posted | None:
        """Look among the newest messages of the thread for this word, by the identifier of its button.

        Raises:
            HallClosedError, ThreadGoneError, TryLaterError, OutcomeUnknownError.
        """
        own = self._client.user.id if self._client.user else 0
        for message in await self._ask(self._history(thread_id), IN_THREAD):
            if message.author.id == own and any(name.endswith(f":{reminder.nonce}") for name in identifiers(message)):
                return Posted(thread_id, message.id)
        return None

    async def _history(self, thread_id: int) -> list[discord.Message]:
        thread = self._client.get_partial_messageable(thread_id)
        return [message async for message in thread.history(limit=LOOK_BACK)]

    async def _ask(self, request: Awaitable[T], known: Mapping[int, DeliveryError]) -> T:
        """One request through the messenger's allowance; what a channel or thread may answer becomes our words."""
        try:
            return await self._messenger.ask(request)
        except DeliveryError as error:
            meant = known.get(code_of(error) or 0)
            if meant is not None:
                raise type(meant)(*meant.args) from error
            if isinstance(error, TryLaterError | OutcomeUnknownError | BadMessageError):
                raise
            raise HallClosedError(REFUSED) from error


def thread_lacks(guild: discord.Guild, channel_id: int) -> tuple[str, ...]:
    """What is missing to open threads under a channel, as a sentence that says what to grant."""
    channel = guild.get_channel(channel_id)
    if channel is None:
        return (CHANNEL_GONE,)
    rights = channel.permissions_for(guild.me)
    missing = [name for right, name in NEEDED.items() if not getattr(rights, right)]
    if not missing:
        return ()
    return (f"I cannot open reminder threads in <#{channel_id}>. Grant me there: {', '.join(missing)}.",)


def thread_name(keeper_id: KeeperId) -> str:
    """The name of a keeper's thread: the same every time, and nobody's name."""
    return f"care-{b32encode(hashlib.sha256(f'thread:{keeper_id}'.encode()).digest()).decode()[:8].lower()}"
