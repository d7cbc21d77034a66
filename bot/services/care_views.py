"""What is due today, this week, and why: read-only views over the stored occurrences and the live plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.caution_limits import select
from bot.care.cautions import Caution
from bot.care.colony import Colony
from bot.care.culture_agenda import CulturePlan
from bot.care.duty import Duty, Occurrence
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.units import Units
from bot.services.access import as_read_by, names_for
from bot.services.colonies import owned
from bot.services.cultures import plans_of
from bot.services.keepers import looked_up
from bot.services.planner import place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord, OccurrenceState, StoredOccurrence

WHY_DAYS = 400
SOON_DAYS = 45
"""Most duties come within these days; a plan that stops here has the same first ones, and costs an eighth."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DueLine:
    """An open occurrence of today or before, with the name of its colony."""

    colony_name: str
    stored: StoredOccurrence
    days_late: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DueView:
    """Everything that waits for the keeper now. `next_line` is what comes next when nothing does."""

    lines: tuple[DueLine, ...]
    cautions: tuple[Caution, ...]
    next_line: DueLine | None
    units: Units


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekView:
    """Plans of the coming days, colony by colony, then culture by culture."""

    plans: tuple[ColonyPlan, ...]
    cultures: tuple[CulturePlan, ...] = ()
    days: int
    today: date
    units: Units

    @property
    def watered(self) -> tuple[Colony, ...]:
        """Colonies that get water in these days, the earliest first."""
        due = [(found.day, plan.colony) for plan in self.plans if (found := plan.first(Duty.WATER)) is not None]
        return tuple(colony for _, colony in sorted(due, key=lambda one: one[0]))


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyView:
    """The next occurrence of a duty with its explanation, or `None` and the reason why there is none."""

    colony: ColonyRecord
    duty: Duty
    occurrence: Occurrence | None
    no_reason: str
    sources: tuple[str, ...]
    """Citations behind the decision."""
    cautions: tuple[Caution, ...]
    today: date
    units: Units


@dataclass(frozen=True, slots=True)
class CareViews:
    """Use cases that only look."""

    units: UnitOfWorkMaker
    handbook: Handbook

    async def due(self, keeper_id: KeeperId, now: datetime) -> DueView:
        """What is open today, most urgent first.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            lines = await self._lines(work, keeper, now)
            shown = await work.cautions_shown.of(keeper_id)
        today = local_day(now, keeper.settings.zone)
        open_now = [line for line in lines if _waits_now(line.stored, now, today)]
        open_now.sort(key=lambda line: (-line.stored.occurrence.urgency, line.stored.occurrence.day))
        ahead = [line for line in lines if line not in open_now]
        ids = [name for line in open_now for name in line.stored.occurrence.cautions]
        return DueView(
            lines=tuple(open_now),
            cautions=select(ids, self.handbook, shown, today, keeper.mute_notes),
            next_line=ahead[0] if ahead else None,
            units=keeper.settings.units,
        )

    async def week(self, keeper_id: KeeperId, now: datetime, days: int = 7) -> WeekView:
        """The plan of all colonies and feeder cultures for the coming days.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            records = await work.colonies.of(keeper_id)
            cultures = await work.cultures.of(keeper_id)
        today = local_day(now, keeper.settings.zone)
        plans = tuple(self._plan(keeper, record, now, days) for record in records)
        care = plans_of(keeper, cultures, self.handbook, today, days)
        return WeekView(plans=plans, cultures=care, days=days, today=today, units=keeper.settings.units)

    async def why(self, keeper_id: KeeperId, colony_id: ColonyId, duty: Duty, now: datetime) -> WhyView:
        """Why a duty falls when it does.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            record = await owned(work, keeper_id, colony_id)
        plan = self._plan(keeper, record, now, SOON_DAYS)
        if plan.first(duty) is None:
            plan = self._plan(keeper, record, now, WHY_DAYS)
        found = plan.first(duty)
        ids = found.why.evidence.sources if found else ()
        today = local_day(now, keeper.settings.zone)
        return WhyView(
            colony=record,
            duty=duty,
            occurrence=found,
            no_reason="" if found else _absence(plan, duty),
            sources=tuple(self.handbook.sources[name].citation for name in ids if name in self.handbook.sources),
            cautions=select(found.cautions if found else (), self.handbook, {}, today, keeper.mute_notes),
            today=today,
            units=keeper.settings.units,
        )

    def _plan(self, keeper: KeeperRecord, record: ColonyRecord, now: datetime, days: int) -> ColonyPlan:
        today = local_day(now, keeper.settings.zone)
        return plan_colony(record.colony, keeper.settings, place_of(keeper, record), self.handbook, today, days)

    async def _lines(self, work: UnitOfWork, keeper: KeeperRecord, now: datetime) -> Sequence[DueLine]:
        names = await names_for(work, keeper.id, now)
        today, units = local_day(now, keeper.settings.zone), keeper.settings.units
        return [
            DueLine(
                colony_name=names[row.subject],
                stored=as_read_by(row, keeper.id, self.handbook, units),
                days_late=max(0, (today - row.occurrence.day) // timedelta(days=1)),
            )
            for row in await work.occurrences.open_of_keeper(keeper.id)
            if row.subject in names
        ]


def _waits_now(row: StoredOccurrence, now: datetime, today: date) -> bool:
    """Whether an open occurrence belongs to today; one that the keeper put off waits for its own moment."""
    if row.snoozed:
        return row.occurrence.due_at <= now
    return row.state is OccurrenceState.SENT or row.occurrence.day <= today


def _absence(plan: ColonyPlan, duty: Duty) -> str:
    """Why a duty does not exist for a colony, in a sentence."""
    if duty.value.startswith("rest_") and plan.rests:
        return plan.rests[0].why
    return f"Nothing of this kind is due for “{plan.colony.name}” within the coming year, as things stand."
