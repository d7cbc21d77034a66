"""Loggers of a colony: read a file and judge it before anything changes; then let the plan follow what was measured."""

from __future__ import annotations

import asyncio
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.cautions import Caution, in_order
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.logger.readings import Evaluation, Quantity, Series, Wanted, evaluate
from bot.care.logger.use import Measured, measured
from bot.care.logger.warnings import LoggerWarning, logger_warnings, rest_credit, rests_during, wanted_band
from bot.care.phase import RestPlan
from bot.care.place import Place
from bot.care.rest.plan import plan_rest
from bot.care.situation import Situation
from bot.services.colonies import owned
from bot.services.keepers import known
from bot.services.logger_reading import Hints, LoggerPreview, LoggerReader
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord

WEEK = timedelta(days=7)


def no_band(_: date) -> None:
    """Humidity has no wanted band that we could name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerView:
    """A file as it was read, what it says about the colony, and what would change if it is kept.

    `wanted` gives the band that temperatures were held against, for the picture.
    """

    colony: ColonyRecord
    keeper: KeeperRecord
    preview: LoggerPreview
    found: Mapping[Quantity, Evaluation]
    wanted: Wanted
    warnings: tuple[LoggerWarning, ...]
    cautions: tuple[Caution, ...]
    """Of all warnings, in the order they must be shown."""
    measured: Measured


@dataclass(frozen=True, slots=True)
class Loggers:
    """Use cases around logger files."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook
    reader: LoggerReader

    async def look(
        self, keeper_id: KeeperId, colony_id: ColonyId, data: bytes, now: datetime, hints: Hints | None = None
    ) -> LoggerView:
        """Read and judge a file; nothing is stored. Reading happens off the event loop.

        Raises:
            NotYoursError, NotSetUpError, LoggerFileError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            colony = await owned(work, keeper_id, colony_id)
        return await asyncio.to_thread(self._judged, keeper, colony, data, now, hints or Hints())

    async def keep(self, keeper_id: KeeperId, colony_id: ColonyId, values: Measured, now: datetime) -> ColonyRecord:
        """Put measured values in the place of assumed ones, and plan anew.

        Raises:
            NotYoursError, NotSetUpError, StaleColonyError; BadValueError: no room of a colony is like that.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            before = await owned(work, keeper_id, colony_id)
            here = place_of(keeper, before)
            places = tuple(values.place(place) if place.name == here.name else place for place in keeper.places)
            keeper = replace(keeper, places=places)
            after = replace(before, colony=values.colony(before.colony))
            if after != before:
                await work.colonies.save(after)
                after = replace(after, version=before.version + 1)
            await work.keepers.save(keeper)
            await self.planner.replan_keeper(work, keeper, now)
            await work.commit()
        return after

    def _judged(
        self, keeper: KeeperRecord, colony: ColonyRecord, data: bytes, now: datetime, hints: Hints
    ) -> LoggerView:
        zone = keeper.settings.zone
        preview = self.reader(data, zone, hints)
        situation = self._situation(keeper, colony, place_of(keeper, colony), local_day(now, zone))
        rests = _rests(situation, tuple(preview.series.values()))
        wanted = wanted_band(situation.profile, rests)
        growth = situation.profile.development
        found = {
            quantity: evaluate(
                series,
                zone,
                wanted=wanted if quantity is Quantity.TEMPERATURE else no_band,
                threshold_c=None if growth is None else growth.threshold_c,
                full_credit=rest_credit(situation.profile),
            )
            for quantity, series in preview.series.items()
        }
        warnings = tuple(warning for one in found.values() for warning in logger_warnings(one, situation, rests))
        ids = [name for warning in warnings for name in warning.cautions if name in self.handbook.cautions]
        return LoggerView(
            colony=colony,
            keeper=keeper,
            preview=preview,
            found=found,
            wanted=wanted,
            warnings=warnings,
            cautions=in_order(ids, self.handbook.cautions),
            measured=measured(found, rests),
        )

    def _situation(self, keeper: KeeperRecord, colony: ColonyRecord, place: Place, today: date) -> Situation:
        settings, profile = keeper.settings, self.handbook.profile(colony.colony.species)
        return Situation(
            colony=colony.colony,
            profile=profile,
            place=place,
            keeper=settings,
            handbook=self.handbook,
            day=today,
            rest=plan_rest(colony.colony, profile, place, settings, self.handbook, today),
        )


def _rests(situation: Situation, series: Collection[Series]) -> tuple[RestPlan, ...]:
    """The rests around the days that were measured, oldest first."""
    zone = situation.keeper.zone
    first = min(local_day(one.readings[0].at, zone) for one in series)
    last = max(local_day(one.readings[-1].at, zone) for one in series)
    weeks = (last - first) // WEEK + 1
    return rests_during(situation, (*(first + WEEK * number for number in range(weeks)), last))
