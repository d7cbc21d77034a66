"""A colony changes hands for good: its keeper offers it, another member accepts, and it moves with its history.

What belongs to the old place stays behind: which place it stood in, where it would rest. The new plan begins with the
days after a move, and with the other half of the year where it crossed the equator.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.caution_rules import for_profile
from bot.care.cautions import Caution, in_order
from bot.care.colony import Colony
from bot.care.errors import BadValueError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Keeper
from bot.services.colonies import MOST_COLONIES, owned
from bot.services.errors import TooManyError
from bot.services.keepers import known
from bot.services.notices import notify
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, ColonyState, KeeperId, KeeperRecord
from bot.services.sitting_errors import GoneError
from bot.services.sitting_records import NoteKind, Offer, OfferId

OFFER_LASTS = timedelta(days=14)
LONGEST_NAME = 40
"""Cut before a number is put behind it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferView:
    """An offer as the other side may see it before it is theirs: name, species, cautions."""

    offer: Offer
    name: str
    species: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A colony in new hands. `renamed` is its former name where that was taken."""

    offer: Offer
    colony: ColonyRecord
    renamed: str | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Handover:
    """Use cases of both sides."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook

    async def offer(self, keeper_id: KeeperId, colony_id: ColonyId, to_id: KeeperId, now: datetime) -> OfferView:
        """The keeper confirms that a colony shall go; an earlier offer of it is replaced.

        Raises:
            NotSetUpError, NotYoursError, BadValueError: to oneself.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
            if to_id == keeper_id:
                raise BadValueError("member", "It is yours already; name the member who shall have it.")
            new = Offer(id=OfferId(0), colony_id=colony_id, keeper_id=keeper_id, to_id=to_id, offered_at=now)
            stored = await work.offers.put(new)
            await work.commit()
        return self._view(stored, record, keeper)

    async def of(self, who: KeeperId, now: datetime) -> Sequence[OfferView]:
        """Open offers that somebody made or received."""
        async with self.units() as work:
            views = []
            for offer in await work.offers.of(who):
                record = await work.colonies.get(offer.colony_id)
                keeper = await work.keepers.peek(offer.keeper_id)
                if record is not None and keeper is not None and _stands(offer, record, now):
                    views.append(self._view(offer, record, keeper))
            return views

    async def refuse(self, who: KeeperId, offer_id: OfferId, now: datetime) -> Offer:
        """Either side does not want it after all; the other is told.

        Raises:
            GoneError.
        """
        async with self.units() as work:
            offer = await work.offers.get(offer_id)
            if offer is None or who not in {offer.keeper_id, offer.to_id}:
                raise GoneError
            await work.offers.remove(offer.colony_id)
            record = await work.colonies.get(offer.colony_id)
            other = await work.keepers.peek(offer.to_id if who == offer.keeper_id else offer.keeper_id)
            if other is not None and record is not None and _stands(offer, record, now):
                await notify(work, other, NoteKind.REFUSED, who, {"colonies": [record.colony.name]}, now)
            await work.commit()
        return offer

    async def accept(self, who: KeeperId, offer_id: OfferId, now: datetime) -> Moved:
        """The colony moves; the old keeper keeps nothing of it.

        Raises:
            NotSetUpError: the new keeper has no place yet.
            GoneError, TooManyError.
        """
        async with self.units() as work:
            offer = await self._mine(work, who, offer_id)
            giver, taker = await _both(work, offer)
            record = await work.colonies.get(offer.colony_id)
            if await work.offers.get(offer_id) is None or record is None or not _stands(offer, record, now):
                raise GoneError
            theirs = await work.colonies.of(who)
            if len(theirs) >= MOST_COLONIES:
                raise TooManyError(MOST_COLONIES)
            name = _free_name(record.colony.name, {other.colony.name.casefold() for other in theirs})
            settled = _settled(record.colony, giver.settings, taker.settings, local_day(now, taker.settings.zone))
            await notify(work, giver, NoteKind.MOVED, who, {"colonies": [record.colony.name]}, now)
            moved = await self._move(work, replace(record, colony=replace(settled, name=name)), giver, taker, now)
            await work.commit()
        return Moved(
            offer=offer,
            colony=moved,
            renamed=None if name == record.colony.name else record.colony.name,
            cautions=self._cautions(moved, taker.settings),
        )

    async def _mine(self, work: UnitOfWork, who: KeeperId, offer_id: OfferId) -> Offer:
        """Looked up before anything is locked; looked at again afterwards."""
        for offer in await work.offers.of(who):
            if offer.id == offer_id and offer.to_id == who:
                return offer
        raise GoneError

    async def _move(
        self, work: UnitOfWork, record: ColonyRecord, giver: KeeperRecord, taker: KeeperRecord, now: datetime
    ) -> ColonyRecord:
        moved = await work.colonies.move(record, taker.id)
        await work.occurrences.move(record.id, taker.id)
        await work.sittings.leave(record.id)
        await work.offers.remove(record.id)
        for kept in (True, False):  # what was measured in the home of the giver
            await work.logger_series.forget(giver.id, record.id, kept=kept)
        await self.planner.wake(work, giver, now)
        await self.planner.replan_colony(work, taker, moved, now)
        return moved

    def _view(self, offer: Offer, record: ColonyRecord, keeper: KeeperRecord) -> OfferView:
        return OfferView(
            offer=offer,
            name=record.colony.name,
            species=record.colony.species,
            cautions=self._cautions(record, replace(keeper.settings, country=None)),
        )

    def _cautions(self, record: ColonyRecord, settings: Keeper) -> tuple[Caution, ...]:
        """Those of the species; the country of a giver is nobody's business."""
        ids = for_profile(self.handbook.profile(record.colony.species), settings, self.handbook)
        return in_order(ids, self.handbook.cautions)


async def _both(work: UnitOfWork, offer: Offer) -> tuple[KeeperRecord, KeeperRecord]:
    """Giver and taker, locked in one order so that two units never wait for each other."""
    for keeper_id in sorted((offer.keeper_id, offer.to_id)):
        await work.keepers.get(keeper_id)
    return await known(work, offer.keeper_id), await known(work, offer.to_id)


def _stands(offer: Offer, record: ColonyRecord, now: datetime) -> bool:
    mine = record.keeper_id == offer.keeper_id and record.state is ColonyState.KEPT
    return mine and now - offer.offered_at < OFFER_LASTS


def _free_name(name: str, taken: set[str]) -> str:
    """The name, or where it is taken with the first free number behind it."""
    number, free = 1, name
    while free.casefold() in taken:
        number += 1
        free = f"{name[: LONGEST_NAME - 4].rstrip()} {number}"
    return free


def _settled(colony: Colony, old: Keeper, new: Keeper, today: date) -> Colony:
    """The colony at its new place: it has just travelled, and nothing of the old place goes along."""
    rest = replace(colony.rest, place=None, place_low_c=None, place_high_c=None)
    if None not in {old.hemisphere, new.hemisphere} and old.hemisphere != new.hemisphere:
        rest = replace(rest, start=None, from_other_hemisphere_since=today)
    return replace(colony, place=None, arrived=today, rest=rest)
