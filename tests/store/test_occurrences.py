"""Stored occurrences: one for each colony, duty and day; what was sent, snoozed or answered is never planned over."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.duty import Duty, Outcome, Urgency
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import (
    ColonyState,
    NewOccurrence,
    OccurrenceId,
    OccurrenceState,
    StoredOccurrence,
)
from bot.services.reminder_ports import Outlook
from tests.store.builders import (
    ANNA,
    BERT,
    DAY,
    MINUTE,
    NOW,
    ZONES,
    colony,
    delivery,
    keeper,
    occurrence,
    plan_rows,
    planned,
    settled,
)

pytestmark = pytest.mark.asyncio

TOMORROW = DAY + timedelta(days=1)


async def plan(units: UnitOfWorkMaker, *new: NewOccurrence) -> Sequence[StoredOccurrence]:
    async with units() as work:
        rows = await plan_rows(work, new)
        await work.commit()
    return rows


async def change(units: UnitOfWorkMaker, row: StoredOccurrence, **changes: Any) -> StoredOccurrence:
    changed = replace(row, **changes)
    async with units() as work:
        await work.occurrences.save(changed)
        await work.commit()
    return changed


async def load(units: UnitOfWorkMaker, row: StoredOccurrence) -> StoredOccurrence | None:
    async with units() as work:
        return await work.occurrences.get(row.id)


async def test_planning_stores_the_whole_occurrence(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    wanted = planned(record, urgency=Urgency.URGENT, useful_days=9, reason="“Dry” 🐜")
    (row,) = await plan(units, wanted)
    assert row == StoredOccurrence(
        id=row.id, colony_id=record.id, keeper_id=ANNA, occurrence=wanted.occurrence, state=OccurrenceState.PLANNED
    )
    assert await load(units, row) == row


async def test_figures_keep_their_kind_and_order(units: UnitOfWorkMaker) -> None:
    facts: dict[str, float | str] = {"z_days": 3, "a_ml": 0.1 + 0.2, "text": "null", "big": 1e300}
    (row,) = await plan(units, planned(await settled(units), facts=facts))
    kept = row.occurrence.facts
    assert list(kept.items()) == list(facts.items())
    assert [type(value) for value in kept.values()] == [int, float, str, float]


async def test_a_figure_that_is_no_number_is_refused(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    with pytest.raises(Exception, match="not JSON compliant"):
        await plan(units, planned(record, facts={"interval_days": float("nan")}))


async def test_planning_twice_changes_nothing(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    first = await plan(units, planned(record), planned(record, Duty.SUGAR))
    assert await plan(units, planned(record), planned(record, Duty.SUGAR)) == first


async def test_planning_nothing_is_fine(units: UnitOfWorkMaker) -> None:
    assert list(await plan(units)) == []


async def test_of_two_new_ones_with_one_key_the_last_counts(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    (row,) = await plan(units, planned(record, reason="first"), planned(record, reason="last"))
    assert row.occurrence.reason == "last"


async def test_only_what_was_asked_for_comes_back_by_due_moment(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    await plan(units, planned(record, Duty.WASTE))
    rows = await plan(units, planned(record, Duty.SUGAR, due_at=NOW + MINUTE), planned(record, day=TOMORROW))
    assert [(row.occurrence.duty, row.occurrence.day) for row in rows] == [(Duty.WATER, TOMORROW), (Duty.SUGAR, DAY)]


async def test_a_planned_row_is_overwritten(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    (old,) = await plan(units, planned(record))
    (new,) = await plan(units, planned(record, due_at=NOW + MINUTE, reason="new", facts={}, cautions=()))
    assert new == replace(
        old, occurrence=occurrence(colony=record.colony.key, due_at=NOW + MINUTE, reason="new", facts={}, cautions=())
    )


async def test_a_superseded_row_starts_anew(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    (old,) = await plan(units, planned(record))
    async with units() as work:
        await work.deliveries.add(delivery(old.id))
        await work.commit()
    await change(units, old, state=OccurrenceState.SUPERSEDED, snoozed=True, outcome=Outcome.DONE, answered_at=NOW)
    assert await plan(units, planned(record)) == [old]


async def test_a_row_on_its_way_stays_in_its_delivery(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    (row,) = await plan(units, planned(record))
    async with units() as work:
        sending = await work.deliveries.add(delivery(row.id))
        await work.commit()
    (again,) = await plan(units, planned(record, reason="new"))
    assert (again.delivery_id, again.occurrence.reason) == (sending.id, "new")


@pytest.mark.parametrize(
    "changes",
    [
        {"snoozed": True},
        {"state": OccurrenceState.SENT},
        {"state": OccurrenceState.DONE, "outcome": Outcome.DAMP, "answered_at": NOW},
        {"state": OccurrenceState.SKIPPED, "outcome": Outcome.SKIPPED, "answered_at": NOW},
        {"state": OccurrenceState.LAPSED},
    ],
    ids=lambda changes: " ".join(str(value) for value in changes.values()),
)
async def test_what_the_keeper_has_seen_or_moved_is_left_alone(units: UnitOfWorkMaker, changes: dict[str, Any]) -> None:
    record = await settled(units)
    (row,) = await plan(units, planned(record))
    kept = await change(units, row, **changes)
    new = [planned(record, reason="new", due_at=NOW + MINUTE), planned(record, day=TOMORROW)]
    async with units() as work:
        used = await work.occurrences.plan(new)
        await work.commit()
    assert list(used) == ([] if kept.snoozed else new[:1])
    assert await load(units, row) == kept


async def test_two_planners_at_once_leave_one_row(url: str) -> None:
    engines = [open_engine(url) for _ in range(4)]
    try:
        makers = [unit_of_work_maker(engine, ZONES) for engine in engines]
        record = await settled(makers[0])
        wanted = [planned(record, day=DAY + timedelta(days=days)) for days in range(20)]
        results = await asyncio.gather(*(plan(maker, *wanted) for maker in makers))
        assert all(rows == results[0] for rows in results)
        async with makers[0]() as work:
            assert list(await work.occurrences.open_of(record.id)) == list(results[0])
    finally:
        for engine in engines:
            await engine.dispose()


async def test_saving_keeps_state_moment_bounds_delivery_and_answer(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    (row,) = await plan(units, planned(record))
    async with units() as work:
        sent = await work.deliveries.add(delivery())
        await work.commit()
    moved = replace(
        row.occurrence,
        due_at=NOW + timedelta(days=2),
        earliest=TOMORROW,
        latest=TOMORROW + timedelta(days=5),
    )
    changed = await change(
        units,
        row,
        occurrence=moved,
        state=OccurrenceState.DONE,
        snoozed=True,
        delivery_id=sent.id,
        answered_at=NOW + MINUTE,
        outcome=Outcome.ABOUT_DRY,
    )
    assert await load(units, row) == changed


async def test_an_answer_to_an_erased_occurrence_does_not_bring_it_back(units: UnitOfWorkMaker) -> None:
    (row,) = await plan(units, planned(await settled(units)))
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.commit()
    await change(units, row, state=OccurrenceState.DONE)
    assert await load(units, row) is None


async def test_several_move_at_once_but_over_is_over(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    rows = await plan(units, *(planned(record, day=DAY + timedelta(days=days)) for days in range(6)))
    states = list(OccurrenceState)
    assert len(states) == len(rows)
    for row, state in zip(rows, states, strict=True):
        await change(units, row, state=state)
    async with units() as work:
        await work.occurrences.set_state([row.id for row in rows], OccurrenceState.SUPERSEDED)
        await work.commit()
    moved = {OccurrenceState.PLANNED, OccurrenceState.SENT, OccurrenceState.SUPERSEDED}
    after = [await load(units, row) for row in rows]
    assert [row.state for row in after if row is not None] == [
        OccurrenceState.SUPERSEDED if state in moved else state for state in states
    ]


async def test_going_back_to_planned_unties_from_the_delivery(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    first, second = await plan(units, planned(record), planned(record, Duty.SUGAR))
    async with units() as work:
        made = await work.deliveries.add(delivery(first.id, second.id))
        await work.occurrences.set_state([first.id], OccurrenceState.PLANNED)
        await work.occurrences.set_state([second.id], OccurrenceState.SENT)
        await work.commit()
    assert await load(units, first) == first
    assert await load(units, second) == replace(second, state=OccurrenceState.SENT, delivery_id=made.id)


async def test_thousands_move_at_once(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    rows = await plan(units, *(planned(record, day=DAY + timedelta(days=days)) for days in range(1200)))
    assert len(rows) == 1200
    async with units() as work:
        await work.occurrences.set_state([row.id for row in rows], OccurrenceState.SUPERSEDED)
        assert await work.occurrences.open_of(record.id) == []


async def test_moving_nothing_is_fine(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        await work.occurrences.set_state([], OccurrenceState.SENT)


async def test_open_ones_come_by_due_moment_and_only_of_kept_colonies(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    async with units() as work:
        closed = await work.colonies.add(ANNA, colony("gone", state=ColonyState.CLOSED))
        await work.keepers.save(keeper(BERT))
        other = await work.colonies.add(BERT, colony())
        await work.commit()
    early, late, done = await plan(
        units,
        planned(record, Duty.WATER, due_at=NOW + MINUTE),
        planned(record, Duty.SUGAR, due_at=NOW),
        planned(record, Duty.WASTE, due_at=NOW + 2 * MINUTE),
    )
    sent = await change(units, late, state=OccurrenceState.SENT)
    await change(units, done, state=OccurrenceState.DONE)
    (hidden,) = await plan(units, planned(closed))
    await plan(units, planned(other))
    async with units() as work:
        assert list(await work.occurrences.open_of(record.id)) == [early, sent]
        assert list(await work.occurrences.open_of(closed.id)) == [hidden]
        assert list(await work.occurrences.open_of_keeper(ANNA)) == [early, sent]


async def test_due_is_what_is_planned_has_come_and_waits_in_no_delivery(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    sending, sent, first, second = await plan(
        units,
        planned(record, Duty.WASTE, due_at=NOW - 9 * MINUTE),
        planned(record, Duty.PROTEIN, due_at=NOW - 8 * MINUTE),
        planned(record, Duty.SUGAR, due_at=NOW - 5 * MINUTE),
        planned(record, Duty.WATER, due_at=NOW),
    )
    await plan(units, planned(record, Duty.CENSUS, due_at=NOW + MINUTE))
    await change(units, sent, state=OccurrenceState.SENT)
    async with units() as work:
        await work.deliveries.add(delivery(sending.id))
        assert list(await work.occurrences.due([ANNA], NOW)) == [first, second]
        assert list(await work.occurrences.due([BERT], NOW)) == []
        assert await work.occurrences.outlook([ANNA, BERT]) == {ANNA: Outlook(next_due=NOW - 9 * MINUTE)}


async def test_answered_ones_come_newest_first_and_no_more_than_asked_for(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    rows = await plan(units, *(planned(record, day=DAY + timedelta(days=days)) for days in range(5)))
    done = [
        await change(units, row, state=state, answered_at=NOW + minutes * MINUTE)
        for row, state, minutes in (
            (rows[0], OccurrenceState.DONE, 3),
            (rows[1], OccurrenceState.SKIPPED, 9),
            (rows[2], OccurrenceState.DONE, 6),
        )
    ]
    await change(units, rows[3], state=OccurrenceState.LAPSED)
    async with units() as work:
        assert list(await work.occurrences.answered(record.id, 10)) == [done[1], done[2], done[0]]
        assert list(await work.occurrences.answered(record.id, 2)) == [done[1], done[2]]


async def test_the_id_of_an_erased_occurrence_is_never_given_again(units: UnitOfWorkMaker) -> None:
    """A button of an old message carries the id."""
    (first,) = await plan(units, planned(await settled(units)))
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.commit()
    (second,) = await plan(units, planned(await settled(units)))
    assert second.id > first.id
    async with units() as work:
        assert await work.occurrences.get(OccurrenceId(first.id)) is None
