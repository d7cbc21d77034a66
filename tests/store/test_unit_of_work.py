"""One unit of work, one transaction: all or nothing, aware moments only; and the two smallest repositories."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta, timezone

import pytest
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.moments import NaiveMomentError
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from tests.store.builders import (
    ANNA,
    BERT,
    DAY,
    MINUTE,
    NOW,
    colony,
    contents,
    entry,
    keeper,
    plan_rows,
    planned,
    settled,
)

pytestmark = pytest.mark.asyncio


async def everything(units: UnitOfWorkMaker, *, then: str) -> None:
    """Write to every table, then end the unit in one of the ways there are."""
    async with units() as work:
        await work.keepers.save(keeper(BERT))
        record = await work.colonies.add(BERT, colony(keeper_id=BERT, log=(entry(),)))
        await plan_rows(work, [planned(record)])
        await work.cautions_shown.record(BERT, ["mould"], DAY)
        await work.marks.set("beat", "1")
        if then == "raise":
            raise RuntimeError("the machine stops here")
        if then == "commit":
            await work.commit()


async def test_leaving_without_commit_undoes_everything(engine: AsyncEngine, units: UnitOfWorkMaker) -> None:
    before = await contents(engine)
    await everything(units, then="leave")
    assert await contents(engine) == before


async def test_an_error_undoes_everything_and_goes_on(engine: AsyncEngine, units: UnitOfWorkMaker) -> None:
    before = await contents(engine)
    with pytest.raises(RuntimeError, match="stops here"):
        await everything(units, then="raise")
    assert await contents(engine) == before


async def test_a_cancelled_unit_undoes_everything_and_frees_the_store(
    engine: AsyncEngine, units: UnitOfWorkMaker
) -> None:
    before = await contents(engine)
    started = asyncio.Event()

    async def hang() -> None:
        async with units() as work:
            await work.keepers.save(keeper())
            started.set()
            await asyncio.Event().wait()

    async with asyncio.TaskGroup() as group:
        task = group.create_task(hang())
        await started.wait()
        task.cancel()
    assert await contents(engine) == before
    await everything(units, then="commit")


async def test_commit_keeps_everything(engine: AsyncEngine, units: UnitOfWorkMaker) -> None:
    await everything(units, then="commit")
    rows = await contents(engine)
    seasons = {name for name in rows if name.startswith("season")}
    others = {"delivery", "delivery_line", "sitting", "sitting_colony", "colony_offer", "note", "answer_count"}
    others |= {"thread_reminder", "absentee", "culture", "culture_entry", "logger_series"}
    assert {name for name, kept in rows.items() if kept} == set(rows) - others - seasons


async def test_what_comes_after_the_last_commit_is_undone(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        await work.marks.set("beat", "1")
        await work.commit()
        await work.marks.set("beat", "2")
    async with units() as work:
        assert await work.marks.get("beat") == "1"


async def test_a_unit_reads_what_it_wrote(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        await work.keepers.save(keeper(mute_notes=False))
        assert await work.keepers.get(ANNA) == keeper(mute_notes=False)
        await work.keepers.save(keeper(mute_notes=True))
        assert await work.keepers.get(ANNA) == keeper(mute_notes=True)


async def test_twenty_units_that_read_before_they_write_all_succeed(units: UnitOfWorkMaker) -> None:
    """With deferred transactions SQLite fails most of these at once (`database is locked`)."""
    record = await settled(units)

    async def add_one(number: int) -> None:
        async with units() as work:
            await work.colonies.get(record.id)
            await work.colonies.log(record.id, entry(note=str(number)), NOW)
            await work.commit()

    await asyncio.gather(*(add_one(number) for number in range(20)))
    async with units() as work:
        found = await work.colonies.get(record.id)
    assert found is not None
    assert {logged.note for logged in found.colony.log} == {str(number) for number in range(20)}


async def test_moments_of_any_zone_come_back_as_the_same_moment_in_utc(units: UnitOfWorkMaker) -> None:
    kathmandu = datetime(2027, 3, 1, 2, 30, 15, 123456, tzinfo=timezone(timedelta(hours=5, minutes=45)))
    async with units() as work:
        await work.keepers.save(keeper(next_wake=kathmandu))
        await work.commit()
        found = await work.keepers.get(ANNA)
    assert found is not None
    assert found.next_wake is not None
    assert found.next_wake == kathmandu
    assert found.next_wake.utcoffset() == timedelta(0)


async def test_naive_datetimes_are_refused_everywhere(engine: AsyncEngine, units: UnitOfWorkMaker) -> None:
    naive = NOW.replace(tzinfo=None)
    record = await settled(units)
    before = await contents(engine)
    writes: tuple[Callable[[UnitOfWork], Awaitable[object]], ...] = (
        lambda work: work.keepers.save(keeper(next_wake=naive)),
        lambda work: work.keepers.claim_due(naive, NOW, "one", 1),
        lambda work: work.keepers.claim_due(NOW, naive, "one", 1),
        lambda work: work.keepers.release(ANNA, "one", naive),
        lambda work: work.colonies.add(ANNA, colony("other", created_at=naive)),
        lambda work: work.colonies.log(record.id, entry(), naive),
        lambda work: plan_rows(work, [planned(record, due_at=naive)]),
        lambda work: work.occurrences.due([ANNA], naive),
        lambda work: work.deliveries.last_digests([ANNA], naive),
    )
    for write in writes:
        async with units() as work:
            with pytest.raises(NaiveMomentError, match="has no zone"):
                await write(work)
    assert await contents(engine) == before


async def test_cautions_remember_the_last_day_for_each_keeper(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        assert await work.cautions_shown.of(ANNA) == {}
        await work.cautions_shown.record(ANNA, ["mould", "sting", "mould"], DAY)
        await work.cautions_shown.record(ANNA, ["sting"], DAY + timedelta(days=14))
        await work.cautions_shown.record(ANNA, [], DAY)
        assert await work.cautions_shown.of(ANNA) == {"mould": DAY, "sting": DAY + timedelta(days=14)}
        assert await work.cautions_shown.of(BERT) == {}


async def test_marks_are_set_and_replaced(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        assert await work.marks.get("tz data") is None
        await work.marks.set("tz data", "2026e")
        await work.marks.set("tz data", "2026f")
        await work.marks.set("last beat", (NOW + MINUTE).isoformat())
        assert await work.marks.get("tz data") == "2026f"
