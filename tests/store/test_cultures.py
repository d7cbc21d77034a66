"""Feeder cultures in the store: kept with their log, named once, reminded of beside colonies, gone with a keeper."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.duty import Duty
from bot.services.errors import DuplicateNameError
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import CultureId, CultureRecord, NewOccurrence, OccurrenceState
from tests.store.builders import ANNA, BERT, DAY, NOW, occurrence, plan_rows, planned, settled, sitting

pytestmark = pytest.mark.asyncio


def tub(**changes: Any) -> CultureRecord:
    log = (CultureEntry(day=DAY, event=CultureEvent.DIED, animals=3),)
    base = Culture(key="", name="Oat tub", kind="mealworm", started=DAY, animals=200, temperature_c=24.5, log=log)
    return CultureRecord(id=CultureId(0), keeper_id=ANNA, culture=replace(base, **changes), created_at=NOW)


def care(record: CultureRecord, days: int = 0) -> NewOccurrence:
    found = occurrence(Duty.FEEDER_CARE, DAY + timedelta(days=days), culture=record.culture.key)
    return NewOccurrence(colony_id=None, culture_id=record.id, keeper_id=ANNA, occurrence=found)


async def kept(units: UnitOfWorkMaker) -> CultureRecord:
    await settled(units)
    async with units() as work:
        record = await work.cultures.add(tub())
        await work.commit()
    return record


async def test_a_culture_comes_back_as_it_was(units: UnitOfWorkMaker) -> None:
    record = await kept(units)
    async with units() as work:
        assert await work.cultures.get(record.id) == record
        assert record.culture.key == str(record.id)
        changed = replace(record, culture=replace(record.culture, animals=150, place="cellar"))
        await work.cultures.save(changed)
        more = CultureEntry(day=DAY, event=CultureEvent.CARE)
        await work.cultures.log(record.id, more)
        found = (await work.cultures.of(ANNA))[0].culture
        assert found == replace(changed.culture, log=(*record.culture.log, more))
        assert await work.cultures.unlog(record.id, DAY, CultureEvent.CARE)
        assert not await work.cultures.unlog(record.id, DAY, CultureEvent.CARE)
        assert await work.cultures.get(record.id) == changed


async def test_two_cultures_of_one_name_are_refused_and_nothing_else_is_lost(units: UnitOfWorkMaker) -> None:
    await kept(units)
    async with units() as work:
        with pytest.raises(DuplicateNameError):
            await work.cultures.add(tub())
        await work.cultures.add(tub(name="Jar"))
        await work.commit()
    async with units() as work:
        assert [record.culture.name for record in await work.cultures.of(ANNA)] == ["Jar", "Oat tub"]


async def test_names_come_in_their_order_without_the_logs(units: UnitOfWorkMaker) -> None:
    tub_of_anna = await kept(units)
    async with units() as work:
        jar = await work.cultures.add(tub(name="a jar"))
        names = await work.cultures.names_of([ANNA, BERT])
    assert list(names[ANNA].items()) == [(jar.subject, "a jar"), (tub_of_anna.subject, "Oat tub")]
    assert BERT not in names


async def test_reminders_of_cultures_stand_beside_those_of_colonies(units: UnitOfWorkMaker) -> None:
    record = await kept(units)
    async with units() as work:
        colony = (await work.colonies.of(ANNA))[0]
        stored = await plan_rows(work, [care(record), planned(colony), care(record, days=1)])
        assert len(stored) == 3
        again = await plan_rows(work, [care(record)])
        assert {row.id for row in again} <= {row.id for row in stored}, "planned twice, it stays one row"
        mine = await work.occurrences.open_of_all([record.subject])
        assert [(row.subject, row.occurrence.culture) for row in mine] == [((None, record.id), record.culture.key)] * 2
        assert len(await work.occurrences.open_of_keeper(ANNA)) == 3
        assert len(await work.occurrences.due([ANNA], NOW)) == 3
        assert [row.subject for row in await work.occurrences.open_of(colony.id)] == [colony.subject]


async def test_a_reminder_that_was_sent_is_not_planned_over(units: UnitOfWorkMaker) -> None:
    record = await kept(units)
    async with units() as work:
        row = (await plan_rows(work, [care(record)]))[0]
        await work.occurrences.set_state([row.id], OccurrenceState.SENT)
        assert (await plan_rows(work, [care(record)]))[0].state is OccurrenceState.SENT


async def test_its_log_and_reminders_go_with_a_culture_and_all_with_the_keeper(units: UnitOfWorkMaker) -> None:
    record = await kept(units)
    async with units() as work:
        await plan_rows(work, [care(record)])
        await work.cultures.remove(record.id)
        assert not await work.occurrences.open_of_keeper(ANNA)
        record = await work.cultures.add(tub())
        await work.keepers.erase(ANNA)
        assert await work.cultures.get(record.id) is None
        await work.commit()


async def test_a_sitting_remembers_whether_it_is_about_feeders(units: UnitOfWorkMaker) -> None:
    await kept(units)
    async with units() as work:
        colony = (await work.colonies.of(ANNA))[0]
        made = await work.sittings.add(sitting(colony.id, feeders=True))
        assert await work.sittings.get(made.id) == made
        assert made.feeders
