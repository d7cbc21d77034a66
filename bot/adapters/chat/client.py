"""The client: least rights, little memory, commands synced only when they changed, buttons known from the start."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Sequence

import aiohttp
import discord
import structlog
from discord import app_commands

from bot.adapters.chat.ask_handing import HANDING_ITEMS
from bot.adapters.chat.ask_items import ASK_ITEMS
from bot.adapters.chat.buttons import DYNAMIC_ITEMS
from bot.adapters.chat.commands import build_commands
from bot.adapters.chat.due_item import DueButton
from bot.adapters.chat.erase_item import EraseButton
from bot.adapters.chat.errors import answer_error
from bot.adapters.chat.gate import Gate
from bot.adapters.chat.history_item import HistoryButton
from bot.adapters.chat.logger_item import ForgetButton, KeepButton
from bot.adapters.chat.messenger import ChatMessenger
from bot.adapters.chat.nest_form import NestButton
from bot.adapters.chat.once import Told
from bot.adapters.chat.picture_item import PictureButton
from bot.adapters.chat.presence import ChatPresence
from bot.adapters.chat.season_acts import SeasonChat
from bot.adapters.chat.season_hall import ChatHall
from bot.adapters.chat.season_items import SEASON_ITEMS
from bot.adapters.chat.services import ChatServices
from bot.adapters.chat.thread_item import ThreadButton
from bot.adapters.chat.threads import ChatThreads

log = structlog.get_logger()
COMMANDS_MARK = "commands"
"""Name of the stored fact: hash of the command definitions that were synced last."""
LONGEST_RATE_WAIT = 60.0
RATE_LIMITED, SCOPE = 429, "X-RateLimit-Scope"
"""Limits of scope “shared” are not held against the bot (the platform's documentation of rate limits)."""
RECORD_ITEMS = (EraseButton, HistoryButton, KeepButton, ForgetButton, PictureButton, ThreadButton, DueButton)


class Tree(app_commands.CommandTree["ChatClient"]):
    """All commands; every error of theirs gets a sentence."""

    async def on_error(
        self, interaction: discord.Interaction[ChatClient], error: app_commands.AppCommandError, /
    ) -> None:
        """Answer the asker instead of only logging."""
        await answer_error(interaction, error)


class ChatClient(discord.AutoShardedClient):
    """The bot on the platform. Needs no privileged intent: it reads commands, buttons and forms, never messages.

    Args:
        services: everything it may call.
        shard_count: fixed number of connections; `None` lets the platform decide.
        shard_ids: those of this process, where several share the work; `None` takes all.
    """

    def __init__(
        self, services: ChatServices, *, shard_count: int | None = None, shard_ids: Sequence[int] | None = None
    ) -> None:
        super().__init__(
            intents=discord.Intents(guilds=True),
            allowed_mentions=discord.AllowedMentions.none(),
            member_cache_flags=discord.MemberCacheFlags.none(),
            chunk_guilds_at_startup=False,
            max_messages=None,
            max_ratelimit_timeout=LONGEST_RATE_WAIT,
            shard_count=shard_count,
            shard_ids=None if shard_ids is None else list(shard_ids),  # type: ignore[arg-type] # None: all of them
            http_trace=self._listening(),
        )
        self.services = services
        self.gate = Gate()
        self.told = Told()
        self.messenger = ChatMessenger(self)
        self.threads = ChatThreads(self, self.messenger)
        self.presence = ChatPresence(self, self.messenger)
        self.hall = ChatHall(self, self.messenger, services.handbook, services.languages)
        self.season_acts = SeasonChat(services, self.hall)
        self.tree = Tree(self)

    def _listening(self) -> aiohttp.TraceConfig:
        """Count every answer of the platform, those to the library's own repetitions too."""
        self.answers = Counter[int]()

        async def heard(_: object, __: object, told: aiohttp.TraceRequestEndParams) -> None:
            self.answers[told.response.status] += 1
            if told.response.status == RATE_LIMITED and told.response.headers.get(SCOPE) != "shared":
                self.messenger.rate_limited()

        trace = aiohttp.TraceConfig()
        trace.on_request_end.append(heard)
        return trace

    async def setup_hook(self) -> None:
        """Once after the login: buttons, commands, and a sync if the definitions are new."""
        self.register_items()
        for command in build_commands():
            self.tree.add_command(command)
        await self.sync_if_changed()

    def register_items(self) -> None:
        """Make the classes behind our buttons known; safe to repeat, and worth repeating (see buttons.py)."""
        self.add_dynamic_items(*DYNAMIC_ITEMS, NestButton, *RECORD_ITEMS, *SEASON_ITEMS, *ASK_ITEMS, *HANDING_ITEMS)

    async def sync_if_changed(self) -> bool:
        """Hand the commands to the platform when their definition differs from the one handed over last."""
        wanted = definition_hash(self.tree)
        async with self.services.units() as work:
            if await work.marks.get(COMMANDS_MARK) == wanted:
                return False
        await self.tree.sync()
        async with self.services.units() as work:
            await work.marks.set(COMMANDS_MARK, wanted)
            await work.commit()
        log.info("commands_synced", commands=len(self.tree.get_commands()))
        return True


def definition_hash(tree: Tree) -> str:
    """A digest of all definitions as the platform would get them, and of the library's version."""
    definitions = [command.to_dict(tree) for command in tree.get_commands()]
    text = json.dumps([discord.__version__, definitions], sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
