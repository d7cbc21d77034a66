"""A press on a line of a reminder, whatever it is about: it goes to the answers of colonies or to those of cultures."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from bot.care.duty import Outcome
from bot.services.acknowledgement import Acknowledgement
from bot.services.culture_answers import CultureAnswers
from bot.services.errors import NoLongerDueError
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId, OccurrenceId


@dataclass(frozen=True, slots=True)
class LineAnswers:
    """The same five answers for every line; errors are those of `Acknowledgement` and `CultureAnswers`."""

    units: UnitOfWorkMaker
    colonies: Acknowledgement

    async def done(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """It was done today."""
        await (await self._of(occurrence_id)).done(keeper_id, occurrence_id, now)

    async def not_needed(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """Looked at, and not needed."""
        await (await self._of(occurrence_id)).not_needed(keeper_id, occurrence_id, now)

    async def later(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, until: date, now: datetime) -> None:
        """Remind again on a day."""
        await (await self._of(occurrence_id)).later(keeper_id, occurrence_id, until, now)

    async def verdict(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, outcome: Outcome, now: datetime) -> None:
        """How it was found; nothing is asked of a culture."""
        answers = await self._of(occurrence_id)
        if isinstance(answers, CultureAnswers):
            raise NoLongerDueError
        await answers.verdict(keeper_id, occurrence_id, outcome, now)

    async def undo(self, keeper_id: KeeperId, occurrence_id: OccurrenceId, now: datetime) -> None:
        """Take an answer back."""
        await (await self._of(occurrence_id)).undo(keeper_id, occurrence_id, now)

    async def _of(self, occurrence_id: OccurrenceId) -> Acknowledgement | CultureAnswers:
        async with self.units() as work:
            row = await work.occurrences.get(occurrence_id)
        if row is None or row.culture_id is None:
            return self.colonies
        return CultureAnswers(self.units, self.colonies.planner)
