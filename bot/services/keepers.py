"""Settings of a keeper: place, room, digest hour, quiet hours, opt-in; and the return of one whose door was closed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time

from bot.care.errors import BadValueError
from bot.care.localtime import QuietHours, local_day
from bot.care.place import Keeper, Place
from bot.care.units import Units
from bot.services.errors import NotSetUpError
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.records import Door, KeeperId, KeeperRecord
from bot.services.sitting_end import end_all

OPEN_DOORS = frozenset({Door.OPEN, Door.UNKNOWN})


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceChanges:
    """What `/my place` may change; `None` leaves a value as it is. Temperatures in C."""

    zone_name: str | None = None
    latitude: float | None = None
    country: str | None = None
    temperature_c: float | None = None
    winter_temperature_c: float | None = None
    humidity_percent: float | None = None
    units: Units | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReminderChanges:
    """What `/my reminders` may change; `None` leaves a value as it is."""

    on: bool | None = None
    digest_at: time | None = None
    quiet_from: time | None = None
    quiet_until: time | None = None
    mute_notes: bool | None = None
    away_until: date | None = None
    back: bool = False
    """Ends an absence at once, and whatever sitters were asked for."""


@dataclass(frozen=True, slots=True)
class Keepers:
    """Use cases around one keeper's own settings."""

    units: UnitOfWorkMaker
    planner: Planner
    zones: Zones

    async def get(self, keeper_id: KeeperId) -> KeeperRecord:
        """The keeper's settings.

        Raises:
            NotSetUpError: no place was ever given.
        """
        async with self.units() as work:
            return await looked_up(work, keeper_id)

    async def find(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """The keeper's settings, or `None` when no place was ever given."""
        async with self.units() as work:
            return await work.keepers.peek(keeper_id)

    async def set_place(self, keeper_id: KeeperId, changes: PlaceChanges, now: datetime) -> KeeperRecord:
        """Set or change the place; the first call needs a zone. Re-plans everything.

        Raises:
            NotSetUpError: nothing is known and no zone was given.
            UnknownNameError, BadValueError: a zone that does not exist, an impossible value.
        """
        async with self.units() as work:
            before = await work.keepers.get(keeper_id)
            if before is None and changes.zone_name is None:
                raise NotSetUpError
            settings = self._settings(before.settings if before else None, changes)
            room = _room(before.places[0] if before else Place(), changes)
            keeper = (
                replace(before, settings=settings, places=(room, *before.places[1:]))
                if before
                else KeeperRecord(id=keeper_id, settings=settings, places=(room,), created_at=now)
            )
            keeper = replace(keeper, zone_data=self.zones.version)
            await work.keepers.save(keeper)
            keeper = await self.planner.replan_keeper(work, keeper, now)
            await work.commit()
        return keeper

    async def set_reminders(self, keeper_id: KeeperId, changes: ReminderChanges, now: datetime) -> KeeperRecord:
        """Change when and whether reminders come.

        Raises:
            NotSetUpError: set a place first.
            BadValueError: an absence that ends in the past or in more than a year.
        """
        async with self.units() as work:
            before = await known(work, keeper_id)
            old = before.settings
            _check_absence(changes.away_until, local_day(now, old.zone))
            if changes.back:
                await end_all(work, before, now)
            quiet = QuietHours(
                old.quiet.start if changes.quiet_from is None else changes.quiet_from,
                old.quiet.end if changes.quiet_until is None else changes.quiet_until,
            )
            digest_at = old.digest_at if changes.digest_at is None else changes.digest_at
            keeper = replace(
                before,
                settings=replace(old, digest_at=digest_at, quiet=quiet),
                reminders_on=before.reminders_on if changes.on is None else changes.on,
                mute_notes=before.mute_notes if changes.mute_notes is None else changes.mute_notes,
                away_until=None if changes.back else (changes.away_until or before.away_until),
                away_from=None if changes.back or changes.away_until else before.away_from,
            )
            keeper = await self.planner.replan_keeper(work, keeper, now)
            await work.commit()
        return keeper

    async def door_opened(self, keeper_id: KeeperId, channel_id: int, now: datetime) -> KeeperRecord:
        """Remember the direct-message channel that was opened when the keeper asked for reminders."""
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            keeper = replace(keeper, channel_id=channel_id, door=Door.OPEN, refusals=0)
            keeper = await self.planner.replan_keeper(work, keeper, now)
            await work.commit()
        return keeper

    async def came_back(self, keeper_id: KeeperId, now: datetime) -> Door | None:
        """Called at every contact: who was looked for is here, and a keeper whose door was closed is tried again.

        Returns:
            The state the door was in when it was closed, so that the keeper can be told; else `None`.
        """
        async with self.units() as work:
            door, missed = await work.absentees.met(keeper_id) or (Door.OPEN, False)
            if door in OPEN_DOORS and not missed:
                return None
            keeper = await work.keepers.get(keeper_id)
            if keeper is None:
                return None
            if missed:
                await work.absentees.forget(keeper_id)
            shut = keeper.door not in OPEN_DOORS
            if shut:
                fresh = replace(keeper, door=Door.UNKNOWN, refusals=0)
                await self.planner.replan_keeper(work, fresh, now)
            await work.commit()
        return keeper.door if shut else None

    def _settings(self, old: Keeper | None, changes: PlaceChanges) -> Keeper:
        zone = self.zones.get(changes.zone_name or (old.zone_name if old else ""))
        zone_name = str(zone)
        moved = old is None or old.zone_name != zone_name
        latitude = self.zones.latitude(zone_name) if moved else old.latitude if old else None
        country = self.zones.country(zone_name) if moved else old.country if old else None
        fresh = Keeper(
            zone_name=zone_name,
            zone=zone,
            latitude=latitude if changes.latitude is None else changes.latitude,
            country=country if changes.country is None else changes.country.upper(),
            units=changes.units or (old.units if old else Units.CELSIUS),
        )
        return fresh if old is None else replace(fresh, digest_at=old.digest_at, quiet=old.quiet)


async def known(work: UnitOfWork, keeper_id: KeeperId) -> KeeperRecord:
    """The keeper, who must have set a place; nobody else changes them while the unit lasts.

    Raises:
        NotSetUpError: no place was ever given.
    """
    return _set_up(await work.keepers.get(keeper_id))


async def looked_up(work: UnitOfWork, keeper_id: KeeperId) -> KeeperRecord:
    """As `known`, for a unit that only looks: it waits for nobody, and nobody waits for it.

    Raises:
        NotSetUpError: no place was ever given.
    """
    return _set_up(await work.keepers.peek(keeper_id))


def _set_up(keeper: KeeperRecord | None) -> KeeperRecord:
    if keeper is None:
        raise NotSetUpError
    return keeper


def _room(old: Place, changes: PlaceChanges) -> Place:
    return replace(
        old,
        temperature_c=old.temperature_c if changes.temperature_c is None else changes.temperature_c,
        winter_temperature_c=(
            old.winter_temperature_c if changes.winter_temperature_c is None else changes.winter_temperature_c
        ),
        humidity_percent=old.humidity_percent if changes.humidity_percent is None else changes.humidity_percent,
    )


def _check_absence(until: date | None, today: date) -> None:
    if until is not None and not 0 < (until - today).days <= 366:
        raise BadValueError(
            "away_until", "An absence ends on a day from tomorrow up to a year ahead, such as 2026-12-24."
        )
