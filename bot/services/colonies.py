"""Register, list, show, change and close colonies. Ownership is checked here, for every call."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care import caution_rules
from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.cautions import Caution, in_order
from bot.care.checks import check_colony
from bot.care.colony import Colony
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.place import Place
from bot.care.species import SpeciesProfile
from bot.services.errors import DuplicateNameError, NotYoursError, TooManyError
from bot.services.keepers import known, looked_up
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, ColonyState, KeeperId, KeeperRecord

MOST_COLONIES = 50
SHOWN_DAYS = 30

Change = Callable[[Colony], Colony]
"""How a colony changes, as a pure function; `dataclasses.replace` does most of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColonyView:
    """A colony with everything needed to show it: profile, place, cautions of the species, and the plan ahead."""

    record: ColonyRecord
    keeper: KeeperRecord
    profile: SpeciesProfile
    place: Place
    plan: ColonyPlan
    cautions: tuple[Caution, ...]
    today: date


@dataclass(frozen=True, slots=True)
class Colonies:
    """Use cases around a keeper's own colonies."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook

    async def add(self, keeper_id: KeeperId, colony: Colony, now: datetime) -> ColonyView:
        """Register a colony; its `key` is ignored.

        Raises:
            NotSetUpError, DuplicateNameError, TooManyError, BadValueError, UnknownNameError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            colony = self._checked(colony, keeper, now)
            mine = await work.colonies.of(keeper_id)
            if len(mine) >= MOST_COLONIES:
                raise TooManyError(MOST_COLONIES)
            _check_unique(colony.name, mine)
            today = local_day(now, keeper.settings.zone)
            fresh = replace(colony, registered=today)
            record = ColonyRecord(id=ColonyId(0), keeper_id=keeper_id, colony=fresh, created_at=now)
            record = await work.colonies.add(keeper_id, record)
            keeper = await self.planner.replan_colony(work, keeper, record, now)
            await work.commit()
        return self._view(keeper, record, now)

    async def of(self, keeper_id: KeeperId) -> Sequence[ColonyRecord]:
        """The keeper's kept colonies, by name; empty when there are none."""
        async with self.units() as work:
            return await work.colonies.of(keeper_id)

    async def names(self, keeper_id: KeeperId) -> Mapping[ColonyId, str]:
        """Names of the keeper's kept colonies, in their order."""
        async with self.units() as work:
            names = (await work.colonies.names_of([keeper_id])).get(keeper_id, {})
        return {colony: name for (colony, _), name in names.items() if colony is not None}

    async def show(self, keeper_id: KeeperId, colony_id: ColonyId, now: datetime) -> ColonyView:
        """One colony with its plan.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
        return self._view(keeper, record, now)

    async def edit(self, keeper_id: KeeperId, colony_id: ColonyId, change: Change, now: datetime) -> ColonyView:
        """Change a colony and re-plan it.

        Raises:
            NotYoursError, DuplicateNameError, StaleColonyError, BadValueError, UnknownNameError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            before = await owned(work, keeper_id, colony_id)
            colony = self._checked(change(before.colony), keeper, now)
            others = [record for record in await work.colonies.of(keeper_id) if record.id != colony_id]
            _check_unique(colony.name, others)
            await work.colonies.save(replace(before, colony=colony))
            record = replace(before, colony=colony, version=before.version + 1)
            keeper = await self.planner.replan_colony(work, keeper, record, now)
            await work.commit()
        return self._view(keeper, record, now)

    async def close(self, keeper_id: KeeperId, colony_id: ColonyId, reason: str, now: datetime) -> ColonyRecord:
        """Stop caring for a colony; its history stays, and nothing of it is reminded of again.

        Raises:
            NotYoursError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            before = await owned(work, keeper_id, colony_id)
            record = replace(
                before,
                state=ColonyState.CLOSED,
                closed_at=now,
                closed_reason=reason[:200],
            )
            await work.colonies.save(record)
            await work.offers.remove(colony_id)
            await self.planner.forget(work, keeper, record, now)
            await work.commit()
        return record

    def _checked(self, colony: Colony, keeper: KeeperRecord, now: datetime) -> Colony:
        tidy = replace(colony, name=" ".join(colony.name.split()))
        check_colony(tidy, self.handbook, local_day(now, keeper.settings.zone))
        return replace(tidy, species=self.handbook.profile(tidy.species).name)

    def _view(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime) -> ColonyView:
        place = place_of(keeper, record)
        today = local_day(now, keeper.settings.zone)
        plan = plan_colony(record.colony, keeper.settings, place, self.handbook, today, SHOWN_DAYS)
        ids = caution_rules.for_profile(plan.profile, keeper.settings, self.handbook)
        return ColonyView(
            record=record,
            keeper=keeper,
            profile=plan.profile,
            place=place,
            plan=plan,
            cautions=in_order(ids, self.handbook.cautions),
            today=today,
        )


async def owned(work: UnitOfWork, keeper_id: KeeperId, colony_id: ColonyId) -> ColonyRecord:
    """A kept colony of this keeper.

    Raises:
        NotYoursError: somebody else's, closed, or not there at all; the asker cannot tell which.
    """
    record = await work.colonies.get(colony_id)
    if record is None or record.keeper_id != keeper_id or record.state is ColonyState.CLOSED:
        raise NotYoursError
    return record


def _check_unique(name: str, others: Sequence[ColonyRecord]) -> None:
    if any(record.colony.name.casefold() == name.casefold() for record in others):
        raise DuplicateNameError(name)
