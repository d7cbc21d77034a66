"""Feeder cultures of a keeper: begin, list, show, note what was done or seen, end. Ownership is checked here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.cautions import Caution, in_order
from bot.care.checks import check_culture
from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.culture_agenda import CulturePlan, plan_culture
from bot.care.duty import Outcome
from bot.care.errors import BadValueError, UnknownNameError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.units import Units
from bot.services.access import FeederHands, feeders_in_hands
from bot.services.answer_rules import answered
from bot.services.errors import DuplicateNameError, NotYoursError, TooManyError
from bot.services.keepers import known, looked_up
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import CultureId, CultureRecord, KeeperId, KeeperRecord, OccurrenceState

MOST_CULTURES = 20
SHOWN_DAYS = 30
LOOK_BACK = timedelta(days=28)
"""Yields and deaths of so many days are told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CultureView:
    """A culture with everything needed to show it: plan, recent yield and deaths, cautions."""

    record: CultureRecord
    plan: CulturePlan
    cared_on: date | None
    taken: int
    died: int
    cautions: tuple[Caution, ...]
    sources: tuple[str, ...]
    """Citations behind its care."""
    units: Units


@dataclass(frozen=True, slots=True)
class Cultures:
    """Use cases around a keeper's feeder cultures."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook

    async def add(self, keeper_id: KeeperId, culture: Culture, now: datetime) -> CultureView:
        """Begin to remember a culture; its `key` and log are ignored.

        Raises:
            NotSetUpError, DuplicateNameError, TooManyError, BadValueError, UnknownNameError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            today = local_day(now, keeper.settings.zone)
            tidy = replace(
                culture,
                name=" ".join(culture.name.split()),
                kind=kind_named(self.handbook, culture.kind),
                registered=today,
            )
            check_culture(tidy, self.handbook, today)
            mine = await work.cultures.of(keeper_id)
            if len(mine) >= MOST_CULTURES:
                raise TooManyError(MOST_CULTURES, cultures=True)
            if tidy.name.casefold() in {record.culture.name.casefold() for record in mine}:
                raise DuplicateNameError(tidy.name, culture=True)
            record = CultureRecord(id=CultureId(0), keeper_id=keeper_id, culture=tidy, created_at=now)
            record = await work.cultures.add(record)
            await self.planner.replan_culture(work, keeper, record, now)
            await work.commit()
        return self._view(keeper, record, now)

    async def of(self, keeper_id: KeeperId, now: datetime) -> Sequence[CultureView]:
        """All cultures of a keeper, by name.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            records = await work.cultures.of(keeper_id)
        return [self._view(keeper, record, now) for record in records if record.culture.kind in self.handbook.feeders]

    async def names(self, keeper_id: KeeperId) -> Sequence[CultureRecord]:
        """The keeper's cultures, by name; empty when there are none."""
        async with self.units() as work:
            return await work.cultures.of(keeper_id)

    async def note(self, keeper_id: KeeperId, culture_id: CultureId, entry: CultureEntry, now: datetime) -> CultureView:
        """Write down care, deaths or what was taken out; care closes an open reminder.

        Raises:
            NotYoursError, NotSetUpError, BadValueError: a day in the future or more than a year back.
        """
        async with self.units() as work:
            hands = await feeders_in_hands(work, keeper_id, culture_id, now)
            today = local_day(now, hands.owner.settings.zone)
            if not 0 <= (today - entry.day).days <= 366:
                raise BadValueError("day", f"Give a day from a year ago up to today, {today.isoformat()}.")
            await write(work, hands, entry, now)
            fresh = await work.cultures.get(culture_id) or hands.culture
            await self.planner.replan_culture(work, hands.owner, fresh, now)
            await work.commit()
        return self._view(hands.owner, fresh, now)

    async def remove(self, keeper_id: KeeperId, culture_id: CultureId, now: datetime) -> CultureRecord:
        """Forget a culture with its notes; nothing of it is reminded of again.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            record = await work.cultures.get(culture_id)
            if record is None or record.keeper_id != keeper_id:
                raise NotYoursError
            await work.cultures.remove(culture_id)
            await self.planner.wake(work, keeper, now)
            await work.commit()
        return record

    def _view(self, keeper: KeeperRecord, record: CultureRecord, now: datetime) -> CultureView:
        settings, today = keeper.settings, local_day(now, keeper.settings.zone)
        plan = plan_culture(record.culture, settings, place_of(keeper, record), self.handbook, today, SHOWN_DAYS)
        ids = [name for found in plan.occurrences for name in found.cautions] or list(plan.kind.cautions)
        since = today - LOOK_BACK
        return CultureView(
            record=record,
            plan=plan,
            cared_on=record.culture.cared_on(today),
            taken=record.culture.counted(CultureEvent.TAKEN, since, today),
            died=record.culture.counted(CultureEvent.DIED, since, today),
            cautions=in_order((name for name in ids if name in self.handbook.cautions), self.handbook.cautions),
            sources=tuple(
                self.handbook.sources[name].citation for name in _sources(plan) if name in self.handbook.sources
            ),
            units=settings.units,
        )


def _sources(plan: CulturePlan) -> Sequence[str]:
    """Ids of what stands behind interval and growth."""
    named = (plan.kind.evidence.get(figure) for figure in ("care_days", "degree_days", "threshold_c"))
    return list(dict.fromkeys(name for evidence in named if evidence is not None for name in evidence.sources))


async def write(work: UnitOfWork, hands: FeederHands, entry: CultureEntry, now: datetime) -> None:
    """Append to the log; care answers what was open."""
    await work.cultures.log(hands.culture.id, entry)
    if entry.event not in {CultureEvent.CARE, CultureEvent.SKIPPED}:
        return
    cared = entry.event is CultureEvent.CARE
    state = OccurrenceState.DONE if cared else OccurrenceState.SKIPPED
    for row in await work.occurrences.open_of_all([hands.culture.subject]):
        if row.occurrence.earliest <= entry.day:
            outcome = Outcome.DONE if cared else Outcome.SKIPPED
            await work.occurrences.save(answered(row, hands, state, outcome, now))


def plans_of(
    keeper: KeeperRecord, records: Sequence[CultureRecord], handbook: Handbook, start: date, days: int
) -> tuple[CulturePlan, ...]:
    """Plans of stored cultures, but for kinds that left the handbook."""
    return tuple(
        plan_culture(record.culture, keeper.settings, place_of(keeper, record), handbook, start, days)
        for record in records
        if record.culture.kind in handbook.feeders
    )


def kind_named(handbook: Handbook, said: str) -> str:
    """The id of a kind of feeder insect, by its id or name.

    Raises:
        UnknownNameError: with those that the handbook holds.
    """
    wanted = " ".join(said.split()).casefold()
    for kind in handbook.feeders.values():
        if wanted in {kind.id.casefold(), kind.name.casefold()}:
            return kind.id
    raise UnknownNameError("feeder insect", said, tuple(sorted(kind.name for kind in handbook.feeders.values())))
