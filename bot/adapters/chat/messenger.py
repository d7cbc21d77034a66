"""Reminders as direct messages: one request each, with a nonce, and every refusal in the words of the services.

Implements `services.ports.Messenger`. A stored channel id needs no look-up; opening doors is rare and slow on purpose,
because the platform blocks bots that open many.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Sequence
from typing import Any, TypeVar

import aiohttp
import discord
from discord import ui

from bot.adapters.chat import marks
from bot.adapters.chat.buttons import board_layout
from bot.adapters.chat.layout import Layout, care_box, caution_box, identifiers, page_layouts
from bot.adapters.chat.people_items import digest_rows
from bot.adapters.chat.presenters.board import arrange
from bot.adapters.chat.presenters.digest import opening
from bot.adapters.chat.presenters.lines import from_digest
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.refusals import TOO_MANY_DOORS, UNKNOWN_CHANNEL, UNKNOWN_MESSAGE, meaning
from bot.adapters.chat.traffic import OVERALL_PER_SECOND, SECONDS_BETWEEN_DOORS, Allowance, Fuse
from bot.services.errors import DeliveryError, OutcomeUnknownError, TryLaterError
from bot.services.ports import Digest, Posted
from bot.services.records import KeeperId

TIMEOUT_SECONDS = 60
LOOK_BACK = 20
"""Newest messages among which a delivery is looked for."""
NONCE_LIMIT = 25
T = TypeVar("T")


class ChatMessenger:
    """Direct messages of one client."""

    def __init__(self, client: discord.Client) -> None:
        self._client = client
        self._overall = Allowance(OVERALL_PER_SECOND, OVERALL_PER_SECOND)
        self._doors = Allowance(1 / SECONDS_BETWEEN_DOORS, 1)
        self._fuse = Fuse()
        self._door_fuse = Fuse()

    @property
    def stopped(self) -> float:
        """Seconds for which nothing is sent because the platform refused too much; 0 when all goes out."""
        return self._fuse.wait(_steady())

    @property
    def doors_stopped(self) -> float:
        """Seconds for which no new direct-message channel is opened; 0 when they are."""
        return self._door_fuse.wait(_steady())

    def rate_limited(self) -> None:
        """A rate limit that the library waits out by itself counts towards a ban all the same."""
        self._fuse.refused(_steady())

    async def open_door(self, keeper_id: KeeperId) -> int:
        """Open the direct-message channel and return its id.

        Raises:
            DoorRefusedError, KeeperGoneError, TryLaterError: also when another door was opened a moment ago.
        """
        at = _steady()
        wait = self._door_fuse.wait(at) or self._doors.take(at)
        if wait:
            raise TryLaterError(wait)
        try:
            channel = await self.ask(self._client.create_dm(discord.Object(keeper_id)))
        except OutcomeUnknownError:
            raise TryLaterError(SECONDS_BETWEEN_DOORS) from None
        return channel.id

    async def send_digest(self, channel_id: int, digest: Digest, *, quiet: bool) -> Posted:
        """Send one reminder; cautions and news too long for it go ahead in messages of their own.

        Raises:
            DoorRefusedError, KeeperGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        words = opening(digest)
        scope = marks.of_delivery(digest.delivery_id)
        rows = digest_rows(digest)
        lines = [from_digest(line) for line in digest.lines]
        layout = board_layout(arrange(scope, words.fixed, lines, spare=2 * len(rows)), *rows)
        ahead = [Layout(caution_box(text)) for text in words.ahead] + [Layout(care_box(text)) for text in words.news]
        try:
            return await self._send_all(channel_id, [*ahead, layout], digest.nonce, quiet=quiet)
        except _ChannelLostError:
            channel_id = await self.open_door(digest.keeper_id)
            return await self._send_all(channel_id, [*ahead, layout], digest.nonce, quiet=quiet)
        except _DeliveredError:
            found = await self.find_digest(channel_id, digest)
            if found is None:
                raise
            return found

    async def find_digest(self, channel_id: int, digest: Digest) -> Posted | None:
        """Look among the newest messages of the channel for this delivery, by the identifiers of its buttons."""
        ending = f":{marks.of_delivery(digest.delivery_id).code}"
        try:
            messages = await self.ask(self._history(channel_id))
        except _ChannelLostError:
            channel_id = await self.open_door(digest.keeper_id)
            messages = await self.ask(self._history(channel_id))
        for message in messages:
            ours = message.author.id == (self._client.user.id if self._client.user else 0)
            if ours and any(identifier.endswith(ending) for identifier in identifiers(message)):
                return Posted(channel_id, message.id)
        return None

    async def greet(self, channel_id: int, page: Page, nonce: str, *more: ui.Item[Any], quiet: bool = False) -> None:
        """Say something of ours in a channel, once for each nonce; `more` (a row of buttons) stands under it.

        Raises:
            DeliveryError: see `send_digest`.
        """
        for number, layout in enumerate(page_layouts(page, *more)):
            await self._send(channel_id, layout, f"{nonce[: NONCE_LIMIT - 2]}.{number}", quiet=quiet)

    async def ask(self, request: Awaitable[T]) -> T:
        """One request within the allowance and a time limit.

        Raises:
            DeliveryError: whatever happened, in our words.
        """
        await self._turn(request)
        try:
            async with asyncio.timeout(TIMEOUT_SECONDS):
                return await request
        except (discord.DiscordException, aiohttp.ClientError, TimeoutError, OSError) as error:
            raise self._heed(error) from error

    async def _history(self, channel_id: int) -> list[discord.Message]:
        return [message async for message in self._channel(channel_id).history(limit=LOOK_BACK)]

    async def _send_all(self, channel_id: int, layouts: Sequence[Layout], nonce: str, *, quiet: bool) -> Posted:
        """Several messages in their order; the last, which has the nonce itself, is the one that is recorded."""
        for number, before in enumerate(layouts[:-1]):
            await self._send(channel_id, before, f"{nonce[: NONCE_LIMIT - 2]}.{number}", quiet=quiet)
        return await self._send(channel_id, layouts[-1], nonce, quiet=quiet)

    async def _send(self, channel_id: int, layout: Layout, nonce: str, *, quiet: bool) -> Posted:
        nobody = discord.AllowedMentions.none()
        sending = self._channel(channel_id).send(view=layout, nonce=nonce, silent=quiet, allowed_mentions=nobody)
        return Posted(channel_id, (await self.ask(sending)).id)

    def _channel(self, channel_id: int) -> discord.PartialMessageable:
        return self._client.get_partial_messageable(channel_id, type=discord.ChannelType.private)

    async def _turn(self, request: Awaitable[T]) -> None:
        """Wait for a place in the allowance; while the fuse is blown nothing is asked at all."""
        blocked = self._fuse.wait(_steady())
        if blocked:
            if asyncio.iscoroutine(request):
                request.close()
            raise TryLaterError(blocked)
        await asyncio.sleep(self._overall.reserve(_steady()))

    def _heed(self, error: Exception) -> DeliveryError:
        """Learn from a refusal, and say what it means."""
        if isinstance(error, discord.HTTPException):
            if error.status in {401, 403}:
                self._fuse.refused(_steady())
            if error.status == 429:
                self._fuse.blow(_steady())
            if error.code == TOO_MANY_DOORS:
                self._door_fuse.blow(_steady())
            if error.code == UNKNOWN_CHANNEL:
                return _ChannelLostError("no such channel")
            if error.code == UNKNOWN_MESSAGE:
                return _DeliveredError("delivered before, and perhaps deleted since")
        return meaning(error)


class _ChannelLostError(OutcomeUnknownError):
    """The stored channel no longer exists; the door must be opened anew."""


class _DeliveredError(OutcomeUnknownError):
    """The platform knows the nonce but not the message any more."""


def _steady() -> float:
    return asyncio.get_running_loop().time()
