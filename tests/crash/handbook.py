"""The handbook and the guide that ship with the bot, read once for all bots and stages of a process."""

from __future__ import annotations

from functools import cache

import bot.app
from bot.settings import Settings


def remember_handbook() -> None:
    """Read both now, and let later starts in this process, and in its forks, find them read."""
    for name in ("load_handbook", "load_guide"):
        reader = getattr(bot.app, name)
        if not hasattr(reader, "cache_info"):
            setattr(bot.app, name, cache(reader))
    bot.app.handbook_of(Settings(token=None))
