"""How reminders failed people elsewhere, numbered as in the failure list: restarts, doubts, closed doors, edits."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.adapters.store.errors import StoreError
from bot.care.duty import Duty
from bot.services import delivery
from bot.services.delivery import HANDS, LEASE, SURPRISE_WAIT, Dispatcher
from bot.services.errors import (
    AlreadyAnsweredError,
    DoorRefusedError,
    NoLongerDueError,
    NotYoursError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.keepers import PlaceChanges, ReminderChanges
from bot.services.ports import Digest, UnitOfWork
from bot.services.records import DeliveryState, Door, OccurrenceId, OccurrenceState
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, Mailbox, World, handbook

pytestmark = pytest.mark.asyncio
DAYS, HOURS = timedelta(days=1), timedelta(hours=1)
SMALL = replace(builders.nest(), water_ml=2.0, wetted_cm2=60.0, openness=1.0)
"""So small that water is urgent."""


async def two_keepers(world: World) -> datetime:
    """Alma and Bruno with a colony each; returns the moment of their first digest."""
    for keeper in (ALMA, BRUNO):
        await world.settle(keeper)
        await world.register(keeper)
    return await wake(world)


async def wake(world: World) -> datetime:
    async with world.units() as work:
        found = await work.keepers.next_wake()
    assert found is not None
    return found


async def states(world: World, digest: Digest) -> set[OccurrenceState]:
    async with world.units() as work:
        rows = [await work.occurrences.get(line.occurrence_id) for line in digest.lines]
    return {row.state for row in rows if row is not None}


def another_process(world: World, mailbox: Mailbox | None = None) -> Dispatcher:
    """A second process on the same store."""
    first = world.dispatcher
    return Dispatcher(first.units, mailbox or world.mailbox, first.planner, handbook(), first.on_failure)


async def test_t8_a_restart_repeats_nothing(world: World) -> None:
    at = await two_keepers(world)
    assert len(await world.beat(at)) == 2
    for minutes in (0, 1, 5):
        await another_process(world).deliver_due(at + timedelta(minutes=minutes))
    assert len(world.mailbox.seen) == 2


async def test_t9_two_beats_within_a_minute_deliver_once(world: World) -> None:
    at = await two_keepers(world)
    await asyncio.gather(*(another_process(world).deliver_due(at + timedelta(seconds=n)) for n in range(3)))
    assert len(world.mailbox.seen) == 2


async def test_t12_a_line_put_off_to_a_day_without_the_bot_comes_late_and_says_so(world: World) -> None:
    at = await two_keepers(world)
    digest = (await world.beat(at))[0]
    line = next(line for line in digest.lines if line.duty is not Duty.WATER)
    await world.answers.later(digest.keeper_id, line.occurrence_id, at.date() + DAYS, at)
    seen = await world.beat(at + 4 * DAYS)
    again = [
        (found, late.days_late) for found in seen for late in found.lines if late.occurrence_id == line.occurrence_id
    ]
    assert [days for _, days in again] == [4]
    assert again[0][0].catch_up


async def test_t13_what_is_long_overdue_is_still_found(world: World) -> None:
    at = await two_keepers(world)
    seen = await world.beat(at + 200 * DAYS)
    assert {digest.keeper_id for digest in seen} == {ALMA, BRUNO}


async def test_t14_what_cannot_wait_stands_first(world: World) -> None:
    await world.settle()
    await world.register(colony=builders.colony(name="Amber"))
    await world.register(colony=builders.colony(name="Zinc", nest=SMALL))
    seen = await world.beat(START + 30 * DAYS + 11 * HOURS)
    urgent = [line.urgent for line in seen[0].lines]
    assert urgent[0]
    assert urgent == sorted(urgent, reverse=True)


async def test_t30_without_a_server_in_common_the_keeper_is_kept_and_left_alone(world: World) -> None:
    await two_keepers(world)
    world.mailbox.refuse = {ALMA: DoorRefusedError("status 403, code 50278")}
    seen = await world.walk(START, START + 10 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {BRUNO}
    keeper = await world.keepers.get(ALMA)
    assert (keeper.door, keeper.next_wake) == (Door.REFUSED, None)
    assert await world.colonies.of(ALMA)


async def test_t32_when_doors_may_not_be_opened_known_channels_go_on(world: World) -> None:
    at = await two_keepers(world)
    await world.keepers.door_opened(BRUNO, 6001, START)
    world.mailbox.refuse_doors = TryLaterError(600)
    assert {digest.keeper_id for digest in await world.beat(at)} == {BRUNO}
    world.mailbox.refuse_doors = None
    assert {digest.keeper_id for digest in await world.beat(at + timedelta(seconds=600 * 1.25))} == {ALMA}


async def test_t38_a_fault_of_ours_is_told_and_tried_again_after_a_while(world: World) -> None:
    at = await two_keepers(world)
    world.mailbox.refuse = {ALMA: RuntimeError("a fault of ours")}
    assert {digest.keeper_id for digest in await world.beat(at)} == {BRUNO}
    assert len(world.surprises) == 1
    assert await world.beat(at + SURPRISE_WAIT - timedelta(seconds=1)) == []
    world.mailbox.refuse = {}
    assert {digest.keeper_id for digest in await world.beat(at + SURPRISE_WAIT)} == {ALMA}


async def test_t39_one_send_that_hangs_keeps_nobody_else_waiting(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(delivery, "SEND_SECONDS", 0.5)
    at = await two_keepers(world)
    world.mailbox.hang = {ALMA}
    assert {digest.keeper_id for digest in await world.beat(at)} == {BRUNO}
    world.mailbox.hang = set()
    assert {digest.keeper_id for digest in await world.beat(at + timedelta(seconds=7))} == {ALMA}


async def test_t40_with_the_network_gone_nothing_counts_as_sent(world: World) -> None:
    at = await two_keepers(world)
    world.mailbox.refuse = {keeper: OutcomeUnknownError("no network") for keeper in (ALMA, BRUNO)}
    await world.walk(at, at + 2 * HOURS)
    async with world.units() as work:
        for keeper in (ALMA, BRUNO):
            assert await work.deliveries.last_sent(keeper) is None
    world.mailbox.refuse = {}
    seen = await world.walk(at + 2 * HOURS, at + 3 * HOURS)
    assert {digest.keeper_id for _, digest in seen} == {ALMA, BRUNO}


async def test_t40_waits_grow_while_the_platform_is_away(world: World) -> None:
    await two_keepers(world)
    world.mailbox.refuse = {keeper: TryLaterError(30) for keeper in (ALMA, BRUNO)}
    await world.walk(START, START + 22 * HOURS)
    assert world.mailbox.tries < 2 * (12 * 4 + 8), "not every half minute for half a day"


async def test_t46_a_setting_changed_while_a_message_is_on_its_way_is_kept(world: World) -> None:
    at = await two_keepers(world)

    async def edit() -> None:
        await world.keepers.set_reminders(ALMA, ReminderChanges(digest_at=time(20)), at)

    world.mailbox.meanwhile[ALMA] = edit
    assert len(await world.beat(at)) == 2
    assert (await world.keepers.get(ALMA)).settings.digest_at == time(20)
    seen = await world.walk(at + timedelta(seconds=1), at + 20 * HOURS)
    assert [digest for _, digest in seen if digest.keeper_id == ALMA] == []


async def test_t46_an_answer_that_overtakes_the_record_is_kept(world: World) -> None:
    at = await two_keepers(world)
    async with world.units() as work:
        rows = await work.occurrences.open_of_keeper(ALMA)
    first = next(row for row in rows if row.occurrence.due_at <= at and row.occurrence.duty is Duty.SUGAR)

    async def put_off() -> None:
        await world.answers.later(ALMA, first.id, at.date() + 3 * DAYS, at)

    world.mailbox.meanwhile[ALMA] = put_off
    await world.beat(at)
    async with world.units() as work:
        row = await work.occurrences.get(first.id)
    assert row is not None
    assert (row.state, row.snoozed) == (OccurrenceState.PLANNED, True)


async def test_t47_nothing_of_a_closed_colony_fires(world: World) -> None:
    await world.settle()
    view = await world.register()
    await world.colonies.close(ALMA, view.record.id, "gave it away", START)
    assert await world.walk(START, START + 20 * DAYS) == []


async def test_t48_done_on_two_devices_counts_once(world: World) -> None:
    at = await two_keepers(world)
    digest = (await world.beat(at))[0]
    line = digest.lines[0].occurrence_id
    both = await asyncio.gather(
        *(world.answers.done(digest.keeper_id, line, at) for _ in range(2)), return_exceptions=True
    )
    assert [type(found) for found in both if isinstance(found, Exception)] == [AlreadyAnsweredError]


async def test_t49_an_answer_to_a_reminder_of_half_a_year_ago_is_welcome(world: World) -> None:
    at = await two_keepers(world)
    digest = (await world.beat(at))[0]
    recorded = await world.answers.done(digest.keeper_id, digest.lines[0].occurrence_id, at + 180 * DAYS)
    assert recorded.occurrence_id == digest.lines[0].occurrence_id
    with pytest.raises(NotYoursError):
        await world.answers.done(digest.keeper_id, OccurrenceId(987_654_321), at)


async def test_t50_what_was_put_off_follows_a_move_to_another_zone_and_its_quiet_hours(world: World) -> None:
    at = await two_keepers(world)
    digest = next(found for found in await world.beat(at) if found.keeper_id == ALMA)
    line = next(line for line in digest.lines if line.duty is not Duty.WATER)
    await world.answers.later(ALMA, line.occurrence_id, at.date() + 2 * DAYS, at)
    await world.keepers.set_place(ALMA, PlaceChanges(zone_name="Asia/Tokyo"), at + HOURS)
    seen = await world.walk(at + HOURS, at + 5 * DAYS)
    again = [at for at, found in seen for late in found.lines if late.occurrence_id == line.occurrence_id]
    assert [found.astimezone(UTC).hour for found in again] == [9], "18:00 in Tokyo"


async def test_t51_a_forwarded_button_of_somebody_else_changes_nothing(world: World) -> None:
    at = await two_keepers(world)
    digest = next(found for found in await world.beat(at) if found.keeper_id == ALMA)
    line = digest.lines[0].occurrence_id
    for forged in (world.answers.done, world.answers.not_needed, world.answers.undo):
        with pytest.raises(NotYoursError):
            await forged(BRUNO, line, at)
    with pytest.raises(NotYoursError):
        await world.answers.later(BRUNO, line, at.date() + DAYS, at)
    assert await states(world, digest) == {OccurrenceState.SENT}


async def test_t57_who_is_erased_while_claimed_gets_nothing_more(world: World) -> None:
    at = await two_keepers(world)
    async with world.units() as work:
        await work.keepers.claim_due(at, at + LEASE, "a process", 10)
        await work.keepers.erase(ALMA)
        await work.commit()
    seen = await world.walk(at, at + 3 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {BRUNO}


@pytest.mark.parametrize("problem", [None, TryLaterError(5), DoorRefusedError(), RuntimeError("ours")])
async def test_t57_who_is_erased_while_a_message_is_on_its_way_stays_erased(
    world: World, problem: Exception | None
) -> None:
    at = await two_keepers(world)

    async def erase() -> None:
        async with world.units() as work:
            await work.keepers.erase(ALMA)
            await work.commit()
        if problem is not None:
            raise problem

    world.mailbox.meanwhile[ALMA] = erase
    await world.beat(at)
    assert await world.keepers.find(ALMA) is None
    seen = await world.walk(at, at + 2 * DAYS)
    assert {digest.keeper_id for _, digest in seen} <= {BRUNO}


@dataclass
class FullDisk:
    """A store that runs full at a chosen commit."""

    world: World
    commits_left: int

    def __call__(self) -> UnitOfWork:
        unit = self.world.units()
        commit = unit.commit

        async def once_more() -> None:
            self.commits_left -= 1
            if self.commits_left == 0:
                raise StoreError("The disk under the store is full.")
            await commit()

        unit.commit = once_more  # type: ignore[method-assign] # a disk that fills up
        return unit


@pytest.mark.parametrize("commits", range(1, 6))
async def test_t59_a_full_disk_at_any_commit_loses_nothing_and_repeats_nothing(world: World, commits: int) -> None:
    await world.settle()
    await world.register()
    at = await wake(world)
    full = replace(world.dispatcher, units=FullDisk(world, commits))
    try:
        await full.deliver_due(at)
    except StoreError:
        assert commits <= HANDS, "only a claim itself ends a beat"
    await world.walk(at, at + 2 * HOURS)
    assert len(world.mailbox.seen) == 1
    assert await states(world, world.mailbox.seen[0]) == {OccurrenceState.SENT}
    async with world.units() as work:
        last = await work.deliveries.last_sent(ALMA)
    assert last is not None
    assert last.state is DeliveryState.SENT


async def test_a_line_that_the_plan_replaced_cannot_be_put_off(world: World) -> None:
    await world.settle()
    view = await world.register()
    async with world.units() as work:
        row = (await work.occurrences.open_of(view.record.id))[0]
        await work.occurrences.set_state([row.id], OccurrenceState.SUPERSEDED)
        await work.commit()
    with pytest.raises(NoLongerDueError):
        await world.answers.later(ALMA, row.id, START.date() + DAYS, START)


async def test_water_cannot_be_put_off_beyond_its_limit(world: World) -> None:
    await world.settle()
    await world.register(colony=builders.colony(nest=SMALL))
    digest = next(found for _, found in await world.walk(START, START + 3 * DAYS) if found.lines[0].urgent)
    line, today = digest.lines[0].occurrence_id, world.mailbox.now.date()
    with pytest.raises(Exception, match="Water"):
        await world.answers.later(ALMA, line, today + 3 * DAYS, world.mailbox.now)
    await world.answers.later(ALMA, line, today + 2 * DAYS, world.mailbox.now)


async def test_a_lease_that_ran_out_serves_nobody_twice(world: World) -> None:
    at = await two_keepers(world)
    slow = Mailbox()
    first, late = another_process(world, slow), at + LEASE + timedelta(seconds=1)

    async def overtaken() -> None:
        await world.dispatcher.deliver_due(late)

    slow.meanwhile[ALMA] = overtaken
    world.mailbox.now = late
    slow.seen, slow._nonces = world.mailbox.seen, world.mailbox._nonces
    slow.now = late
    await first.deliver_due(at)
    assert sorted(digest.keeper_id for digest in world.mailbox.seen) == [ALMA, BRUNO]
