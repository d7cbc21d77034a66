"""The winter rest of a keeper's colonies: show the plan, and record what the keeper decides."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care.cautions import Caution, in_order
from bot.care.colony import Colony, RestWishes
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.phase import RestPlan
from bot.care.rest.plan import plan_rest
from bot.care.species import SpeciesProfile
from bot.care.units import Units
from bot.services.colonies import Colonies, ColonyView, owned
from bot.services.keepers import looked_up
from bot.services.planner import place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId


@dataclass(frozen=True, slots=True, kw_only=True)
class RestView:
    """The winter rest of one colony, or why there is none."""

    colony: ColonyRecord
    profile: SpeciesProfile
    plan: RestPlan
    cautions: tuple[Caution, ...]
    today: date
    units: Units


@dataclass(frozen=True, slots=True, kw_only=True)
class RestChanges:
    """What `/rest plan` may change; `None` leaves a value as it is. Temperatures in C."""

    start: date | None = None
    weeks: float | None = None
    place: str | None = None
    place_low_c: float | None = None
    place_high_c: float | None = None
    skip: bool | None = None


@dataclass(frozen=True, slots=True)
class Rest:
    """Use cases around the winter rest."""

    units: UnitOfWorkMaker
    colonies: Colonies
    handbook: Handbook

    async def show(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> RestView:
        """The rest that matters now.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
        today = local_day(now, keeper.settings.zone)
        profile = self.handbook.profile(record.colony.species)
        place = place_of(keeper, record)
        plan = plan_rest(record.colony, profile, place, keeper.settings, self.handbook, today)
        return RestView(
            colony=record,
            profile=profile,
            plan=plan,
            cautions=in_order(plan.cautions, self.handbook.cautions),
            today=today,
            units=keeper.settings.units,
        )

    async def change(self, keeper_id: KeeperId, colony_id: ColonyId, changes: RestChanges, now: datetime) -> ColonyView:
        """Record what the keeper decides, and re-plan.

        Raises:
            NotYoursError, NotSetUpError, BadValueError.
        """

        def apply(colony: Colony) -> Colony:
            return replace(colony, rest=_changed(colony.rest, changes))

        return await self.colonies.edit(keeper_id, colony_id, apply, now)


def _changed(old: RestWishes, changes: RestChanges) -> RestWishes:
    return replace(
        old,
        start=old.start if changes.start is None else changes.start,
        weeks=old.weeks if changes.weeks is None else changes.weeks,
        place=old.place if changes.place is None else changes.place,
        place_low_c=old.place_low_c if changes.place_low_c is None else changes.place_low_c,
        place_high_c=old.place_high_c if changes.place_high_c is None else changes.place_high_c,
        skip=old.skip if changes.skip is None else changes.skip,
    )
