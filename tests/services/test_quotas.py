"""What one keeper may fill the store with."""

from datetime import timedelta

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.errors import TooManyError
from bot.services.history import History
from tests.care import builders
from tests.services.kit import ALMA, START, World, handbook

pytestmark = pytest.mark.asyncio
TODAY = START.date()


async def test_a_keeper_has_no_more_colonies_than_the_quota(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bot.services.colonies.MOST_COLONIES", 2)
    await world.settle()
    for name in ("Dusk", "Dawn"):
        await world.register(colony=builders.colony(name=name))
    with pytest.raises(TooManyError):
        await world.register(colony=builders.colony(name="Noon"))


async def test_a_day_of_a_colony_takes_so_many_entries_and_other_days_theirs(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.services.quotas.MOST_ENTRIES_A_DAY", 3)
    await world.settle()
    colony_id = (await world.register()).record.id
    history = History(world.units, world.keepers.planner, handbook())
    for _ in range(2):
        await world.answers.record(ALMA, colony_id, LogEntry(day=TODAY, duty=Duty.WASTE, outcome=Outcome.DONE), START)
    seen = LogEntry(day=TODAY, duty=Duty.CENSUS, outcome=Outcome.EGGS)
    await history.observe(ALMA, colony_id, seen, START)
    with pytest.raises(BadValueError, match="put them together"):
        await history.observe(ALMA, colony_id, seen, START)
    with pytest.raises(BadValueError, match="put them together"):
        await world.answers.record(ALMA, colony_id, LogEntry(day=TODAY, duty=Duty.WASTE, outcome=Outcome.DONE), START)
    await world.answers.record(
        ALMA, colony_id, LogEntry(day=TODAY - timedelta(days=1), duty=Duty.WASTE, outcome=Outcome.DONE), START
    )
