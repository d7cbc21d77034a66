"""Reminders reach the member once: crashes, doubts, closed doors, broken rows. Numbers: the failure list."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from bot.care.duty import Duty
from bot.care.handbook import Handbook
from bot.services.composing import digest_of
from bot.services.delivery import DOUBT_SECONDS, LEASE, NONCE_WINDOW, SURPRISE_WAIT
from bot.services.errors import (
    BadMessageError,
    DoorRefusedError,
    KeeperGoneError,
    OutcomeUnknownError,
    TryLaterError,
)
from bot.services.keepers import ReminderChanges
from bot.services.records import Door, KeeperId, KeeperRecord
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, Crash, World

pytestmark = pytest.mark.asyncio
DIGEST = datetime(2027, 6, 1, 16, 0, tzinfo=UTC)
"""18:00 in Vienna."""
DAYS = timedelta(days=1)


async def keeper_with_water_due(world: World) -> None:
    await world.settle()
    await world.register()


async def first_digest(world: World) -> datetime:
    """Walk to just before the first digest; returns its moment."""
    async with world.units() as work:
        wake = await work.keepers.next_wake()
    assert wake is not None
    return wake


async def wake_of(world: World, keeper: KeeperId = ALMA) -> datetime | None:
    async with world.units() as work:
        found = await work.keepers.get(keeper)
    assert found is not None
    return found.next_wake


async def test_the_first_reminder_comes_at_the_digest_hour_with_reasons(world: World) -> None:
    await keeper_with_water_due(world)
    seen = await world.walk(START, START + 3 * DAYS)
    at, digest = seen[0]
    assert at == DIGEST
    assert all(line.reason.endswith(".") for line in digest.lines)
    assert digest.keeper_id == ALMA


async def test_nothing_due_is_silent(world: World) -> None:
    await world.settle()
    assert await world.walk(START, START + 5 * DAYS) == []


async def test_at_most_one_digest_a_day_at_the_digest_hour(world: World) -> None:
    await keeper_with_water_due(world)
    await world.register(colony=builders.colony(name="Second", workers=600))
    seen = await world.walk(START, START + 30 * DAYS)
    routine = [at.date() for at, digest in seen if not any(line.urgent for line in digest.lines)]
    assert len(routine) == len(set(routine))
    assert len(routine) >= 5


async def test_t1_killed_after_sending_before_recording_is_seen_once(world: World) -> None:
    await keeper_with_water_due(world)
    at = await first_digest(world)
    world.mailbox.crash_after_send = True
    with pytest.raises(Crash):
        await world.beat(at)
    assert await world.beat(at + timedelta(seconds=30)) == [], "the lease still holds"
    assert await world.beat(at + LEASE + timedelta(seconds=1)) == [], "folded by its nonce"
    assert len(world.mailbox.seen) == 1
    assert (await wake_of(world) or at) > at + LEASE


async def test_t2_killed_after_sending_and_back_after_the_nonce_window_is_seen_once(world: World) -> None:
    await keeper_with_water_due(world)
    at = await first_digest(world)
    world.mailbox.crash_after_send = True
    with pytest.raises(Crash):
        await world.beat(at)
    assert await world.beat(at + timedelta(hours=1)) == [], "found in the history of the channel"
    assert (len(world.mailbox.seen), world.mailbox.asked_for, world.mailbox.doors) == (1, 1, 1)


async def test_killed_before_sending_loses_nothing(world: World) -> None:
    await keeper_with_water_due(world)
    at = await first_digest(world)
    world.mailbox.trouble = [Crash()]
    with pytest.raises(Crash):
        await world.beat(at)
    seen = await world.beat(at + LEASE + timedelta(seconds=1))
    assert len(seen) == 1


async def test_t5_an_unknown_outcome_is_tried_again_with_the_same_nonce(world: World) -> None:
    await keeper_with_water_due(world)
    await world.keepers.door_opened(ALMA, 6001, START)
    at = await first_digest(world)
    world.mailbox.trouble = [OutcomeUnknownError("timeout")]
    assert await world.beat(at) == []
    assert await world.beat(at + timedelta(seconds=DOUBT_SECONDS - 1)) == []
    seen = await world.beat(at + timedelta(seconds=DOUBT_SECONDS * 1.25))
    assert len(seen) == 1
    assert timedelta(seconds=DOUBT_SECONDS) < NONCE_WINDOW


async def test_t4_trouble_on_the_platform_waits_as_long_as_asked(world: World) -> None:
    await keeper_with_water_due(world)
    at = await first_digest(world)
    world.mailbox.trouble = [TryLaterError(90)]
    assert await world.beat(at) == []
    assert await world.beat(at + timedelta(seconds=89)) == []
    assert len(await world.beat(at + timedelta(seconds=90 * 1.25))) == 1


async def test_t28_closed_doors_are_tried_three_times_then_wait_for_the_keeper(world: World) -> None:
    await keeper_with_water_due(world)
    await world.keepers.door_opened(ALMA, 6001, START)
    world.mailbox.trouble = [DoorRefusedError() for _ in range(9)]
    assert await world.walk(START, START + 20 * DAYS) == []
    assert len(world.mailbox.trouble) == 6
    assert await wake_of(world) is None


async def test_t29_who_comes_back_is_told_and_gets_everything(world: World) -> None:
    await keeper_with_water_due(world)
    await world.keepers.door_opened(ALMA, 6001, START)
    world.mailbox.trouble = [DoorRefusedError() for _ in range(3)]
    await world.walk(START, START + 9 * DAYS)
    back = START + 10 * DAYS
    assert await world.keepers.came_back(ALMA, back) is Door.REFUSED
    assert await world.keepers.came_back(ALMA, back) is None, "told once"
    seen = await world.walk(back, back + 2 * DAYS)
    assert any(line.duty is Duty.WATER for _, digest in seen for line in digest.lines)


async def test_t31_a_deleted_account_is_left_alone(world: World) -> None:
    await keeper_with_water_due(world)
    world.mailbox.trouble = [KeeperGoneError()]
    await world.walk(START, START + 2 * DAYS)
    assert await wake_of(world) is None


async def test_t37_one_broken_row_does_not_stop_the_others(world: World) -> None:
    await keeper_with_water_due(world)
    await world.settle(BRUNO)
    await world.register(BRUNO)
    world.mailbox.trouble = [BadMessageError("refused")]
    seen = await world.walk(START, START + timedelta(hours=11))
    assert {digest.keeper_id for _, digest in seen} in ({ALMA}, {BRUNO})


async def test_a_surprise_is_told_and_the_others_are_served(world: World) -> None:
    await keeper_with_water_due(world)
    await world.settle(BRUNO)
    await world.register(BRUNO)
    at = await first_digest(world)
    world.mailbox.trouble = [RuntimeError("a fault of ours")]  # type: ignore[list-item] # what nobody expected
    seen = await world.beat(at)
    assert len(seen) == 1
    assert [str(surprise) for surprise in world.surprises] == ["a fault of ours"]


async def test_a_keeper_who_breaks_a_batch_is_told_of_and_the_others_are_served_once(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    others = [KeeperId(number) for number in range(3001, 3005)]
    await keeper_with_water_due(world)
    for keeper in others:
        await world.settle(keeper)
        await world.register(keeper)

    def breaking(book: Handbook, keeper: KeeperRecord, *rest: object) -> object:
        if keeper.id == ALMA:
            raise KeyError("a row that cannot be told")
        return digest_of(book, keeper, *rest)  # type: ignore[arg-type] # as given

    monkeypatch.setattr("bot.services.letters.digest_of", breaking)
    at = await first_digest(world)
    seen = await world.beat(at)
    assert sorted(digest.keeper_id for digest in seen) == others
    assert [type(surprise) for surprise in world.surprises] == [KeyError]
    monkeypatch.undo()
    assert [digest.keeper_id for digest in await world.beat(at + SURPRISE_WAIT)] == [ALMA]


async def test_t10_after_hours_of_downtime_one_honest_digest(world: World) -> None:
    await keeper_with_water_due(world)
    await world.register(colony=builders.colony(name="Second"))
    at = await first_digest(world)
    assert await world.beat(at + timedelta(hours=5)) == [], "23:00 is quiet"
    seen = await world.walk(at + timedelta(hours=5), at + timedelta(hours=20))
    assert [(moment - at, digest.catch_up) for moment, digest in seen] == [(timedelta(hours=13), True)]


async def test_t11_after_weeks_of_downtime_each_duty_comes_once(world: World) -> None:
    await keeper_with_water_due(world)
    seen = await world.beat(START + 21 * DAYS + timedelta(hours=11))
    duties = [line.duty for digest in seen for line in digest.lines]
    assert len(seen) == 1
    assert len(duties) == len(set(duties))
    assert Duty.WATER in duties


async def test_water_is_never_silent_even_when_nobody_answers(world: World) -> None:
    await keeper_with_water_due(world)
    seen = await world.walk(START, START + 60 * DAYS)
    watered = [at for at, digest in seen if any(line.duty is Duty.WATER for line in digest.lines)]
    gaps = [later - earlier for earlier, later in pairwise(watered)]
    assert max(gaps) <= 2 * DAYS


async def test_silence_slows_the_rest_and_asks_one_kind_question(world: World) -> None:
    await keeper_with_water_due(world)
    seen = await world.walk(START, START + 90 * DAYS)
    assert sum(digest.notice is not None for _, digest in seen) == 1
    last = [line.duty for _, digest in seen[-5:] for line in digest.lines]
    assert set(last) <= {Duty.WATER, Duty.HEAT_CHECK}


async def test_away_keeps_only_what_could_kill(world: World) -> None:
    await keeper_with_water_due(world)
    until = (START + 14 * DAYS).date()
    await world.keepers.set_reminders(ALMA, ReminderChanges(away_until=until), START)
    seen = await world.walk(START, START + 13 * DAYS)
    assert {line.duty for _, digest in seen for line in digest.lines} <= {Duty.WATER, Duty.HEAT_CHECK}
    assert seen


async def test_reminders_off_means_no_messages_at_all(world: World) -> None:
    await keeper_with_water_due(world)
    await world.keepers.set_reminders(ALMA, ReminderChanges(on=False), START)
    assert await world.walk(START, START + 10 * DAYS) == []


async def test_an_urgent_nest_speaks_up_in_the_morning(world: World) -> None:
    await world.settle()
    small = builders.colony(nest=replace(builders.colony().nest, water_ml=2.0, wetted_cm2=60.0, openness=1.0))
    await world.register(colony=small)
    seen = await world.walk(START + timedelta(hours=1), START + 6 * DAYS)
    urgent = [at for at, digest in seen if any(line.urgent for line in digest.lines)]
    assert urgent
    assert any(at.hour == 6 for at in urgent), "08:00 in Vienna"
