"""The handbook that ships with the bot, read once for all bots and stages of a process."""

from __future__ import annotations

from functools import cache

import bot.app
from bot.settings import Settings

READER = "load_handbook"


def remember_handbook() -> None:
    """Read it now, and let later starts in this process, and in its forks, find it read."""
    reader = getattr(bot.app, READER)
    if not hasattr(reader, "cache_info"):
        setattr(bot.app, READER, cache(reader))
    bot.app.handbook_of(Settings(token=None))
