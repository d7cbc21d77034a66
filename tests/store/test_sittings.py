"""What is between two members: who is reminded, what goes with whom, and locks that never wait in a circle."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.care.duty import Duty, Outcome, Urgency
from bot.services.errors import DuplicateNameError, StaleColonyError
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import ColonyRecord, DeliveryState, KeeperId, OccurrenceState, StoredOccurrence
from bot.services.reminder_ports import Outlook
from bot.services.sitting_records import SittingId, SittingState
from tests.store.builders import (
    ANNA,
    BERT,
    DAY,
    MINUTE,
    NOW,
    colony,
    delivery,
    entry,
    keeper,
    note,
    offer,
    plan_rows,
    planned,
    settled,
    sitting,
)

pytestmark = pytest.mark.asyncio


async def both(units: UnitOfWorkMaker) -> ColonyRecord:
    """ANNA with a colony, and BERT with none."""
    record = await settled(units)
    async with units() as work:
        await work.keepers.save(keeper(BERT, next_wake=NOW + 60 * MINUTE))
        await work.commit()
    return record


async def plan_for_bert(units: UnitOfWorkMaker, record: ColonyRecord) -> StoredOccurrence:
    async with units() as work:
        (row,) = await plan_rows(work, [replace(planned(record), recipient_id=BERT)])
        await work.commit()
    return row


async def test_a_sitting_comes_back_as_it_was_kept(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        stored = await work.sittings.add(sitting(record.id))
        changed = replace(stored, state=SittingState.ACCEPTED, unreachable=True, ended_at=NOW, until=DAY)
        await work.sittings.save(changed)
        await work.commit()
    async with units() as work:
        assert await work.sittings.get(stored.id) == changed
        assert list(await work.sittings.open_of(ANNA)) == [changed]
        assert list(await work.sittings.open_of(BERT)) == [changed]
        assert list(await work.sittings.of_colony(record.id, BERT)) == [changed]
        assert list(await work.sittings.of_colony(record.id, ANNA)) == []
        assert await work.sittings.get(SittingId(99)) is None


async def test_ended_ones_are_forgotten_after_a_while_and_accepted_ones_never(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        asked = await work.sittings.add(sitting(record.id))
        accepted = await work.sittings.add(sitting(record.id, state=SittingState.ACCEPTED))
        ended = await work.sittings.add(sitting(record.id, state=SittingState.ENDED, ended_at=NOW + 60 * MINUTE))
        await work.sittings.forget_ended(NOW + MINUTE)
        assert await work.sittings.get(asked.id) is None
        assert await work.sittings.get(accepted.id) == accepted
        assert await work.sittings.get(ended.id) == ended
        await work.sittings.forget_ended(NOW + 61 * MINUTE)
        assert await work.sittings.get(ended.id) is None


async def test_a_colony_that_leaves_is_sat_no_more(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        stored = await work.sittings.add(sitting(record.id))
        await work.sittings.leave(record.id)
        assert await work.sittings.get(stored.id) == replace(stored, colony_ids=())


async def test_the_sitter_is_reminded_and_the_keeper_is_not(units: UnitOfWorkMaker) -> None:
    row = await plan_for_bert(units, await both(units))
    assert (row.reader, row.keeper_id) == (BERT, ANNA)
    async with units() as work:
        assert list(await work.occurrences.due([BERT], NOW)) == [row]
        assert list(await work.occurrences.due([ANNA], NOW)) == []
        assert list(await work.occurrences.open_of_keeper(BERT)) == [row]
        assert list(await work.occurrences.open_of_keeper(ANNA)) == []
        assert await work.occurrences.outlook([ANNA, BERT]) == {BERT: Outlook(next_due=NOW)}


async def test_a_row_that_is_planned_again_changes_hands(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    row = await plan_for_bert(units, record)
    async with units() as work:
        (again,) = await plan_rows(work, [planned(record)])
        await work.commit()
    assert (again.id, again.reader) == (row.id, ANNA)


async def test_what_a_sitter_was_told_is_found_for_the_report(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    row = await plan_for_bert(units, record)
    answered = replace(row, state=OccurrenceState.DONE, outcome=Outcome.DAMP, answered_at=NOW)
    async with units() as work:
        await work.occurrences.save(answered)
        await plan_rows(work, [planned(record, Duty.SUGAR)])
        assert list(await work.occurrences.told_to(record.id, BERT, DAY)) == [answered]
        assert list(await work.occurrences.told_to(record.id, BERT, DAY + timedelta(days=1))) == []
        assert list(await work.occurrences.told_to(record.id, ANNA, DAY)) == []


async def test_an_erased_sitter_leaves_the_keeper_with_everything(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    row = await plan_for_bert(units, record)
    async with units() as work:
        await work.keepers.save(keeper(next_wake=NOW + 600 * MINUTE))
        asked = await work.sittings.add(sitting(record.id, state=SittingState.ACCEPTED))
        await work.offers.put(offer(record.id))
        await work.commit()
    async with units() as work:
        await work.keepers.erase(BERT)
        await work.commit()
    async with units() as work:
        left = await work.occurrences.get(row.id)
        assert left is not None
        assert (left.reader, left.state) == (ANNA, OccurrenceState.SUPERSEDED)
        assert await work.sittings.get(asked.id) is None
        assert list(await work.offers.of(ANNA)) == []
        assert await work.keepers.claim_due(NOW, NOW + MINUTE, "one", 5) == {ANNA}


async def test_an_erased_keeper_leaves_the_sitter_with_nothing(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    row = await plan_for_bert(units, record)
    async with units() as work:
        await work.sittings.add(sitting(record.id, state=SittingState.ACCEPTED))
        await work.deliveries.add(delivery(row.id, keeper_id=BERT))
        await work.keepers.erase(ANNA)
        await work.commit()
    async with units() as work:
        assert list(await work.occurrences.open_of_keeper(BERT)) == []
        assert list(await work.sittings.open_of(BERT)) == []
        (open_one,) = (await work.deliveries.open_of([BERT])).values()
        assert open_one.occurrence_ids == ()


async def test_one_offer_for_each_colony(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        first = await work.offers.put(offer(record.id))
        second = await work.offers.put(offer(record.id, to_id=KeeperId(77)))
        assert await work.offers.get(first.id) is None
        assert list(await work.offers.of(ANNA)) == [second]
        assert list(await work.offers.of(KeeperId(77))) == [second]
        assert list(await work.offers.of(BERT)) == []
        await work.offers.remove(record.id)
        assert list(await work.offers.of(ANNA)) == []


async def test_notes_wait_go_out_with_one_message_and_come_back_when_it_fails(units: UnitOfWorkMaker) -> None:
    await both(units)
    async with units() as work:
        await work.notes.add(note())
        await work.notes.add(note(due_at=NOW + MINUTE))
        (due,) = await work.notes.due([ANNA], NOW)
        sent = await work.deliveries.add(delivery())
        await work.notes.tie([due], sent.id)
        assert await work.notes.next_due([ANNA]) == {ANNA: NOW + MINUTE}
        assert list(await work.notes.of_delivery(sent.id)) == [replace(due, delivery_id=sent.id)]
        await work.notes.untie(sent.id)
        assert await work.notes.next_due([ANNA]) == {ANNA: NOW}
        await work.notes.tie([due], sent.id)
        await work.notes.told([sent.id])
        assert list(await work.notes.of_delivery(sent.id)) == []
        assert list(await work.notes.due([BERT], NOW + MINUTE)) == []


async def test_a_message_of_notes_alone_counts_as_the_digest_of_its_day(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        (urgent,) = await plan_rows(work, [planned(record, urgency=Urgency.URGENT)])
        await work.deliveries.add(delivery(urgent.id, state=DeliveryState.SENT, sent_at=NOW))
        assert not await work.deliveries.last_digests([ANNA], NOW)
        await work.deliveries.add(delivery(nonce="B" * 24, state=DeliveryState.SENT, sent_at=NOW))
        assert await work.deliveries.last_digests([ANNA], NOW)


async def test_a_colony_moves_with_its_log_and_leaves_nothing(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        await work.colonies.log(record.id, entry(), NOW)
        (row,) = await plan_rows(work, [planned(record)])
        moved = await work.colonies.move(record, BERT)
        await work.occurrences.move(record.id, BERT)
        with pytest.raises(StaleColonyError):
            await work.colonies.move(record, BERT)
        await work.commit()
    async with units() as work:
        assert await work.colonies.get(record.id) == replace(moved, colony=replace(moved.colony, log=(entry(),)))
        assert list(await work.colonies.of(ANNA)) == []
        await work.keepers.erase(ANNA)
        left = await work.occurrences.get(row.id)
    assert left is not None
    assert (left.keeper_id, left.state) == (BERT, OccurrenceState.SUPERSEDED)


async def test_a_colony_does_not_move_onto_a_name_that_is_taken(units: UnitOfWorkMaker) -> None:
    record = await both(units)
    async with units() as work:
        await work.colonies.add(BERT, colony(record.colony.name, keeper_id=BERT))
        with pytest.raises(DuplicateNameError):
            await work.colonies.move(record, BERT)


async def test_somebody_is_looked_at_no_later_and_a_muted_one_stays_so(units: UnitOfWorkMaker) -> None:
    await both(units)
    async with units() as work:
        await work.keepers.wake_by(BERT, NOW)
        await work.keepers.wake_by(BERT, NOW + MINUTE)
        await work.keepers.wake_by(ANNA, NOW)
        bert, anna = await work.keepers.peek(BERT), await work.keepers.peek(ANNA)
    assert bert is not None
    assert anna is not None
    assert (bert.next_wake, anna.next_wake) == (NOW, None)


async def test_two_who_sit_for_each_other_never_wait_in_a_circle(units: UnitOfWorkMaker) -> None:
    """Each unit is about one of the two and writes the other; locks are taken in one order."""
    record = await both(units)
    async with units() as work:
        await work.sittings.add(sitting(record.id, state=SittingState.ACCEPTED))
        other = await work.colonies.add(BERT, colony(keeper_id=BERT))
        await work.sittings.add(sitting(other.id, keeper_id=BERT, sitter_id=ANNA, state=SittingState.ACCEPTED))
        await work.commit()

    async def write(mine: KeeperId, theirs: KeeperId) -> None:
        async with units() as work:
            own = await work.keepers.get(mine)
            assert own is not None
            await asyncio.sleep(0)
            await work.keepers.wake_by(theirs, NOW)
            await work.keepers.save(replace(own, unanswered=own.unanswered + 1))
            await work.commit()

    async with asyncio.timeout(20), asyncio.TaskGroup() as group:
        for _ in range(8):
            group.create_task(write(ANNA, BERT))
            group.create_task(write(BERT, ANNA))
    async with units() as work:
        anna, bert = await work.keepers.peek(ANNA), await work.keepers.peek(BERT)
    assert anna is not None
    assert bert is not None
    assert (anna.unanswered, bert.unanswered) == (8, 8)
