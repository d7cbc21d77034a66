"""What one beat does: reminders to keepers, then in threads, then season notices; and when the next one must come."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.services.delivery import Dispatcher
from bot.services.season_posting import SeasonDispatcher
from bot.services.tally import Tally
from bot.services.thread_posting import ThreadDispatcher

DRAFTS_EVERY = timedelta(hours=1)
"""How often communities are looked after; each is served once on its local day."""


@dataclass(slots=True)
class Rounds:
    """Holds no fact: what is due is a question to the store, and a restart only looks once more than needed."""

    next_wake: Callable[[], Awaitable[datetime | None]]
    """The earliest moment at which a keeper must be looked at."""
    reminders: Dispatcher
    threads: ThreadDispatcher
    notices: SeasonDispatcher
    draft_due: Callable[[datetime], Awaitable[int]]
    _drafted: datetime | None = None

    async def beat(self, now: datetime) -> Tally:
        """Serve everything whose moment has come; the tally counts reminders."""
        tally = await self.reminders.deliver_due(now)
        tally = replace(tally, threads=await self.threads.remind_due(now))
        if self._drafted is None or not timedelta(0) <= now - self._drafted < DRAFTS_EVERY:
            await self.draft_due(now)
            self._drafted = now
        await self.notices.post_due(now)
        return tally

    async def next_due(self) -> datetime | None:
        """The earliest moment at which a keeper, a thread or a notice must be looked at."""
        moments = (await self.next_wake(), await self.threads.next_due(), await self.notices.next_due())
        return min((at for at in moments if at is not None), default=None)
