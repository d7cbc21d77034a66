"""What is read and written for many keepers at once, on both databases: the same as one by one."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome, Urgency
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.records import ColonyRecord, KeeperId, OccurrenceState, Standing
from bot.services.reminder_ports import Outlook
from tests.store.builders import ANNA, BERT, DAY, MINUTE, NOW, colony, delivery, keeper, plan_rows, planned

pytestmark = pytest.mark.asyncio
NOBODY = KeeperId(99)
PLAN = Standing(DAY + timedelta(days=3), "settings and handbook")


async def both(work: UnitOfWork) -> tuple[ColonyRecord, ColonyRecord]:
    """Anna and Bert with a colony each."""
    await work.keepers.save_all([keeper(ANNA), keeper(BERT, next_wake=NOW)])
    return await work.colonies.add(ANNA, colony("Garden")), await work.colonies.add(BERT, colony("Kitchen"))


async def test_keepers_of_a_batch_are_saved_and_read_with_their_places(units: UnitOfWorkMaker) -> None:
    attic = replace(keeper().places[0], name="attic", temperature_c=19.0)
    async with units() as work:
        await both(work)
        await work.keepers.save_all([keeper(ANNA, places=(attic, *keeper().places)), keeper(BERT, refusals=2)])
        found = await work.keepers.get_all([ANNA, BERT, NOBODY])
    assert found.keys() == {ANNA, BERT}
    assert [place.name for place in found[ANNA].places] == ["attic", keeper().places[0].name]
    assert (found[BERT].refusals, found[BERT].places) == (2, keeper().places)


async def test_leases_are_given_back_by_their_holder_only_and_wake_moments_stay(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        await both(work)
        await work.keepers.claim_due(NOW, NOW + MINUTE, "one", 10)
        await work.keepers.let_go([ANNA, BERT], "two")
        assert await work.keepers.claim_due(NOW, NOW + MINUTE, "two", 10) == set()
        await work.keepers.let_go([ANNA, BERT], "one")
        assert await work.keepers.claim_due(NOW, NOW + MINUTE, "two", 10) == {BERT}
        again = await work.keepers.get(BERT)
    assert again is not None
    assert again.next_wake == NOW


async def test_colonies_of_a_batch_come_with_their_logs_but_for_those_left_out(units: UnitOfWorkMaker) -> None:
    entry = LogEntry(day=DAY, duty=Duty.SUGAR, outcome=Outcome.TAKEN)
    async with units() as work:
        garden, kitchen = await both(work)
        await work.colonies.log(kitchen.id, entry, NOW)
        assert [record.id for record in await work.colonies.of_all([ANNA, BERT])] == [garden.id, kitchen.id]
        (left,) = await work.colonies.of_all([ANNA, BERT], [garden.id])
        assert (left.id, left.colony.log) == (kitchen.id, (entry,))
        names = await work.colonies.names_of([ANNA, BERT, NOBODY])
        attic = await work.colonies.add(ANNA, colony("attic"))
        in_order = (await work.colonies.names_of([ANNA]))[ANNA]
    assert list(in_order) == [attic.subject, garden.subject]
    assert names == {ANNA: {garden.subject: "Garden"}, BERT: {kitchen.subject: "Kitchen"}}


async def test_a_plan_stands_until_colony_or_log_change_or_something_is_told(units: UnitOfWorkMaker) -> None:
    entry = LogEntry(day=DAY, duty=Duty.SUGAR, outcome=Outcome.TAKEN)
    async with units() as work:
        garden, kitchen = await both(work)
        (row,) = await plan_rows(work, [planned(garden)])
        made = await work.deliveries.add(delivery(row.id))
        assert await work.colonies.standing([ANNA, BERT]) == {}
        for change in (
            work.colonies.save(garden),
            work.colonies.log(garden.id, entry, NOW),
            work.colonies.amend(garden.id, entry),
            work.colonies.unlog(garden.id, DAY, Duty.SUGAR),
            work.occurrences.settle([made.id], OccurrenceState.SENT),
            work.colonies.plan_stands({garden.id: None}),
        ):
            await work.colonies.plan_stands({garden.id: PLAN, kitchen.id: PLAN})
            assert await work.colonies.standing([ANNA]) == {ANNA: {garden.id: PLAN}}
            await change
            assert await work.colonies.standing([ANNA, BERT]) == {BERT: {kitchen.id: PLAN}}
        await work.keepers.wake_everybody(NOW)
        assert await work.colonies.standing([ANNA, BERT]) == {}


async def test_what_is_due_and_ahead_is_told_apart_by_reader(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        garden, kitchen = await both(work)
        new = [planned(garden, due_at=NOW), planned(kitchen, due_at=NOW + MINUTE)]
        new += [planned(kitchen, Duty.SUGAR, urgency=Urgency.URGENT), planned(garden, Duty.WASTE)]
        rows = {(row.colony_id, row.occurrence.duty): row for row in await plan_rows(work, new)}
        await work.occurrences.set_state([rows[kitchen.id, Duty.SUGAR].id], OccurrenceState.SENT)
        handed = replace(rows[garden.id, Duty.WASTE], recipient_id=BERT)
        await work.occurrences.save_all([handed])
        assert {row.reader for row in await work.occurrences.due([ANNA, BERT], NOW)} == {ANNA, BERT}
        ahead = await work.occurrences.outlook([ANNA, BERT, NOBODY])
    assert ahead == {ANNA: Outlook(next_due=NOW), BERT: Outlook(next_due=NOW, urgent_out=True)}


async def test_deliveries_of_a_batch_keep_their_order_and_hold_their_lines(units: UnitOfWorkMaker) -> None:
    async with units() as work:
        garden, kitchen = await both(work)
        (water,) = await plan_rows(work, [planned(garden)])
        (sugar,) = await plan_rows(work, [planned(kitchen, Duty.SUGAR)])
        letters = [delivery(sugar.id, nonce="b", keeper_id=BERT), delivery(water.id, nonce="a")]
        made = await work.deliveries.add_all(letters)
        assert [each.nonce for each in made] == ["b", "a"]
        assert await work.deliveries.open_of([ANNA, BERT]) == {ANNA: made[1], BERT: made[0]}
        held = {row.id: row.delivery_id for row in await work.occurrences.get_all([water.id, sugar.id])}
        assert held == {water.id: made[1].id, sugar.id: made[0].id}
        await work.cautions_shown.record_all({ANNA: (["mould", "mould"], DAY), BERT: ([], DAY)})
        assert await work.cautions_shown.of_all([ANNA, BERT]) == {ANNA: {"mould": DAY}}
