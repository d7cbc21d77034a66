"""What a keeper or sitter answers to a line about a feeder culture: done, later, not needed, undo."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care.culture import CultureEntry, CultureEvent
from bot.care.duty import Outcome
from bot.care.localtime import local_day
from bot.services.access import FeederHands, feeders_in_hands
from bot.services.answer_rules import ANSWERED, answered, check_open, ends_a_silence, put_off
from bot.services.cultures import write
from bot.services.errors import NoLongerDueError, NotYoursError
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import KeeperId, OccurrenceId, OccurrenceState, StoredOccurrence

EVENT = {OccurrenceState.DONE: CultureEvent.CARE, OccurrenceState.SKIPPED: CultureEvent.SKIPPED}


@dataclass(frozen=True, slots=True)
class CultureAnswers:
    """Use cases around answers, each idempotent and checked for ownership."""

    units: UnitOfWorkMaker
    planner: Planner

    async def done(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """The culture was looked after today.

        Raises:
            NotYoursError, AlreadyAnsweredError.
        """
        await self._answer(keeper_id, occurrence_id, OccurrenceState.DONE, now)

    async def not_needed(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """It was looked at, and needed nothing.

        Raises:
            NotYoursError, AlreadyAnsweredError.
        """
        await self._answer(keeper_id, occurrence_id, OccurrenceState.SKIPPED, now)

    async def later(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, until: date, now: datetime) -> None:
        """Remind again at the digest hour of `until`.

        Raises:
            NotYoursError, AlreadyAnsweredError, NoLongerDueError, BadValueError.
        """
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            await work.occurrences.save(put_off(row, hands.by, until, now))
            await self._returned(work, hands, now)
            await work.commit()

    async def undo(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """Take back Done or Not needed.

        Raises:
            NotYoursError, NoLongerDueError: there is nothing to take back.
        """
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            if row.state not in ANSWERED or row.answered_at is None:
                raise NoLongerDueError
            day = local_day(row.answered_at, hands.owner.settings.zone)
            await work.cultures.unlog(hands.culture.id, day, EVENT[row.state])
            await work.occurrences.save(replace(row, state=OccurrenceState.SENT, answered_at=None, outcome=None))
            await self._returned(work, hands, now)
            await work.commit()

    async def _answer(
        self, keeper_id: KeeperId, occurrence_id: OccurrenceId, state: OccurrenceState, now: datetime
    ) -> None:
        async with self.units() as work:
            hands, row = await self._mine(work, keeper_id, occurrence_id, now)
            check_open(row)
            outcome = Outcome.DONE if state is OccurrenceState.DONE else Outcome.SKIPPED
            await work.occurrences.save(answered(row, hands, state, outcome, now))
            day = local_day(now, hands.owner.settings.zone)
            await write(work, hands, CultureEntry(day=day, event=EVENT[state]), now)
            await self._returned(work, hands, now)
            await work.commit()

    async def _mine(
        self, work: UnitOfWork, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime
    ) -> tuple[FeederHands, StoredOccurrence]:
        row = await work.occurrences.get(occurrence_id)
        if row is None or row.culture_id is None:
            raise NotYoursError
        return await feeders_in_hands(work, keeper_id, row.culture_id, now), row

    async def _returned(self, work: UnitOfWork, hands: FeederHands, now: datetime) -> None:
        """Any answer ends the silence of whoever gives it: where that held something back, the whole plan comes."""
        here = replace(hands.by, unanswered=0)
        if ends_a_silence(hands):
            await self.planner.replan_keeper(work, here, now)
        else:
            fresh = await work.cultures.get(hands.culture.id) or hands.culture
            await self.planner.replan_culture(work, hands.owner if hands.sat else here, fresh, now)
