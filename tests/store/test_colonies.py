"""Colonies: kept as given with a bounded log, changed by one hand at a time, read in a constant number of queries."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.care.colony import (
    Amount,
    Brood,
    Colony,
    Heater,
    LearnedDrying,
    LogEntry,
    Nest,
    NestKind,
    Outworld,
    RestWishes,
    Side,
    Stage,
)
from bot.care.duty import Duty, Outcome
from bot.services.errors import DuplicateNameError, StaleColonyError
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import LOG_PER_DUTY, ColonyId, ColonyRecord, ColonyState
from tests.store.builders import ANNA, BERT, DAY, NOW, colony, entry, keeper, settled

pytestmark = pytest.mark.asyncio

FULL = Colony(
    key="",
    name="Tower",
    species="Messor barbarus",
    workers=20_000_000,
    queens=3,
    brood=Brood(Amount.SOME, eggs=True, larvae=False, pupae=None),
    stage=Stage.FIRST_WORKERS,
    founding="semi-claustral",
    founded=date(2025, 6, 1),
    arrived=date(2026, 2, 28),
    place="shelf",
    nest=Nest(
        kind=NestKind.NATURALISTIC,
        material="aac",
        water_ml=12.5,
        wetted_cm2=40.0,
        openness=0.05,
        volume_cm3=300.0,
        changed=date(2026, 3, 1),
        watered_side=Side.B,
        bore_mm=16.0,
    ),
    heater=Heater(kind="heat-mat", hot_c=28.1, share=0.25, watts=5.0, thermostat=False),
    outworld=Outworld(barrier="ptfe", renewed=date(2027, 1, 2), dusty=True, limestone=True),
    rest=RestWishes(
        skip=True,
        start=date(2027, 11, 1),
        weeks=12.5,
        place="cellar",
        place_low_c=8.0,
        place_high_c=12.0,
        origin_latitude=-33.9,
        from_other_hemisphere_since=date(2027, 2, 2),
        first_year_queen=True,
    ),
    log=(
        LogEntry(day=DAY, duty=Duty.WATER, outcome=Outcome.BONE_DRY, side=Side.B),
        LogEntry(day=DAY, duty=Duty.CENSUS, outcome=Outcome.OK, count=140, note="two “big” ones\n🐜"),
        LogEntry(day=DAY, duty=Duty.PROTEIN, outcome=Outcome.HALF_TAKEN, food="mealworm"),
    ),
    drying=LearnedDrying(-0.2, 0.11),
)


async def load(units: UnitOfWorkMaker, record: ColonyRecord) -> ColonyRecord:
    async with units() as work:
        found = await work.colonies.get(record.id)
    assert found is not None
    return found


async def log_of(units: UnitOfWorkMaker, record: ColonyRecord) -> tuple[LogEntry, ...]:
    return (await load(units, record)).colony.log


@contextmanager
def counted(engine: AsyncEngine) -> Iterator[list[str]]:
    """The statements that reach the database meanwhile."""
    seen: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_: object) -> None:
        seen.append(statement)

    event.listen(engine.sync_engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(engine.sync_engine, "before_cursor_execute", note)


async def test_a_colony_that_is_not_there_is_none(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        assert await work.colonies.get(ColonyId(1)) is None


async def test_a_new_colony_gets_its_id_and_key(units: UnitOfWorkMaker) -> None:
    stored = await settled(units, colony(id=ColonyId(777)))
    assert stored.id != 777
    assert stored.colony.key == str(stored.id)
    assert await load(units, stored) == stored


async def test_every_field_comes_back(units: UnitOfWorkMaker) -> None:
    stored = await settled(
        units,
        colony(colony=FULL, state=ColonyState.CLOSED, closed_at=NOW + timedelta(days=1), closed_reason="given away"),
    )
    assert await load(units, stored) == stored
    assert stored.colony == replace(FULL, key=stored.colony.key)


@pytest.mark.parametrize(
    "change",
    [{"heater": None}, {"outworld": None}, {"outworld": Outworld()}, {"heater": Heater()}, {"drying": None}],
    ids=["no heater", "no outworld", "outworld not described", "heater not described", "nothing learned"],
)
async def test_absent_groups_stay_apart_from_empty_ones(units: UnitOfWorkMaker, change: dict[str, Any]) -> None:
    stored = await settled(units, colony(colony=replace(FULL, **change)))
    assert (await load(units, stored)).colony == replace(FULL, key=stored.colony.key, **change)


async def test_saving_replaces_all_but_the_log_and_counts_up(units: UnitOfWorkMaker) -> None:
    stored = await settled(units, colony(log=(entry(),)))
    changed = replace(stored, colony=replace(FULL, key=stored.colony.key), state=ColonyState.CLOSED, closed_at=NOW)
    async with units() as work:
        await work.colonies.save(changed)
        await work.commit()
    assert await load(units, stored) == replace(changed, version=2, colony=replace(changed.colony, log=(entry(),)))


async def test_a_change_of_what_somebody_changed_meanwhile_is_refused(units: UnitOfWorkMaker) -> None:
    stored = await settled(units)
    mine = replace(stored, colony=replace(stored.colony, workers=30))
    yours = replace(stored, colony=replace(stored.colony, workers=40))
    async with units() as work:
        await work.colonies.save(mine)
        await work.commit()
    async with units() as work:
        with pytest.raises(StaleColonyError):
            await work.colonies.save(yours)
    assert (await load(units, stored)).colony.workers == 30


async def test_of_two_changes_at_once_one_is_kept_and_one_refused(units: UnitOfWorkMaker) -> None:
    stored = await settled(units)

    async def change(workers: int) -> str:
        async with units() as work:
            try:
                await work.colonies.save(replace(stored, colony=replace(stored.colony, workers=workers)))
            except StaleColonyError:
                return "refused"
            await work.commit()
        return "kept"

    assert sorted(await asyncio.gather(*(change(workers) for workers in range(5)))) == ["kept", *["refused"] * 4]
    assert (await load(units, stored)).version == 2


async def test_a_change_of_an_erased_colony_is_refused(units: UnitOfWorkMaker) -> None:
    stored = await settled(units)
    async with units() as work:
        await work.keepers.erase(ANNA)
        with pytest.raises(StaleColonyError):
            await work.colonies.save(stored)


async def test_a_keeper_has_no_two_kept_colonies_of_one_name(units: UnitOfWorkMaker) -> None:
    first = await settled(units, colony("Garden"))
    async with units() as work:
        other = await work.colonies.add(ANNA, colony("Tower"))
        with pytest.raises(DuplicateNameError, match="Garden"):
            await work.colonies.add(ANNA, colony("Garden"))
        with pytest.raises(DuplicateNameError, match="Garden"):
            await work.colonies.save(replace(other, colony=replace(other.colony, name="Garden")))
        await work.colonies.save(replace(first, state=ColonyState.CLOSED, closed_at=NOW))
        await work.colonies.add(ANNA, colony("Garden"))
        await work.keepers.save(keeper(BERT))
        await work.colonies.add(BERT, colony("Tower"))
        await work.commit()


async def test_colonies_come_by_name_kept_and_closed_apart(units: UnitOfWorkMaker) -> None:
    await settled(units, colony("berry"))
    async with units() as work:
        for name in ("Äcker", "Apple", "cherry"):
            await work.colonies.add(ANNA, colony(name))
        gone = await work.colonies.add(ANNA, colony("old", state=ColonyState.CLOSED))
        await work.keepers.save(keeper(BERT))
        await work.colonies.add(BERT, colony("other"))
        kept = [record.colony.name for record in await work.colonies.of(ANNA)]
        closed = await work.colonies.of(ANNA, closed=True)
    assert kept == ["Apple", "berry", "cherry", "Äcker"]
    assert list(closed) == [gone]


async def test_the_log_runs_by_day_then_by_the_order_of_recording(units: UnitOfWorkMaker) -> None:
    stored = await settled(units)
    first, second = entry(outcome=Outcome.DAMP), entry(outcome=Outcome.DONE)
    older = entry(DAY - timedelta(days=3), note="told later")
    async with units() as work:
        for each in (first, second, older):
            await work.colonies.log(stored.id, each, NOW)
        await work.commit()
    assert await log_of(units, stored) == (older, first, second)


async def test_amending_replaces_the_newest_entry_of_that_duty_and_day(units: UnitOfWorkMaker) -> None:
    stored = await settled(units, colony(log=(entry(note="first"), entry(note="second"), entry(duty=Duty.SUGAR))))
    fixed = entry(outcome=Outcome.DAMP, side=Side.B)
    async with units() as work:
        assert await work.colonies.amend(stored.id, fixed)
        assert not await work.colonies.amend(stored.id, entry(duty=Duty.WASTE))
        assert not await work.colonies.amend(stored.id, entry(DAY + timedelta(days=1)))
        await work.commit()
    assert await log_of(units, stored) == (entry(note="first"), fixed, entry(duty=Duty.SUGAR))


async def test_unlogging_removes_the_newest_entry_of_that_duty_and_day(units: UnitOfWorkMaker) -> None:
    stored = await settled(units, colony(log=(entry(note="first"), entry(note="second"), entry(duty=Duty.SUGAR))))
    async with units() as work:
        assert await work.colonies.unlog(stored.id, DAY, Duty.WATER)
        assert not await work.colonies.unlog(stored.id, DAY, Duty.WASTE)
        await work.commit()
    assert await log_of(units, stored) == (entry(note="first"), entry(duty=Duty.SUGAR))


async def test_frequent_duties_never_push_a_rare_one_out_of_the_log(units: UnitOfWorkMaker) -> None:
    moved = entry(DAY - timedelta(days=900), Duty.NEST_CHANGE)
    waterings = [entry(DAY - timedelta(days=days)) for days in range(LOG_PER_DUTY + 40, 0, -1)]
    stored = await settled(units, colony(log=(moved, *waterings)))
    assert await log_of(units, stored) == (moved, *waterings[-LOG_PER_DUTY:])


@pytest.mark.parametrize("days", [0, 1, LOG_PER_DUTY, LOG_PER_DUTY + 1])
async def test_a_record_with_an_entry_is_what_the_store_reads(units: UnitOfWorkMaker, days: int) -> None:
    kept = (entry(DAY - timedelta(days=LOG_PER_DUTY + 1), Duty.NEST_CHANGE),)
    waterings = [entry(DAY - timedelta(days=each), note="before") for each in range(LOG_PER_DUTY, 0, -1)]
    stored = await settled(units, colony(log=(*kept, *waterings)))
    more = entry(DAY - timedelta(days=days), note="more")
    async with units() as work:
        await work.colonies.log(stored.id, more, NOW)
        assert await work.colonies.get(stored.id) == stored.with_entry(more)


async def test_what_care_changes_is_kept_and_the_name_stays(units: UnitOfWorkMaker) -> None:
    stored = await settled(units)
    tended = replace(stored.colony, workers=7, name="Another")
    async with units() as work:
        await work.colonies.tend(replace(stored, colony=tended))
        found = await work.colonies.get(stored.id)
        with pytest.raises(StaleColonyError):
            await work.colonies.tend(stored)
    assert found == replace(stored, colony=replace(tended, name=stored.colony.name), version=stored.version + 1)


async def test_many_colonies_take_as_many_queries_as_one(engine: AsyncEngine, units: UnitOfWorkMaker) -> None:
    await settled(units, colony("0", log=(entry(),)))
    async with units() as work:
        with counted(engine) as one:
            assert len(await work.colonies.of(ANNA)) == 1
        for number in range(1, 20):
            await work.colonies.add(ANNA, colony(str(number), log=(entry(), entry())))
        with counted(engine) as many:
            assert len(await work.colonies.of(ANNA)) == 20
    assert len(many) == len(one) == 2


async def test_the_id_of_an_erased_colony_is_never_given_again(units: UnitOfWorkMaker) -> None:
    first = await settled(units)
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.commit()
    assert (await settled(units)).id > first.id
