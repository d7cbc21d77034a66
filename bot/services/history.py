"""A colony's history: read it page by page, and add what was seen or thought."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from bot.care.cautions import Caution, in_order
from bot.care.checks import NOTE_LIMIT
from bot.care.colony import LogEntry
from bot.care.duty import SEEN, Duty, Outcome
from bot.care.errors import BadValueError
from bot.care.growth.first_workers import expected_first_workers
from bot.care.growth.observations import CARRIER, CAUTIONS, CHECKS, DEATH_CAUTIONS, losses
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.situation import DEFAULT_ROOM_C
from bot.care.units import say_temperature
from bot.services.colonies import owned
from bot.services.errors import NotYoursError
from bot.services.keepers import known, looked_up
from bot.services.planner import Planner, place_of
from bot.services.ports import UnitOfWorkMaker
from bot.services.quotas import check_room
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord

PAGE_LINES = 12
OLDEST_DAYS = 366
MOST_DEAD = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which lines of a history: those of a duty, those that were only seen or noted, or with neither all."""

    duty: Duty | None = None
    seen: bool = False

    def holds(self, entry: LogEntry) -> bool:
        """Whether an entry belongs to it."""
        if self.seen:
            return entry.outcome in SEEN
        return self.duty is None or (entry.duty is self.duty and not aside(entry))


def aside(entry: LogEntry) -> bool:
    """Whether an entry stands under a duty only because it must stand somewhere."""
    return CARRIER.get(entry.outcome) is entry.duty


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryPage:
    """A page of a history, newest first; pages count from 1, and there is always one."""

    colony: ColonyRecord
    wanted: Wanted
    entries: tuple[LogEntry, ...]
    sat: Mapping[LogEntry, KeeperId] = field(default_factory=dict)
    """Which of them a sitter wrote, and who."""
    page: int
    pages: int
    total: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Observed:
    """What was written down, what it means, what to look at now, and the cautions that go with it."""

    colony: ColonyRecord
    entry: LogEntry
    means: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class History:
    """Use cases around a colony's log."""

    units: UnitOfWorkMaker
    planner: Planner
    handbook: Handbook

    async def page(self, keeper_id: KeeperId, colony_id: ColonyId, wanted: Wanted, number: int) -> HistoryPage:
        """A page of the history of a colony, also of a closed one; a page too far becomes the last.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            await looked_up(work, keeper_id)
            record = await work.colonies.get(colony_id)
            sat = await work.colonies.sat(colony_id)
        if record is None or record.keeper_id != keeper_id:
            raise NotYoursError
        found = [entry for entry in reversed(record.colony.log) if wanted.holds(entry)]
        pages = max(1, -(-len(found) // PAGE_LINES))
        page = min(max(1, number), pages)
        return HistoryPage(
            colony=record,
            wanted=wanted,
            entries=tuple(found[(page - 1) * PAGE_LINES : page * PAGE_LINES]),
            sat=sat,
            page=page,
            pages=pages,
            total=len(found),
        )

    async def of(self, keeper_id: KeeperId) -> Sequence[ColonyRecord]:
        """All colonies of a keeper that have a history: kept ones, then closed ones."""
        async with self.units() as work:
            return [*await work.colonies.of(keeper_id), *await work.colonies.of(keeper_id, closed=True)]

    async def observe(self, keeper_id: KeeperId, colony_id: ColonyId, entry: LogEntry, now: datetime) -> Observed:
        """Write down what was seen, or a note; the duty of `entry` is chosen here. The plan follows.

        Raises:
            NotYoursError, NotSetUpError.
            BadValueError: a day ahead or more than a year back, a number that cannot be, a note too long.
        """
        entry = replace(entry, duty=CARRIER[entry.outcome])
        async with self.units() as work:
            keeper = await known(work, keeper_id)
            _check(entry, local_day(now, keeper.settings.zone))
            before = await owned(work, keeper_id, colony_id)
            check_room(before.colony, entry)
            await work.colonies.log(colony_id, entry, now)
            record = before.with_entry(entry)
            await self.planner.replan_colony(work, keeper, record, now)
            await work.commit()
        return self._told(keeper, record, entry)

    def _told(self, keeper: KeeperRecord, record: ColonyRecord, entry: LogEntry) -> Observed:
        means: tuple[str, ...] = ()
        checks: tuple[str, ...] = ()
        ids = CAUTIONS.get(entry.outcome, ())
        if entry.outcome is Outcome.EGGS:
            means = self._first_workers(keeper, record, entry.day)
        if entry.outcome is Outcome.DEATHS:
            found = losses(record.colony, record.colony.log, entry.day)
            means = (found.sentence,)
            if found.alarming:
                checks, ids = CHECKS, DEATH_CAUTIONS
        return Observed(
            colony=record, entry=entry, means=means, checks=checks, cautions=in_order(ids, self.handbook.cautions)
        )

    def _first_workers(self, keeper: KeeperRecord, record: ColonyRecord, seen: date) -> tuple[str, ...]:
        """When the first workers may come, for a queen that has none; the brood is taken to be as warm as the room."""
        if record.colony.workers:
            return ()
        room = place_of(keeper, record).temperature_c
        warmth = DEFAULT_ROOM_C if room is None else room
        expected = expected_first_workers(seen, warmth, self.handbook.profile(record.colony.species))
        said = say_temperature(warmth, keeper.settings.units)
        return (expected.sentence, f"Counted with brood at {said}{' (taken as given)' if room is None else ''}.")


def _check(entry: LogEntry, today: date) -> None:
    if not 0 <= (today - entry.day).days <= OLDEST_DAYS:
        raise BadValueError("day", f"Give a day from a year ago up to today, {today.isoformat()}.")
    if entry.count is not None and not 0 < entry.count <= MOST_DEAD:
        raise BadValueError("count", f"A number of ants is from 1 to {MOST_DEAD:,}; an estimate is fine.")
    if entry.note is not None and not 0 < len(entry.note) <= NOTE_LIMIT:
        raise BadValueError("note", f"A note has 1 to {NOTE_LIMIT} characters.")
