"""When the ground moved: a clock that was set back or forward, new tz data, a store restored from a copy.

Plans are recomputed from what is true now. Nothing is sent from here, and doing it twice changes nothing. The limits
are judgement.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from bot.care.duty import Urgency
from bot.services.looks import next_look
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.records import KeeperId, KeeperRecord, OccurrenceState

LAST_BEAT, ZONE_DATA, RESTORED = "last_beat", "zone_data", "restored"
"""Names of the stored facts."""
EARLIEST = datetime(2026, 1, 1, tzinfo=UTC)
"""No clock of a running bot is right before the bot was written."""
SET_BACK = timedelta(minutes=2)
"""Clocks that are kept in step move back by less."""
LONG_GONE = timedelta(days=2)
"""A longer gap is worth a word to the operator: the bot was off, or a clock jumped."""
BATCH = 100

Change = Callable[[UnitOfWork, KeeperRecord], Awaitable[None]]
IdsAfter = Callable[[UnitOfWork, KeeperId], Awaitable[Sequence[KeeperId]]]
"""The next `BATCH` keepers above an id."""


class WrongClockError(Exception):
    """The clock cannot be right; nothing is done until it is."""


@dataclass(frozen=True, slots=True)
class Upheaval:
    """Use cases that the beat and the start call."""

    units: UnitOfWorkMaker
    planner: Planner
    zones: Zones

    async def clock(self, now: datetime) -> timedelta | None:
        """Compare the clock with the last beat, and wake everybody when it was set back.

        Returns:
            How far it moved back (negative) or how long no beat came, where that is worth telling.

        Raises:
            WrongClockError: the clock is before the bot was written.
        """
        if now < EARLIEST:
            raise WrongClockError(f"The clock of this machine says {now.isoformat()}: set it, nothing is sent before.")
        async with self.units() as work:
            stored = await work.marks.get(LAST_BEAT)
            gone = None if stored is None else now - datetime.fromisoformat(stored)
            if gone is not None and gone < -SET_BACK:
                await work.keepers.wake_everybody(now)
            await work.marks.set(LAST_BEAT, now.isoformat())
            await work.commit()
        return gone if gone is not None and not -SET_BACK <= gone <= LONG_GONE else None

    async def zone_data(self, now: datetime) -> int:
        """Re-plan who was planned with other tz data: wall times are kept, moments move; returns how many."""
        count = 0

        async def refresh(work: UnitOfWork, keeper: KeeperRecord) -> None:
            nonlocal count
            if keeper.zone_data != self.zones.version:
                count += 1
                await self.planner.replan_keeper(work, replace(keeper, zone_data=self.zones.version), now)

        async def others(work: UnitOfWork, after: KeeperId) -> Sequence[KeeperId]:
            return await work.keepers.ids_with_other_zone_data(self.zones.version, after, BATCH)

        if await self._mark(ZONE_DATA) != self.zones.version:
            await self._for_each(refresh, others)
            await self._set_mark(ZONE_DATA, self.zones.version)
        return count

    async def restored(self, now: datetime) -> int:
        """After a restore: what was due before it may have been told already, so it waits for the next regular digest.

        Returns:
            How many reminders were put off.
        """
        count = 0
        stored = await self._mark(RESTORED)
        if not stored:
            return 0
        until = datetime.fromisoformat(stored)

        async def put_off(work: UnitOfWork, keeper: KeeperRecord) -> None:
            nonlocal count
            for row in await work.occurrences.open_of_keeper(keeper.id):
                if row.state is OccurrenceState.PLANNED and row.delivery_id is None and row.occurrence.due_at <= until:
                    urgent = row.occurrence.urgency is Urgency.URGENT
                    at = next_look(keeper, until, Urgency.URGENT if urgent else Urgency.ROUTINE)
                    await work.occurrences.save(
                        replace(row, occurrence=replace(row.occurrence, due_at=at), snoozed=True)
                    )
                    count += 1
            await self.planner.replan_keeper(work, keeper, now)

        await self._for_each(put_off, _everybody)
        await self._set_mark(RESTORED, "")
        return count

    async def mark_restored(self, now: datetime) -> None:
        """Remember that the store was restored at this moment."""
        await self._set_mark(RESTORED, now.isoformat())

    async def _for_each(self, change: Change, ids_after: IdsAfter) -> None:
        """One unit of work for each keeper, so that nobody waits for all."""
        last = KeeperId(0)
        while True:
            async with self.units() as work:
                ids = await ids_after(work, last)
            for keeper_id in ids:
                async with self.units() as work:
                    keeper = await work.keepers.get(keeper_id)
                    if keeper is not None:
                        await change(work, keeper)
                    await work.commit()
            if len(ids) < BATCH:
                return
            last = ids[-1]

    async def _mark(self, name: str) -> str | None:
        async with self.units() as work:
            return await work.marks.get(name)

    async def _set_mark(self, name: str, value: str) -> None:
        async with self.units() as work:
            await work.marks.set(name, value)
            await work.commit()


async def _everybody(work: UnitOfWork, after: KeeperId) -> Sequence[KeeperId]:
    return await work.keepers.ids_after(after, BATCH)
