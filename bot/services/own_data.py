"""A keeper's own data: take it along, have it erased, bring it back on another server of the bot."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Protocol

from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Place
from bot.services.errors import NotSetUpError, TooManyError
from bot.services.own_data_reading import MOST_CLOSED, MOST_CULTURES, MOST_KEPT, Imported, read_file
from bot.services.own_data_writing import write_file
from bot.services.own_records import OwnColony, OwnDataUnit, OwnDataUnitMaker, OwnRecords
from bot.services.pictures import Picture
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, Zones
from bot.services.records import ColonyRecord, ColonyState, CultureRecord, KeeperId, KeeperRecord

ERASED_MARK = "erased_keepers"
"""The anonymous count of erased keepers, the one thing that stays."""
PICTURE_BYTES = 7_000_000
"""Pictures of an export together, so that it stays small enough to be sent; colonies beyond are named as left out."""
KEPT = (
    "What stays is one number without any name: how many keepers asked to be erased, so that operators see how often "
    "that happens. Messages that you already have stay in your own chat, and copies that the operator made before "
    "today go when they are replaced."
)


class Album(Protocol):
    """Draws the pictures of one colony; called off the event loop."""

    def __call__(self, keeper: KeeperRecord, colony: ColonyRecord, today: date) -> Mapping[str, Picture]:
        """Pictures by a short name, such as `year`."""
        ...


@dataclass(frozen=True, slots=True)
class Export:
    """The ZIP, and the names of kept colonies for whose pictures there was no room."""

    data: bytes
    left_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Erased:
    """How much was removed, and the sentence about what is kept and why."""

    colonies: int
    log_entries: int
    reminders: int
    messages: int
    kept: str = KEPT


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """Names of colonies and cultures that came in, and of those that were there already and stayed as they were.

    `settings` is true where the settings of the file were taken over; reminders then stay off until turned on here.
    """

    added: tuple[str, ...]
    already_here: tuple[str, ...]
    settings: bool


@dataclass(frozen=True, slots=True)
class OwnDataUseCases:
    """Use cases around everything that is kept of one keeper."""

    units: OwnDataUnitMaker
    planner: Planner
    handbook: Handbook
    zones: Zones
    album: Album

    async def export(self, keeper_id: KeeperId, now: datetime) -> Export:
        """Everything about the keeper as a ZIP; drawing and packing happen off the event loop.

        Raises:
            NotSetUpError: nothing is kept of them.
        """
        async with self.units() as work:
            records = await work.own_data.everything(keeper_id)
        if records is None:
            raise NotSetUpError
        return await asyncio.to_thread(self._file, records, now)

    async def erase(self, keeper_id: KeeperId) -> Erased:
        """Remove everything of the keeper in one transaction.

        Raises:
            NotSetUpError: nothing is kept of them; traces of a moderator are taken out all the same.
        """
        async with self.units() as work:
            records = await work.own_data.everything(keeper_id)
            await work.seasons.forget_person(keeper_id)
            if records is not None:
                await work.keepers.erase(keeper_id)
                count = int(await work.marks.get(ERASED_MARK) or 0)
                await work.marks.set(ERASED_MARK, str(count + 1))
            await work.commit()
        if records is None:
            raise NotSetUpError
        return Erased(
            colonies=len(records.colonies),
            log_entries=sum(len(one.log) for one in records.colonies),
            reminders=len(records.occurrences),
            messages=len(records.deliveries),
        )

    async def import_(self, keeper_id: KeeperId, data: bytes, now: datetime) -> Restored:
        """Bring an export in: settings where the keeper has none here, and colonies whose names are free.

        Raises:
            CareError: what is wrong with the file, and what would be right.
            TooManyError: more colonies than a keeper may have.
        """
        found = await asyncio.to_thread(read_file, data, self.handbook, self.zones, now)
        async with self.units() as work:
            before = await work.keepers.get(keeper_id)
            keeper = _keeper(before, found, keeper_id, self.zones.version, now)
            await work.keepers.save(keeper)
            fresh, known = await _sorted_out(work, keeper_id, found.colonies)
            for one in fresh:
                await _add(work, keeper_id, one)
            new, old = await _new_cultures(work, keeper_id, found.cultures)
            for culture in new:
                await work.cultures.add(replace(culture, keeper_id=keeper_id))
            await self.planner.replan_keeper(work, keeper, now)
            await work.commit()
        return Restored(
            added=(*(one.record.colony.name for one in fresh), *(one.culture.name for one in new)),
            already_here=(*(one.record.colony.name for one in known), *(one.culture.name for one in old)),
            settings=before is None,
        )

    def _file(self, records: OwnRecords, now: datetime) -> Export:
        """Pictures of one kept colony after another, as far as there is room."""
        today = local_day(now, records.keeper.settings.zone)
        pictures: dict[str, Picture] = {}
        left_out: list[str] = []
        for number, one in enumerate(
            (one for one in records.colonies if one.record.state is ColonyState.KEPT), start=1
        ):
            drawn = {} if left_out else self.album(records.keeper, _whole(one), today)
            if left_out or sum(len(one.png) for one in (*pictures.values(), *drawn.values())) > PICTURE_BYTES:
                left_out.append(one.record.colony.name)
            else:
                pictures |= {f"{number:02}-{name}": picture for name, picture in drawn.items()}
        return Export(write_file(records, pictures, now, left_out), tuple(left_out))


def _whole(one: OwnColony) -> ColonyRecord:
    return replace(one.record, colony=replace(one.record.colony, log=tuple(logged.entry for logged in one.log)))


def _keeper(
    before: KeeperRecord | None, found: Imported, keeper_id: KeeperId, zone_data: str, now: datetime
) -> KeeperRecord:
    """Settings of the file for a keeper who has none; else their own, with the places that they lack."""
    if before is None:
        return KeeperRecord(
            id=keeper_id,
            settings=found.settings,
            places=found.places,
            reminders_on=False,
            mute_notes=found.mute_notes,
            zone_data=zone_data,
            created_at=now,
        )
    names = {place.name for place in before.places}
    lacking: tuple[Place, ...] = tuple(place for place in found.places if place.name not in names)
    return replace(before, places=(*before.places, *lacking))


async def _sorted_out(
    work: UnitOfWork, keeper_id: KeeperId, colonies: Sequence[OwnColony]
) -> tuple[list[OwnColony], list[OwnColony]]:
    """Colonies to add, and those that are here already: kept ones by name, closed ones by name and end."""
    kept, closed = await work.colonies.of(keeper_id), await work.colonies.of(keeper_id, closed=True)
    here = {_identity(record) for record in (*kept, *closed)}
    fresh: list[OwnColony] = []
    known: list[OwnColony] = []
    for one in colonies:
        identity = _identity(one.record)
        (known if identity in here else fresh).append(one)
        here.add(identity)
    added = sum(one.record.state is ColonyState.KEPT for one in fresh)
    if len(kept) + added > MOST_KEPT:
        raise TooManyError(MOST_KEPT)
    if len(closed) + len(fresh) - added > MOST_CLOSED:
        raise TooManyError(MOST_CLOSED)
    return fresh, known


async def _new_cultures(
    work: UnitOfWork, keeper_id: KeeperId, cultures: Sequence[CultureRecord]
) -> tuple[list[CultureRecord], list[CultureRecord]]:
    """Feeder cultures to add, and those that are here already, by name."""
    here = {record.culture.name.casefold() for record in await work.cultures.of(keeper_id)}
    new = [record for record in cultures if record.culture.name.casefold() not in here]
    if len(here) + len(new) > MOST_CULTURES:
        raise TooManyError(MOST_CULTURES, cultures=True)
    return new, [record for record in cultures if record not in new]


def _identity(record: ColonyRecord) -> tuple[str, datetime | None]:
    return record.colony.name.casefold(), record.closed_at if record.state is ColonyState.CLOSED else None


async def _add(work: OwnDataUnit, keeper_id: KeeperId, one: OwnColony) -> None:
    stored = await work.colonies.add(keeper_id, one.record)
    await work.own_data.add_log(stored.id, one.log)
    for series in one.readings:
        await work.logger_series.put(keeper_id, stored.id, series)
