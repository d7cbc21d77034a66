"""When a keeper whose direct messages are refused is reminded in a private thread instead.

Only where they agreed and the moderators allow it, once a local day, and no longer than the door stays closed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from bot.care.duty import Urgency
from bot.care.localtime import local_day
from bot.services.looks import next_look
from bot.services.ports import UnitOfWork
from bot.services.records import KeeperRecord
from bot.services.thread_records import ThreadReminder


async def ask_for_thread(work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> None:
    """After a refused message: look at the keeper's thread at once, unless it was used on this local day."""
    ways = await work.threads.ways(keeper.id)
    if not ways:
        return
    known = await work.threads.get(keeper.id)
    if known is None:
        first = ways[0]
        assert first.thread_channel_id is not None
        known = ThreadReminder(keeper_id=keeper.id, guild_id=first.guild_id, channel_id=first.thread_channel_id)
    if known.nonce is None and known.told_on != local_day(now, keeper.settings.zone):
        await work.threads.save(replace(known, next_at=now))


def next_word(keeper: KeeperRecord, now: datetime) -> datetime:
    """The digest of the keeper's next local day. UTC."""
    at = next_look(keeper, now, Urgency.ROUTINE)
    if local_day(at, keeper.settings.zone) == local_day(now, keeper.settings.zone):
        at = next_look(keeper, at, Urgency.ROUTINE)
    return at
