"""Keepers: kept as given, claimed by one process at a time, erased whole."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import UTC, date, datetime, time

import pytest
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.localtime import moment
from bot.care.logger.readings import Quantity, Reading, Series
from bot.care.logger.spot import Spot
from bot.care.place import Place
from bot.care.units import Units
from bot.services.absentee_ports import Absentee
from bot.services.logger_ports import StoredSeries
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import CultureId, CultureRecord, Door, KeeperId, KeeperRecord
from tests.store.builders import (
    ANNA,
    BERT,
    DAY,
    MINUTE,
    NOW,
    ZONES,
    contents,
    delivery,
    entry,
    keeper,
    note,
    offer,
    plan_rows,
    planned,
    settings,
    settled,
    sitting,
    thread_reminder,
)

pytestmark = pytest.mark.asyncio

LEASE = NOW + 2 * MINUTE


async def save(units: UnitOfWorkMaker, *records: KeeperRecord) -> None:
    async with units() as work:
        for record in records:
            await work.keepers.save(record)
        await work.commit()


async def load(units: UnitOfWorkMaker, keeper_id: KeeperId = ANNA) -> KeeperRecord | None:
    async with units() as work:
        return await work.keepers.get(keeper_id)


async def claim(units: UnitOfWorkMaker, token: str = "one", limit: int = 10, now: datetime = NOW) -> set[KeeperId]:
    async with units() as work:
        claimed = await work.keepers.claim_due(now, now + 2 * MINUTE, token, limit)
        await work.commit()
    return claimed


async def test_a_keeper_who_never_came_is_none(units: UnitOfWorkMaker) -> None:
    assert await load(units) is None


async def test_every_field_comes_back(units: UnitOfWorkMaker) -> None:
    full = keeper(
        settings=settings("Australia/Hobart", latitude=-42.9, country="AU", units=Units.FAHRENHEIT),
        places=(Place(name="shelf", temperature_c=24.5, humidity_percent=55, draughty=True), Place(name="cellar")),
        reminders_on=False,
        away_until=date(2027, 4, 3),
        mute_notes=True,
        channel_id=2**62,
        door=Door.OPEN,
        refusals=2,
        unanswered=5,
        next_wake=NOW,
        planned_on=DAY,
        zone_data="2026f",
    )
    await save(units, full)
    assert await load(units) == full


async def test_saving_again_replaces_settings_and_places(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(places=(Place(name="a"), Place(name="b"), Place(name="c"))))
    changed = keeper(settings=settings("America/Lima", latitude=-12.0), places=(Place(name="c"),), mute_notes=True)
    await save(units, changed)
    assert await load(units) == changed


async def test_saving_again_keeps_the_first_moment_of_creation(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(created_at=NOW))
    await save(units, keeper(created_at=None))
    loaded = await load(units)
    assert loaded is not None
    assert loaded.created_at == NOW


async def test_a_zone_that_the_tz_data_lost_falls_back_on_utc(
    units: UnitOfWorkMaker, caplog: pytest.LogCaptureFixture
) -> None:
    lost = keeper(settings=replace(settings(), zone_name="Atlantis/Old_Harbour"), next_wake=NOW)
    await save(units, lost, keeper(BERT, next_wake=NOW))
    assert await claim(units) == {ANNA, BERT}
    loaded = await load(units)
    assert loaded is not None
    assert loaded.settings.zone is UTC
    assert loaded.settings.zone_name == "Atlantis/Old_Harbour"
    assert "Atlantis/Old_Harbour" in caplog.text


@pytest.mark.parametrize("day", [date(2027, 3, 28), date(2027, 10, 31)], ids=["gap", "overlap"])
async def test_wall_time_and_zone_survive_clock_changes(units: UnitOfWorkMaker, day: date) -> None:
    """02:30 in Berlin happens never on 28 March and twice on 31 October 2027 (EU rule: last Sundays, 01:00 UTC)."""
    wall = time(2, 30)
    wake = moment(day, wall, ZONES.get("Europe/Berlin"))
    await save(units, keeper(settings=settings(digest_at=wall), next_wake=wake))
    loaded = await load(units)
    assert loaded is not None
    assert loaded.next_wake == wake
    assert loaded.settings.digest_at == wall
    assert moment(day, loaded.settings.digest_at, loaded.settings.zone) == wake


async def test_both_moments_of_an_overlap_stay_apart(units: UnitOfWorkMaker) -> None:
    zone = ZONES.get("Europe/Berlin")
    first, second = (datetime(2027, 10, 31, 2, 30, tzinfo=zone, fold=fold) for fold in (0, 1))
    await save(units, keeper(next_wake=first), keeper(BERT, next_wake=second))
    anna, bert = await load(units), await load(units, BERT)
    assert anna is not None
    assert bert is not None
    assert anna.next_wake == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
    assert bert.next_wake == datetime(2027, 10, 31, 1, 30, tzinfo=UTC)


async def test_only_keepers_whose_moment_has_come_are_claimed_earliest_first(units: UnitOfWorkMaker) -> None:
    await save(
        units,
        keeper(KeeperId(1), next_wake=NOW),
        keeper(KeeperId(2), next_wake=NOW - MINUTE),
        keeper(KeeperId(3), next_wake=NOW + MINUTE),
        keeper(KeeperId(4), next_wake=None),
    )
    assert await claim(units) == {2, 1}


async def test_a_claim_takes_no_more_than_asked_for(units: UnitOfWorkMaker) -> None:
    await save(units, *(keeper(KeeperId(number), next_wake=NOW - number * MINUTE) for number in range(1, 6)))
    assert await claim(units, limit=2) == {5, 4}
    assert await claim(units, limit=2) == {3, 2}


async def test_a_claimed_keeper_has_places_lease_and_token(units: UnitOfWorkMaker) -> None:
    waiting = keeper(places=(Place(name="a"), Place(name="b")), next_wake=NOW)
    await save(units, waiting)
    async with units() as work:
        await work.keepers.claim_due(NOW, LEASE, "one", 10)
        claimed = await work.keepers.get(ANNA)
    assert claimed == replace(waiting, lease_until=LEASE, lease_token="one")


async def test_a_lease_holds_others_off_until_it_runs_out(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(next_wake=NOW))
    assert await claim(units, "one") == {ANNA}
    assert await claim(units, "two", now=LEASE - MINUTE) == set()
    assert await claim(units, "two", now=LEASE) == {ANNA}


async def test_saving_leaves_the_lease_alone(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(next_wake=NOW))
    await claim(units, "one")
    await save(units, keeper(next_wake=NOW, mute_notes=True, lease_until=None, lease_token="forged"))
    loaded = await load(units)
    assert loaded is not None
    assert (loaded.lease_until, loaded.lease_token, loaded.mute_notes) == (LEASE, "one", True)


async def test_release_gives_the_lease_back_with_the_next_moment(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(next_wake=NOW))
    await claim(units, "one")
    async with units() as work:
        assert await work.keepers.release(ANNA, "one", NOW + 60 * MINUTE)
        await work.commit()
    loaded = await load(units)
    assert loaded is not None
    assert (loaded.lease_until, loaded.lease_token, loaded.next_wake) == (None, None, NOW + 60 * MINUTE)


async def test_a_late_process_cannot_release_what_another_holds_by_now(units: UnitOfWorkMaker) -> None:
    await save(units, keeper(next_wake=NOW))
    await claim(units, "slow")
    await claim(units, "quick", now=LEASE)
    async with units() as work:
        assert not await work.keepers.release(ANNA, "slow", None)
        assert not await work.keepers.release(BERT, "slow", None)
        await work.commit()
    loaded = await load(units)
    assert loaded is not None
    assert (loaded.lease_token, loaded.next_wake) == ("quick", NOW)


async def test_the_next_wake_is_the_earliest_moment_at_which_a_claim_can_succeed(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        assert await work.keepers.next_wake() is None
    await save(units, keeper(next_wake=NOW), keeper(BERT, next_wake=NOW + 60 * MINUTE))
    async with units() as work:
        assert await work.keepers.next_wake() == NOW
    await claim(units)
    async with units() as work:
        assert await work.keepers.next_wake() == LEASE


async def test_ids_are_walked_in_batches(units: UnitOfWorkMaker) -> None:
    await save(units, *(keeper(KeeperId(number)) for number in (7, 3, 9, 5)))
    async with units() as work:
        assert await work.keepers.ids_after(KeeperId(0), 2) == [3, 5]
        assert await work.keepers.ids_after(KeeperId(5), 2) == [7, 9]
        assert await work.keepers.ids_after(KeeperId(9), 2) == []


async def test_erasing_takes_everything_of_the_keeper_and_nothing_of_others(
    engine: AsyncEngine, units: UnitOfWorkMaker
) -> None:
    await save(units, keeper(BERT))
    before = await contents(engine)
    record = await settled(units)
    async with units() as work:
        await work.colonies.log(record.id, entry(), NOW)
        (row,) = await plan_rows(work, [planned(record)])
        await work.deliveries.add(delivery(row.id))
        await work.cautions_shown.record(ANNA, ["mould"], DAY)
        await work.sittings.add(sitting(record.id))
        await work.offers.put(offer(record.id))
        await work.notes.add(note())
        await work.threads.save(thread_reminder())
        await work.absentees.save(Absentee(keeper_id=ANNA, since=NOW, checked_at=NOW))
        tub = Culture(
            key="", name="Tub", kind="mealworm", log=(CultureEntry(day=DAY, event=CultureEvent.DIED, animals=1),)
        )
        await work.cultures.add(CultureRecord(id=CultureId(0), keeper_id=ANNA, culture=tub, created_at=NOW))
        readings = (Reading(NOW, 20.0), Reading(NOW + 60 * MINUTE, 21.0))
        measured = Series(Quantity.TEMPERATURE, readings)
        stored = StoredSeries(spot=Spot.NEST, series=measured, kept=True, stored_at=NOW)
        await work.logger_series.put(ANNA, record.id, stored)
        await work.commit()
    held = {name for name, rows in (await contents(engine)).items() if rows != before[name]}
    assert held == {name for name in before if name not in {"mark", "answer_count"} and not name.startswith("season")}
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.commit()
    assert await contents(engine) == before


async def test_eight_processes_claim_each_keeper_once(url: str) -> None:
    """Each claimer has an engine of its own, as processes have; on SQLite all write to one file."""
    engines = [open_engine(url) for _ in range(8)]
    makers = [unit_of_work_maker(engine, ZONES) for engine in engines]
    ids = [KeeperId(number) for number in range(1, 41)]
    try:
        await save(makers[0], *(keeper(keeper_id, next_wake=NOW) for keeper_id in ids))
        claimed: list[KeeperId] = []

        async def work_off(maker: UnitOfWorkMaker, token: str) -> None:
            while batch := await claim(maker, token, limit=3):
                claimed.extend(batch)

        async with asyncio.TaskGroup() as group:
            for number, maker in enumerate(makers):
                group.create_task(work_off(maker, f"token {number}"))
        assert sorted(claimed) == ids
    finally:
        for engine in engines:
            await engine.dispose()
