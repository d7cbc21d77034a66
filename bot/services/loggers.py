"""Loggers of a colony: read a file and judge it before anything changes; then let the plan follow what was measured.

What a keeper agrees to keep joins what was kept of the same spot, and all of it is judged and drawn together.
"""

from __future__ import annotations

import asyncio
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.cautions import Caution, in_order
from bot.care.errors import BadValueError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.logger.history import joined, newest, thinned
from bot.care.logger.readings import Evaluation, Quantity, Series, Wanted, evaluate
from bot.care.logger.spot import Spot
from bot.care.logger.use import Measured, measured
from bot.care.logger.warnings import LoggerWarning, logger_warnings, rest_credit, rests_during, wanted_band
from bot.care.phase import RestPlan
from bot.care.place import Place
from bot.care.rest.plan import plan_rest
from bot.care.situation import Situation
from bot.services.colonies import owned
from bot.services.keepers import known, looked_up
from bot.services.logger_ports import StoredSeries
from bot.services.logger_reading import Hints, LoggerPreview, LoggerReader
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord

WEEK = timedelta(days=7)
WAITS = timedelta(days=1)
"""So long a file that was read waits for the keeper's yes."""
NOTHING_WAITS = "That file waits no longer: a newer one came, or a day has passed. Send it once more."
BySpot = Mapping[Quantity, Series]


def no_band(_: date) -> None:
    """Humidity has no wanted band that we could name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerView:
    """Readings of one spot, what they say about the colony, and what would change if they are kept.

    `wanted` gives the band that temperatures were held against, for the picture.
    """

    colony: ColonyRecord
    keeper: KeeperRecord
    spot: Spot
    preview: LoggerPreview | None = None
    """How a file was read; `None` where only kept readings are shown."""
    earlier: date | None = None
    """First day of readings that were kept before and are judged along."""
    series: BySpot
    found: Mapping[Quantity, Evaluation]
    wanted: Wanted
    warnings: tuple[LoggerWarning, ...]
    cautions: tuple[Caution, ...]
    """Of all warnings, in the order they must be shown."""
    measured: Measured


@dataclass(frozen=True, slots=True)
class Loggers:
    """Use cases around loggers."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook
    reader: LoggerReader

    async def look(
        self,
        keeper_id: KeeperId,
        colony_id: ColonyId,
        spot: Spot,
        data: bytes,
        now: datetime,
        hints: Hints | None = None,
    ) -> LoggerView:
        """Read a file and judge it with what was kept of its spot; it then waits for `keep`.

        Raises:
            NotYoursError, NotSetUpError, LoggerFileError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            colony = await owned(work, keeper_id, colony_id)
            kept = _at(spot, await work.logger_series.of(keeper_id, colony_id), kept=True)
        zone = keeper.settings.zone
        preview = await asyncio.to_thread(self.reader, data, zone, hints or Hints())
        together = {quantity: _with(kept.get(quantity), series) for quantity, series in preview.series.items()}
        view = await asyncio.to_thread(self._judged, keeper, colony, spot, together, now)
        async with self.units() as work:
            await work.logger_series.forget_waiting_before(now - WAITS)
            await work.logger_series.forget(keeper_id, colony_id, kept=False)
            for series in preview.series.values():
                waiting = StoredSeries(spot=spot, series=newest(thinned(series)), kept=False, stored_at=now)
                await work.logger_series.put(keeper_id, colony_id, waiting)
            await work.commit()
        started = [kept[quantity].readings[0].at for quantity in preview.series if quantity in kept]
        return replace(view, preview=preview, earlier=local_day(min(started), zone) if started else None)

    async def keep(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> LoggerView:
        """Keep what waits, put measured values in the place of assumed ones, and plan anew.

        Raises:
            NotYoursError, NotSetUpError, StaleColonyError.
            BadValueError: nothing waits; no room of a colony is like that.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            colony = await owned(work, keeper_id, colony_id)
            stored = await work.logger_series.of(keeper_id, colony_id)
            waiting = [one for one in stored if not one.kept and now - one.stored_at <= WAITS]
            if not waiting:
                raise BadValueError("file", NOTHING_WAITS)
            spot = waiting[0].spot
            kept = _at(spot, stored, kept=True)
            together = {one.series.quantity: _with(kept.get(one.series.quantity), one.series) for one in waiting}
            view = self._judged(keeper, colony, spot, together, now)
            for series in together.values():
                one = StoredSeries(spot=spot, series=newest(series), kept=True, stored_at=now)
                await work.logger_series.put(keeper_id, colony_id, one)
            await work.logger_series.forget(keeper_id, colony_id, kept=False)
            after = await self._plan_with(work, keeper, colony, view.measured, now)
            await work.commit()
        return replace(view, colony=after)

    async def history(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> Sequence[LoggerView]:
        """Everything that was kept of a colony, judged as of now, a view for each spot.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            colony = await owned(work, keeper_id, colony_id)
            stored = await work.logger_series.of(keeper_id, colony_id)
        spots = {spot: series for spot in Spot if (series := _at(spot, stored, kept=True))}
        return [
            await asyncio.to_thread(self._judged, keeper, colony, spot, series, now) for spot, series in spots.items()
        ]

    async def forget(self, keeper_id: KeeperId, colony_id: ColonyId) -> int:
        """Remove all readings of a colony; what the plan took from them stays as if the keeper had said it.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            await known(work, keeper_id)
            await owned(work, keeper_id, colony_id)
            gone = await work.logger_series.forget(keeper_id, colony_id, kept=True)
            await work.logger_series.forget(keeper_id, colony_id, kept=False)
            await work.commit()
        return gone

    async def _plan_with(
        self, work: UnitOfWork, keeper: KeeperRecord, before: ColonyRecord, values: Measured, now: datetime
    ) -> ColonyRecord:
        here = place_of(keeper, before)
        places = tuple(values.place(place) if place.name == here.name else place for place in keeper.places)
        keeper = replace(keeper, places=places)
        after = replace(before, colony=values.colony(before.colony))
        if after != before:
            await work.colonies.save(after)
            after = replace(after, version=before.version + 1)
        await work.keepers.save(keeper)
        await self.planner.replan_keeper(work, keeper, now)
        return after

    def _judged(
        self, keeper: KeeperRecord, colony: ColonyRecord, spot: Spot, series: BySpot, now: datetime
    ) -> LoggerView:
        zone = keeper.settings.zone
        situation = self._situation(keeper, colony, place_of(keeper, colony), local_day(now, zone))
        rests = _rests(situation, tuple(series.values()))
        wanted = wanted_band(situation.profile, rests, spot)
        growth = situation.profile.development
        found = {
            quantity: evaluate(
                one,
                zone,
                wanted=wanted if quantity is Quantity.TEMPERATURE else no_band,
                threshold_c=None if growth is None else growth.threshold_c,
                full_credit=rest_credit(situation.profile),
            )
            for quantity, one in series.items()
        }
        warnings = tuple(warning for one in found.values() for warning in logger_warnings(one, situation, rests, spot))
        ids = [name for warning in warnings for name in warning.cautions if name in self.handbook.cautions]
        return LoggerView(
            colony=colony,
            keeper=keeper,
            spot=spot,
            series=series,
            found=found,
            wanted=wanted,
            warnings=warnings,
            cautions=in_order(ids, self.handbook.cautions),
            measured=measured(found, rests, spot, heated=colony.colony.heater is not None),
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


def _at(spot: Spot, stored: Sequence[StoredSeries], *, kept: bool) -> BySpot:
    return {one.series.quantity: one.series for one in stored if one.spot is spot and one.kept is kept}


def _with(earlier: Series | None, later: Series) -> Series:
    return later if earlier is None else joined(earlier, later)


def _rests(situation: Situation, series: Collection[Series]) -> tuple[RestPlan, ...]:
    """The rests around the days that were measured, oldest first."""
    zone = situation.keeper.zone
    first = min(local_day(one.readings[0].at, zone) for one in series)
    last = max(local_day(one.readings[-1].at, zone) for one in series)
    weeks = (last - first) // WEEK + 1
    return rests_during(situation, (*(first + WEEK * number for number in range(weeks)), last))
