"""Whether a keeper is still in any server of the bot, or the account exists at all. Fulfils `services.leaving.People`.

Asked over HTTP, so that servers of other processes count too, and an outage of one hides nobody.
"""

from __future__ import annotations

import discord

from bot.adapters.chat.messenger import ChatMessenger
from bot.adapters.chat.refusals import NO_MEMBER, NO_USER, code_of
from bot.services.errors import DeliveryError
from bot.services.leaving import Presence
from bot.services.records import KeeperId


class ChatPresence:
    """The people of one client."""

    def __init__(self, client: discord.Client, messenger: ChatMessenger) -> None:
        self._client = client
        self._messenger = messenger

    async def presence_of(self, keeper_id: KeeperId) -> Presence:
        """Whether a keeper is in any server of the bot.

        Raises:
            DeliveryError: the platform does not tell now.
        """
        try:
            await self._messenger.ask(self._client.fetch_user(keeper_id))
        except DeliveryError as error:
            if code_of(error) == NO_USER:
                return Presence.DELETED
            raise
        for guild in await self._messenger.ask(self._guilds()):
            if await self._is_member(guild, keeper_id):
                return Presence.HERE
        return Presence.LEFT

    async def _guilds(self) -> list[discord.Guild]:
        return [guild async for guild in self._client.fetch_guilds(limit=None, with_counts=False)]

    async def _is_member(self, guild: discord.Guild, keeper_id: KeeperId) -> bool:
        try:
            await self._messenger.ask(guild.fetch_member(keeper_id))
        except DeliveryError as error:
            if code_of(error) in {NO_MEMBER, NO_USER}:
                return False
            raise
        return True
