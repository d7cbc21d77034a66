"""A look plans only what changed since it was planned, and says the same as one that plans everything anew."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from bot.care.agenda import plan_firsts
from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty, Outcome
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork
from bot.services.records import ColonyId, KeeperRecord
from tests.care import builders
from tests.services.kit import ALMA, START, World, handbook, open_world

pytestmark = pytest.mark.asyncio
DAYS = timedelta(days=1)


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the colonies that were planned, in their order."""
    names = list[str]()

    def noted(colony: Colony, *rest: object) -> object:
        names.append(colony.name)
        return plan_firsts(colony, *rest)  # type: ignore[arg-type] # as given

    monkeypatch.setattr("bot.services.moves.plan_firsts", noted)
    return names


async def cared_for(world: World) -> ColonyId:
    """A colony whose next duty lies some days ahead, and another one."""
    await world.settle()
    view = await world.register()
    for colony in (view.record.colony, (await world.register(colony=builders.colony(name="Second"))).record.colony):
        for duty in {found.duty for found in view.plan.occurrences}:
            entry = LogEntry(day=START.date(), duty=duty, outcome=Outcome.DONE)
            await world.answers.record(ALMA, ColonyId(int(colony.key)), entry, START)
    return view.record.id


async def look(world: World, now: datetime) -> KeeperRecord:
    async with world.units() as work:
        keeper = await work.keepers.get(ALMA)
        assert keeper is not None
        (seen,) = await world.dispatcher.planner.look_at(work, [keeper], now)
        await work.commit()
    return seen


async def test_a_look_at_what_nobody_changed_plans_nothing(world: World, planned: list[str]) -> None:
    await cared_for(world)
    await look(world, START)
    planned.clear()
    seen = await look(world, START + DAYS)
    assert planned == []
    assert seen.planned_on == date(2027, 6, 2)
    assert seen.next_wake is not None


async def test_what_was_logged_is_planned_anew_and_nothing_else(world: World, planned: list[str]) -> None:
    colony_id = await cared_for(world)
    await look(world, START)
    async with world.units() as work:
        await work.colonies.log(colony_id, LogEntry(day=START.date(), duty=Duty.WASTE, outcome=Outcome.DONE), START)
        await work.commit()
    planned.clear()
    await look(world, START + DAYS)
    assert planned == ["Dusk"]


async def test_a_plan_holds_until_the_first_day_on_which_something_is_due(world: World, planned: list[str]) -> None:
    await cared_for(world)
    await look(world, START)
    async with world.units() as work:
        until = {plan.until for plan in (await work.colonies.standing([ALMA]))[ALMA].values()}
    planned.clear()
    last = START + (min(until) - START.date()).days * DAYS
    await look(world, last)
    assert planned == []
    await look(world, last + DAYS)
    assert planned


async def test_what_was_told_is_planned_anew_at_the_next_look(world: World, planned: list[str]) -> None:
    await world.settle()
    await world.register()
    (_, digest), *_ = await world.walk(START, START + DAYS)
    assert digest.lines
    planned.clear()
    await look(world, START + timedelta(hours=13))
    assert planned == ["Dusk"]


async def test_other_settings_or_another_handbook_plan_everything_anew(world: World, planned: list[str]) -> None:
    await cared_for(world)
    await look(world, START)
    other = replace(world.dispatcher.planner, handbook=replace(handbook(), fingerprint="another edition"))
    planned.clear()
    await look(replace(world, dispatcher=replace(world.dispatcher, planner=other)), START + DAYS)
    assert sorted(planned) == ["Dusk", "Second"]
    async with world.units() as work:
        keeper = await work.keepers.get(ALMA)
        assert keeper is not None
        await work.keepers.save(replace(keeper, mute_notes=True, places=(replace(keeper.places[0], temperature_c=19),)))
        await work.commit()
    planned.clear()
    await look(world, START + DAYS)
    assert sorted(planned) == ["Dusk", "Second"]


@dataclass(frozen=True, slots=True)
class Thorough(Planner):
    """Plans everything anew at every look."""

    async def _standing(self, work: UnitOfWork, keepers: object, now: datetime) -> set[ColonyId]:
        return set()


@pytest.mark.parametrize("answering", [True, False])
async def test_a_look_says_what_a_thorough_one_would_say(tmp_path: Path, template: Path, *, answering: bool) -> None:
    told = list[list[tuple[datetime, list[tuple[str, Duty, date]]]]]()
    for kind in (Planner, Thorough):
        (tmp_path / kind.__name__).mkdir()
        async with open_world(tmp_path / kind.__name__, template) as opened:
            world = replace(opened, dispatcher=replace(opened.dispatcher, planner=kind(handbook())))
            await world.settle()
            for name, workers in (("Dusk", 40), ("Second", 600)):
                await world.register(colony=builders.colony(name=name, workers=workers))
            seen = await world.walk(START, START + 12 * DAYS, answering=answering)
        lines = [(at, [(each.colony_name, each.duty, each.day) for each in digest.lines]) for at, digest in seen]
        told.append(lines)
    assert told[0] == told[1]
    assert len(told[0]) > 5
