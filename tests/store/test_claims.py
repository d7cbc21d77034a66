"""What delivery needs of the store beyond plain rows, on both databases: leases, settling, waking, locked keepers."""

from __future__ import annotations

import asyncio
from dataclasses import replace

import pytest

from bot.care.duty import Duty, Urgency
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import DeliveryState, KeeperId, OccurrenceState
from tests.store.builders import ANNA, BERT, DAY, MINUTE, NOW, delivery, keeper, plan_rows, planned, settled

pytestmark = pytest.mark.asyncio


async def claimed(units: UnitOfWorkMaker, *keepers: KeeperId) -> None:
    """Keepers whose moment has come, leased by a process called `one`."""
    async with units() as work:
        for keeper_id in keepers:
            await work.keepers.save(keeper(keeper_id, next_wake=NOW))
        await work.keepers.claim_due(NOW, NOW + 2 * MINUTE, "one", 10)
        await work.commit()


async def test_a_lease_is_renewed_by_its_holder_only(units: UnitOfWorkMaker) -> None:
    await claimed(units, ANNA)
    async with units() as work:
        assert not await work.keepers.renew([ANNA], "two", NOW + 9 * MINUTE)
        assert not await work.keepers.renew([BERT], "one", NOW + 9 * MINUTE)
        assert await work.keepers.renew([ANNA, BERT], "one", NOW + 9 * MINUTE) == {ANNA}
        await work.commit()
    async with units() as work:
        assert await work.keepers.claim_due(NOW + 8 * MINUTE, NOW + 20 * MINUTE, "two", 10) == set()
        assert len(await work.keepers.claim_due(NOW + 9 * MINUTE, NOW + 20 * MINUTE, "two", 10)) == 1


async def test_everybody_is_woken_but_those_who_wait_for_nothing(units: UnitOfWorkMaker) -> None:
    await claimed(units, ANNA)
    async with units() as work:
        await work.keepers.save(keeper(BERT, next_wake=NOW + 99 * MINUTE))
        await work.keepers.save(keeper(KeeperId(3), next_wake=None))
        assert await work.keepers.wake_everybody(NOW - MINUTE) == 2
        await work.commit()
    async with units() as work:
        assert await work.keepers.claim_due(NOW - MINUTE, NOW, "two", 10) == {ANNA, BERT}


async def test_of_two_changes_of_one_keeper_at_once_both_are_kept(units: UnitOfWorkMaker) -> None:
    await settled(units)

    async def change(**changes: int) -> None:
        async with units() as work:
            record = await work.keepers.get(ANNA)
            assert record is not None
            await asyncio.sleep(0)
            await work.keepers.save(replace(record, **changes))  # type: ignore[arg-type] # counters only
            await work.commit()

    await asyncio.gather(change(refusals=1), change(unanswered=7), change(channel_id=5))
    async with units() as work:
        record = await work.keepers.get(ANNA)
    assert record is not None
    assert (record.refusals, record.unanswered, record.channel_id) == (1, 7, 5)


async def test_settling_moves_only_what_still_waits_in_the_delivery(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    duties = (Duty.WATER, Duty.SUGAR, Duty.PROTEIN, Duty.WASTE)
    async with units() as work:
        rows = await plan_rows(work, [planned(record, duty) for duty in duties])
        made = await work.deliveries.add(delivery(*(row.id for row in rows)))
        by_duty = {row.occurrence.duty: row for row in rows}
        put_off = replace(by_duty[Duty.SUGAR], snoozed=True, delivery_id=None)
        await work.occurrences.save(put_off)
        done = replace(by_duty[Duty.PROTEIN], state=OccurrenceState.DONE, delivery_id=made.id)
        await work.occurrences.save(done)
        await work.occurrences.set_state([by_duty[Duty.WASTE].id], OccurrenceState.SUPERSEDED)
        await work.occurrences.settle([made.id], OccurrenceState.SENT)
        states = {row.occurrence.duty: await work.occurrences.get(row.id) for row in rows}
    assert {duty: row.state for duty, row in states.items() if row} == {
        Duty.WATER: OccurrenceState.SENT,
        Duty.SUGAR: OccurrenceState.PLANNED,
        Duty.PROTEIN: OccurrenceState.DONE,
        Duty.WASTE: OccurrenceState.SUPERSEDED,
    }


async def test_settling_back_unties_what_waits(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    async with units() as work:
        (row,) = await plan_rows(work, [planned(record)])
        made = await work.deliveries.add(delivery(row.id))
        assert await work.occurrences.due([ANNA], NOW) == []
        await work.occurrences.settle([made.id], OccurrenceState.PLANNED)
        assert await work.occurrences.due([ANNA], NOW) == [row]


@pytest.mark.parametrize(
    ("urgencies", "state", "counts"),
    [
        ((Urgency.ROUTINE,), DeliveryState.SENT, True),
        ((Urgency.URGENT, Urgency.SOON), DeliveryState.SENT, True),
        ((Urgency.URGENT,), DeliveryState.SENT, False),
        ((Urgency.ROUTINE,), DeliveryState.FAILED, False),
        ((Urgency.ROUTINE,), DeliveryState.SENDING, False),
    ],
)
async def test_a_digest_is_a_message_that_was_sent_with_more_than_urgent_lines(
    units: UnitOfWorkMaker, urgencies: tuple[Urgency, ...], state: DeliveryState, *, counts: bool
) -> None:
    record = await settled(units)
    duties = (Duty.WATER, Duty.SUGAR)
    async with units() as work:
        new = [planned(record, duty, DAY, urgency=urgency) for duty, urgency in zip(duties, urgencies, strict=False)]
        rows = await plan_rows(work, new)
        made = await work.deliveries.add(delivery(*(row.id for row in rows)))
        await work.deliveries.save(replace(made, state=state, sent_at=NOW))
        assert await work.deliveries.last_digests([ANNA, BERT], NOW) == ({ANNA: NOW} if counts else {})
        assert await work.deliveries.last_digests([ANNA], NOW + MINUTE) == {}
