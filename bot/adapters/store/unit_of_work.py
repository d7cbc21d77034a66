"""One transaction with every repository; trouble of the database leaves it as a sentence."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from sqlalchemy.ext.asyncio import AsyncEngine, AsyncSession

from bot.adapters.store.errors import readable
from bot.adapters.store.repositories.answer_counts import SqlAnswerCounts
from bot.adapters.store.repositories.cautions_shown import SqlCautionsShown
from bot.adapters.store.repositories.colonies import SqlColonies
from bot.adapters.store.repositories.cultures import SqlCultures
from bot.adapters.store.repositories.deliveries import SqlDeliveries
from bot.adapters.store.repositories.keepers import SqlKeepers
from bot.adapters.store.repositories.marks import SqlMarks
from bot.adapters.store.repositories.occurrences import SqlOccurrences
from bot.adapters.store.repositories.readings import SqlLoggerSeries
from bot.adapters.store.repositories.seasons import SqlSeasons
from bot.adapters.store.repositories.sittings import SqlNotes, SqlOffers, SqlSittings
from bot.adapters.store.repositories.threads import SqlAbsentees, SqlThreadReminders
from bot.services.absentee_ports import Absentees
from bot.services.culture_ports import Cultures
from bot.services.feedback_ports import AnswerCounts
from bot.services.logger_ports import LoggerSeries
from bot.services.ports import (
    CautionsShown,
    Colonies,
    Keepers,
    Marks,
    UnitOfWorkMaker,
    Zones,
)
from bot.services.reminder_ports import Deliveries, Occurrences
from bot.services.season_ports import Seasons
from bot.services.sitting_ports import Notes, Offers, Sittings
from bot.services.thread_ports import ThreadReminders


class SqlUnitOfWork:
    """Fulfils `ports.UnitOfWork`. On SQLite it holds the write lock from its first line: keep it short.

    Raises:
        StoreError: from entering, committing or leaving, when the database cannot do its work.
    """

    def __init__(self, engine: AsyncEngine, zones: Zones) -> None:
        self._engine = engine
        # Rows are read anew every time and never written back by themselves: repositories return values.
        options = {"populate_existing": True, "synchronize_session": False}
        self._session = AsyncSession(engine, expire_on_commit=False, autoflush=False, execution_options=options)
        self.keepers: Keepers = SqlKeepers(self._session, zones)
        self.colonies: Colonies = SqlColonies(self._session)
        self.cultures: Cultures = SqlCultures(self._session)
        self.occurrences: Occurrences = SqlOccurrences(self._session)
        self.deliveries: Deliveries = SqlDeliveries(self._session)
        self.cautions_shown: CautionsShown = SqlCautionsShown(self._session)
        self.marks: Marks = SqlMarks(self._session)
        self.seasons: Seasons = SqlSeasons(self._session)
        self.sittings: Sittings = SqlSittings(self._session)
        self.offers: Offers = SqlOffers(self._session)
        self.notes: Notes = SqlNotes(self._session)
        self.logger_series: LoggerSeries = SqlLoggerSeries(self._session)
        self.answer_counts: AnswerCounts = SqlAnswerCounts(self._session)
        self.threads: ThreadReminders = SqlThreadReminders(self._session)
        self.absentees: Absentees = SqlAbsentees(self._session)

    async def __aenter__(self) -> Self:
        """Begin."""
        try:
            await self._session.connection()
        except BaseException as error:
            await self._close()
            self._explain(error)
            raise
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Roll back what was not committed, and give the connection back."""
        await self._close()
        if error is not None:
            self._explain(error)

    async def commit(self) -> None:
        """Keep everything."""
        await self._session.commit()

    async def _close(self) -> None:
        await self._session.__aexit__(None, None, None)  # closes even while the task is being cancelled

    def _explain(self, error: BaseException) -> None:
        sentence = readable(error, self._engine.url)
        if sentence is not None:
            raise sentence from error


def unit_of_work_maker(engine: AsyncEngine, zones: Zones) -> UnitOfWorkMaker:
    """What use cases are given: each call makes a fresh unit of work."""
    return lambda: SqlUnitOfWork(engine, zones)
