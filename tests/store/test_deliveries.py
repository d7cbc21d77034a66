"""Deliveries: a message keeps what it holds in order, and only the newest that reached the keeper counts."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy.exc import IntegrityError

from bot.care.duty import Duty
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import DeliveryId, DeliveryState, OccurrenceState
from tests.store.builders import ANNA, BERT, MINUTE, NOW, delivery, plan_rows, planned, settled

pytestmark = pytest.mark.asyncio


async def test_a_new_delivery_gets_its_id_and_ties_its_occurrences_in_order(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    async with units() as work:
        rows = await plan_rows(work, [planned(record), planned(record, Duty.SUGAR), planned(record, Duty.WASTE)])
        ids = [row.id for row in reversed(rows)]
        made = await work.deliveries.add(delivery(*ids, id=DeliveryId(99)))
        await work.commit()
    async with units() as work:
        assert made == delivery(*ids, id=made.id)
        assert made.id != 99
        assert await work.deliveries.get(made.id) == made
        assert await work.deliveries.get(DeliveryId(99)) is None
        tied = [await work.occurrences.get(row.id) for row in rows]
        assert tied == [replace(row, delivery_id=made.id) for row in rows]


async def test_a_delivery_remembers_what_it_held_when_a_line_is_planned_anew(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    async with units() as work:
        (row,) = await plan_rows(work, [planned(record)])
        made = await work.deliveries.add(delivery(row.id))
        await work.occurrences.set_state([row.id], OccurrenceState.PLANNED)
        assert await work.deliveries.get(made.id) == made


async def test_saving_keeps_state_attempts_and_result(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        made = await work.deliveries.add(delivery())
        sent = replace(
            made,
            state=DeliveryState.SENT,
            attempts=2,
            first_try_at=NOW,
            sent_at=NOW + MINUTE,
            channel_id=2**62,
            message_id=2**62 + 1,
            problem="slow at first",
        )
        await work.deliveries.save(sent)
        await work.commit()
    async with units() as work:
        assert await work.deliveries.get(made.id) == sent


async def test_a_result_for_an_erased_keeper_brings_nothing_back(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        made = await work.deliveries.add(delivery())
        await work.keepers.erase(ANNA)
        await work.deliveries.save(replace(made, state=DeliveryState.SENT, sent_at=NOW))
        assert await work.deliveries.get(made.id) is None


async def test_a_nonce_serves_one_delivery_only(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        await work.deliveries.add(delivery())
        with pytest.raises(IntegrityError):
            await work.deliveries.add(delivery())


async def test_the_open_delivery_is_the_oldest_in_state_sending(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        assert await work.deliveries.open_of([ANNA]) == {}
        failed = await work.deliveries.add(delivery(nonce="a"))
        first = await work.deliveries.add(delivery(nonce="b"))
        second = await work.deliveries.add(delivery(nonce="c"))
        await work.deliveries.save(replace(failed, state=DeliveryState.FAILED, problem="refused"))
        assert await work.deliveries.open_of([ANNA, BERT]) == {ANNA: first}
        assert await work.deliveries.still_sending([failed.id, first.id, second.id]) == {first.id, second.id}
        await work.deliveries.save(replace(first, state=DeliveryState.SENT, sent_at=NOW))
        assert await work.deliveries.open_of([ANNA, BERT]) == {ANNA: second}


async def test_what_reached_the_keeper_last_is_known_from_a_moment_on(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        assert await work.deliveries.last_sent(ANNA) is None
        for nonce, minutes in (("a", 2), ("b", 5), ("c", 1)):
            made = await work.deliveries.add(delivery(nonce=nonce))
            await work.deliveries.save(replace(made, state=DeliveryState.SENT, sent_at=NOW + minutes * MINUTE))
        failed = await work.deliveries.add(delivery(nonce="d"))
        await work.deliveries.save(replace(failed, state=DeliveryState.FAILED, sent_at=NOW + 9 * MINUTE))
        newest = await work.deliveries.last_sent(ANNA)
        assert newest is not None
        assert newest.nonce == "b"
        assert await work.deliveries.last_digests([ANNA, BERT], NOW) == {ANNA: NOW + 5 * MINUTE}
        assert await work.deliveries.last_digests([ANNA], NOW + 5 * MINUTE) == {ANNA: NOW + 5 * MINUTE}
        assert await work.deliveries.last_digests([ANNA], NOW + 6 * MINUTE) == {}


async def test_the_id_of_an_erased_delivery_is_never_given_again(units: UnitOfWorkMaker) -> None:
    await settled(units)
    async with units() as work:
        first = await work.deliveries.add(delivery())
        await work.keepers.erase(ANNA)
        await work.commit()
    await settled(units)
    async with units() as work:
        assert (await work.deliveries.add(delivery())).id > first.id
