"""How the lines of a message stand now: open, answered, put off or over; and what comes next. Only looks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from bot.care.duty import Duty, Outcome
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.services.access import as_read_by, names_for
from bot.services.acknowledgement import BARRIER_VERDICTS, FOOD_VERDICTS, WATER_VERDICTS
from bot.services.errors import NotYoursError
from bot.services.keepers import looked_up
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import DeliveryId, KeeperId, KeeperRecord, OccurrenceId, OccurrenceState, StoredOccurrence

VERDICTS: Mapping[Duty, tuple[Outcome, ...]] = {
    Duty.WATER: WATER_VERDICTS,
    Duty.LEFTOVERS: FOOD_VERDICTS,
    Duty.BARRIER_CHECK: BARRIER_VERDICTS,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SentLine:
    """One line of a message as it stands. `ask` holds the verdicts still worth asking for after a Done."""

    stored: StoredOccurrence
    colony_name: str
    days_late: int
    next_day: date | None
    """The next planned day of the same duty; for a line that was put off, the day it comes again."""
    ask: tuple[Outcome, ...]


@dataclass(frozen=True, slots=True)
class SentDigests:
    """Use cases around messages that went out, and around the list of what is due."""

    units: UnitOfWorkMaker
    handbook: Handbook

    async def of(
        self, keeper_id: KeeperId, delivery_id: DeliveryId, also: Iterable[OccurrenceId], now: datetime
    ) -> tuple[SentLine, ...]:
        """The lines of one delivery, and others that the message shows.

        Raises:
            NotYoursError, NotSetUpError.
        """
        async with self.units() as work:
            delivery = await work.deliveries.get(delivery_id)
            if delivery is None or delivery.keeper_id != keeper_id:
                raise NotYoursError
            keeper = await looked_up(work, keeper_id)
            waiting = await work.occurrences.open_of_keeper(keeper_id)
            return await self._lines(work, keeper, waiting, (*delivery.occurrence_ids, *also), now)

    async def open_now(self, keeper_id: KeeperId, also: Iterable[OccurrenceId], now: datetime) -> tuple[SentLine, ...]:
        """Everything that is due today or before, and others that the message shows.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            zone = keeper.settings.zone
            today = local_day(now, zone)
            waiting = await work.occurrences.open_of_keeper(keeper_id)
            due = [row for row in waiting if _comes(row, zone) <= today or row.state is OccurrenceState.SENT]
            return await self._lines(work, keeper, waiting, (*(row.id for row in due), *also), now)

    async def only(self, keeper_id: KeeperId, ids: Iterable[OccurrenceId], now: datetime) -> tuple[SentLine, ...]:
        """These lines.

        Raises:
            NotSetUpError.
        """
        async with self.units() as work:
            keeper = await looked_up(work, keeper_id)
            waiting = await work.occurrences.open_of_keeper(keeper_id)
            return await self._lines(work, keeper, waiting, tuple(ids), now)

    async def _lines(
        self,
        work: UnitOfWork,
        keeper: KeeperRecord,
        waiting: Sequence[StoredOccurrence],
        ids: Sequence[OccurrenceId],
        now: datetime,
    ) -> tuple[SentLine, ...]:
        """Lines of kept and sat colonies, most urgent first; whatever belongs to others is left out.

        `waiting` is everything open of the keeper: most of `ids` are among it, and are not read again.
        """
        settings = keeper.settings
        today = local_day(now, settings.zone)
        names = await names_for(work, keeper.id, now)
        ahead = {
            (row.subject, row.occurrence.duty): _comes(row, settings.zone)
            for row in reversed(waiting)
            if row.state is OccurrenceState.PLANNED
        }
        wanted, here = set(ids), {row.id: row for row in waiting}
        others = await work.occurrences.get_all(wanted - here.keys())
        found = sorted([*(here[key] for key in wanted & here.keys()), *others], key=_importance)
        return tuple(
            SentLine(
                stored=as_read_by(row, keeper.id, self.handbook, settings.units),
                colony_name=names[row.subject],
                days_late=max(0, (today - row.occurrence.day).days),
                next_day=ahead.get((row.subject, row.occurrence.duty)),
                ask=VERDICTS.get(row.occurrence.duty, ()) if row.outcome is Outcome.DONE else (),
            )
            for row in found
            if keeper.id in {row.keeper_id, row.recipient_id} and row.subject in names
        )


def _comes(row: StoredOccurrence, zone: tzinfo) -> date:
    """The local day on which a row is reminded of: its own, or the one it was put off to."""
    return local_day(row.occurrence.due_at, zone) if row.snoozed else row.occurrence.day


def _importance(row: StoredOccurrence) -> tuple[int, date, int, int, str]:
    """The order in which a reminder has them (see `delivery.py`)."""
    found = row.occurrence
    return (-found.urgency, found.day, row.colony_id or 0, row.culture_id or 0, found.duty)
