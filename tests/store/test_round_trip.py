"""Whatever a keeper, a colony or an occurrence holds, it comes back equal; and no field of theirs lacks a column."""

from __future__ import annotations

import asyncio
from dataclasses import fields, replace

import pytest
from hypothesis import HealthCheck, given, settings

from bot.adapters.store.engine import open_engine
from bot.adapters.store.tables import ColonyRow, KeeperRow
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.colony import Brood, Colony, Heater, LearnedDrying, Nest, Outworld, RestWishes
from bot.care.duty import Occurrence
from bot.care.place import Keeper
from bot.services.records import ColonyRecord, KeeperRecord, NewOccurrence
from tests.store.builders import ZONES, keeper, plan_rows
from tests.store.strategies import colony_records, keeper_records, occurrences

one_store_for_all = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
"""Every example is undone, so the file of the test serves them all."""


async def keeper_there_and_back(url: str, record: KeeperRecord) -> KeeperRecord | None:
    engine = open_engine(url)
    try:
        async with unit_of_work_maker(engine, ZONES)() as work:
            await work.keepers.save(record)
            return await work.keepers.get(record.id)
    finally:
        await engine.dispose()


async def colony_there_and_back(url: str, record: ColonyRecord) -> tuple[ColonyRecord, ColonyRecord | None]:
    engine = open_engine(url)
    try:
        async with unit_of_work_maker(engine, ZONES)() as work:
            await work.keepers.save(keeper(record.keeper_id))
            stored = await work.colonies.add(record.keeper_id, record)
            return stored, await work.colonies.get(stored.id)
    finally:
        await engine.dispose()


async def occurrence_there_and_back(url: str, record: ColonyRecord, wanted: Occurrence) -> tuple[str, Occurrence]:
    engine = open_engine(url)
    try:
        async with unit_of_work_maker(engine, ZONES)() as work:
            await work.keepers.save(keeper(record.keeper_id))
            stored = await work.colonies.add(record.keeper_id, record)
            new = NewOccurrence(colony_id=stored.id, keeper_id=stored.keeper_id, occurrence=wanted)
            (row,) = await plan_rows(work, [new])
            found = await work.occurrences.get(row.id)
            assert found == row
            return stored.colony.key, row.occurrence
    finally:
        await engine.dispose()


@one_store_for_all
@given(record=keeper_records)
def test_any_keeper_comes_back_equal(sqlite_url: str, record: KeeperRecord) -> None:
    assert asyncio.run(keeper_there_and_back(sqlite_url, record)) == record


@one_store_for_all
@given(record=colony_records)
def test_any_colony_comes_back_equal(sqlite_url: str, record: ColonyRecord) -> None:
    stored, found = asyncio.run(colony_there_and_back(sqlite_url, record))
    assert found == stored
    assert replace(stored, id=record.id, colony=replace(stored.colony, key="")) == record


@one_store_for_all
@given(record=colony_records, wanted=occurrences)
def test_any_occurrence_comes_back_equal(sqlite_url: str, record: ColonyRecord, wanted: Occurrence) -> None:
    key, found = asyncio.run(occurrence_there_and_back(sqlite_url, record, wanted))
    assert found == replace(wanted, colony=key)


@pytest.mark.parametrize(
    ("prefix", "kind"),
    [
        ("", Colony),
        ("brood_", Brood),
        ("nest_", Nest),
        ("heater_", Heater),
        ("outworld_", Outworld),
        ("rest_", RestWishes),
        ("drying_", LearnedDrying),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_every_field_of_a_colony_has_a_column(prefix: str, kind: type) -> None:
    groups = {"key", "brood", "nest", "heater", "outworld", "rest", "log", "drying"} if kind is Colony else set()
    assert {prefix + field.name for field in fields(kind)} - groups <= set(ColonyRow.__table__.columns.keys())


def test_every_field_of_a_keeper_has_a_column() -> None:
    names = {field.name for kind in (KeeperRecord, Keeper) for field in fields(kind)}
    assert names - {"settings", "places", "zone", "quiet"} <= set(KeeperRow.__table__.columns.keys())
