"""The two sides of a sitting on the small world: Alma goes away, Bruno sits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.care.duty import Duty
from bot.services.absence import Absence
from bot.services.handover import Handover
from bot.services.ports import Digest
from bot.services.records import (
    ColonyId,
    Delivery,
    DeliveryId,
    DeliveryState,
    KeeperId,
    KeeperRecord,
    StoredOccurrence,
)
from bot.services.sent_digests import SentDigests
from bot.services.sitting import Sitters, SittingView
from bot.services.sitting_records import Note
from tests.services.kit import ALMA, BRUNO, START, World, handbook

DAYS = timedelta(days=1)
TODAY = START.date()


@dataclass(frozen=True)
class People:
    """The world with the use cases of two."""

    world: World

    @property
    def sitters(self) -> Sitters:
        return Sitters(self.world.units, self.world.keepers.planner, handbook())

    @property
    def absence(self) -> Absence:
        return Absence(self.world.units, self.world.keepers.planner)

    @property
    def handover(self) -> Handover:
        return Handover(self.world.units, self.world.keepers.planner, handbook())

    @property
    def messages(self) -> SentDigests:
        return SentDigests(self.world.units, handbook())

    async def settle(self, bruno_zone: str = "Europe/Vienna") -> ColonyId:
        """Both have a place, and Alma a colony that is watered; returns it."""
        await self.world.settle()
        await self.world.settle(BRUNO, bruno_zone)
        return (await self.world.register()).record.id

    async def ask(self, days: int = 10, since: date = TODAY, now: datetime = START) -> SittingView:
        """Alma asks Bruno for all her colonies."""
        return await self.sitters.ask(ALMA, BRUNO, (), (since, since + days * DAYS), now)

    async def agree(
        self, days: int = 10, since: date = TODAY, now: datetime = START, *, heard: bool = True
    ) -> SittingView:
        """Alma asks and Bruno accepts; what she is told of that is kept out of most stories."""
        asked = await self.ask(days, since, now)
        view = await self.sitters.accept(BRUNO, asked.sitting.id, now)
        if heard:
            await self.hear(ALMA, now)
        return view

    async def hear(self, keeper_id: KeeperId, now: datetime) -> None:
        """Take away whatever notes wait for somebody, as if they had been told."""
        async with self.world.units() as work:
            waiting = await work.notes.due([keeper_id], now + 400 * DAYS)
            aside = Delivery(
                id=DeliveryId(0),
                keeper_id=keeper_id,
                nonce=f"aside{waiting[0].id}",
                occurrence_ids=(),
                state=DeliveryState.FAILED,
                created_at=now,
            )
            made = await work.deliveries.add(aside)
            await work.notes.tie(waiting, made.id)
            await work.notes.told([made.id])
            await work.commit()

    async def keeper(self, keeper_id: KeeperId = ALMA) -> KeeperRecord:
        async with self.world.units() as work:
            found = await work.keepers.peek(keeper_id)
        assert found is not None
        return found

    async def open_rows(self, keeper_id: KeeperId) -> list[StoredOccurrence]:
        async with self.world.units() as work:
            return list(await work.occurrences.open_of_keeper(keeper_id))

    async def until_water(self, start: datetime = START, days: int = 15) -> tuple[datetime, Digest]:
        """Beat at every wake moment until somebody is reminded of water, and no further."""
        now = start
        while now < start + days * DAYS:
            async with self.world.units() as work:
                wake = await work.keepers.next_wake()
            assert wake is not None, "nobody is woken any more"
            now = max(now, wake)
            for digest in await self.world.beat(now):
                if line(digest, Duty.WATER) is not None:
                    return now, digest
            now += timedelta(seconds=1)
        raise AssertionError("no water")


def line(digest: Digest, duty: Duty) -> int | None:
    return next((found.occurrence_id for found in digest.lines if found.duty is duty), None)


def notes(seen: list[tuple[datetime, Digest]], reader: KeeperId = ALMA) -> list[Note]:
    return [note for _, digest in seen if digest.keeper_id == reader for note in digest.notes]
