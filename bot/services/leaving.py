"""Keepers who left every server of the bot, or whose account is gone: looked for, waited for, then erased.

Only who has not been heard of is looked for: whose messages are refused, who wants none, or who answers nothing. Any
contact ends it. The terms are a promise of ours, which the privacy page repeats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from bot.services.absentee_ports import Absentee
from bot.services.errors import DeliveryError
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId
from bot.services.silence import ASK_AFTER

CHECK_EVERY = timedelta(days=7)
LONGEST_GAP = timedelta(days=30)
"""After a longer one nothing is erased at once: the bot was off, or a clock was wrong."""
BATCH = 20
"""Keepers looked for in one go; the others wait for the next."""
GONE_MARK = "erased_gone"
"""The anonymous count of keepers who were erased because they were gone."""


class Presence(StrEnum):
    """Whether a keeper can still be met."""

    HERE = "here"
    LEFT = "left"
    """In no server of the bot any more."""
    DELETED = "deleted"
    """The account is no more."""


KEPT_FOR = {Presence.LEFT: timedelta(days=365), Presence.DELETED: timedelta(days=60)}
"""Who left may come back next season and finds everything; a deleted account does not come back."""


class People(Protocol):
    """The platform's side."""

    async def presence_of(self, keeper_id: KeeperId) -> Presence:
        """Whether a keeper is in any server of the bot.

        Raises:
            DeliveryError: the platform does not tell now.
        """
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What one round of looking found."""

    checked: int = 0
    gone: int = 0
    erased: int = 0


@dataclass(frozen=True, slots=True)
class Leaving:
    """The use case behind a maintenance job."""

    units: UnitOfWorkMaker
    people: People

    async def look(self, now: datetime) -> Looked:
        """Look for some keepers nobody heard of; erase whose term is over. Doing it twice changes nothing."""
        async with self.units() as work:
            wanted = await work.absentees.to_check(now - CHECK_EVERY, ASK_AFTER + 1, BATCH)
        found = Looked()
        for keeper_id in wanted:
            try:
                presence = await self.people.presence_of(keeper_id)
            except DeliveryError:
                return found
            gone = presence is not Presence.HERE
            erased = await self._write_down(keeper_id, presence, now)
            found = Looked(checked=found.checked + 1, gone=found.gone + gone, erased=found.erased + erased)
        return found

    async def _write_down(self, keeper_id: KeeperId, presence: Presence, now: datetime) -> bool:
        """Keep what was found, or erase the keeper; whether they were erased."""
        async with self.units() as work:
            if await work.keepers.get(keeper_id) is None:
                return False
            known = await work.absentees.get(keeper_id) or Absentee(keeper_id=keeper_id, since=None, checked_at=now)
            over = _over(known, presence, now)
            if over:
                await work.seasons.forget_person(keeper_id)
                await work.keepers.erase(keeper_id)
                await work.marks.set(GONE_MARK, str(int(await work.marks.get(GONE_MARK) or 0) + 1))
            else:
                since = None if presence is Presence.HERE else known.since or now
                await work.absentees.save(replace(known, since=since, checked_at=now))
            await work.commit()
        return over


def _over(known: Absentee, presence: Presence, now: datetime) -> bool:
    """Whether a keeper was found gone again, after the whole term, and without a gap in the looking."""
    if presence is Presence.HERE or known.since is None or now - known.checked_at > LONGEST_GAP:
        return False
    return now - known.since >= KEPT_FOR[presence]
