"""Failures of time, numbered as in the failure list: clock changes, zones, wrong clocks, new tz data."""

from __future__ import annotations

import os
import time
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from datetime import time as wall_time
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from bot.adapters.heartbeat import LONGEST_SLEEP, Heartbeat
from bot.adapters.store.moments import NaiveMomentError
from bot.care.duty import Duty
from bot.care.localtime import local_day
from bot.services.keepers import PlaceChanges, ReminderChanges
from bot.services.planner import Planner
from bot.services.ports import Digest
from bot.services.records import KeeperRecord, OccurrenceState
from bot.services.upheaval import RESTORED, Upheaval, WrongClockError
from tests.care import builders
from tests.services.kit import ALMA, START, World, handbook, zones

pytestmark = pytest.mark.asyncio
DAYS = timedelta(days=1)
NEST = builders.nest(water_ml=30.0)
NO_QUIET = ReminderChanges(quiet_from=wall_time(0), quiet_until=wall_time(0))


async def keeper(world: World) -> KeeperRecord:
    return await world.keepers.get(ALMA)


async def settled(world: World, zone: str, digest_at: wall_time, start: datetime) -> None:
    """A keeper with a colony that needs something nearly every day, without quiet hours, and a digest hour."""
    await world.settle(zone=zone, now=start)
    await world.keepers.set_reminders(ALMA, replace(NO_QUIET, digest_at=digest_at), start)
    for name, workers in (("Dusk", 80), ("Dawn", 600)):
        await world.register(colony=builders.colony(name=name, workers=workers, nest=NEST), now=start)


def walls(seen: list[tuple[datetime, Digest]], zone: str) -> dict[date, list[wall_time]]:
    """Local day -> wall times of the digests that were more than urgent."""
    found: dict[date, list[wall_time]] = {}
    for at, digest in seen:
        if not all(line.urgent for line in digest.lines):
            local = at.astimezone(zones().get(zone))
            found.setdefault(local.date(), []).append(local.time().replace(second=0, microsecond=0))
    return found


@pytest.mark.parametrize("change", [date(2027, 3, 28), date(2027, 10, 31)])
async def test_t15_the_digest_keeps_its_wall_time_over_both_clock_changes(world: World, change: date) -> None:
    # EU Directive 2000/84/EC: the last Sundays of March and October.
    start = datetime.combine(change, wall_time(6), UTC) - 3 * DAYS
    await settled(world, "Europe/Vienna", wall_time(19), start)
    found = walls(await world.walk(start, start + 8 * DAYS, answering=True), "Europe/Vienna")
    assert {wall for day in found.values() for wall in day} == {wall_time(19)}
    assert all(len(day) == 1 for day in found.values())
    assert any(day >= change for day in found)


@pytest.mark.parametrize(
    ("zone", "change", "digest_at", "shown"),
    [
        ("Europe/Berlin", date(2027, 3, 28), wall_time(2, 30), wall_time(3, 30)),
        ("Europe/Berlin", date(2027, 10, 31), wall_time(2, 30), wall_time(2, 30)),
        ("Africa/Cairo", date(2027, 4, 30), wall_time(0, 15), wall_time(1, 15)),
    ],
)
async def test_t16_t17_t18_a_digest_in_a_gap_or_an_overlap_comes_once(
    world: World, zone: str, change: date, digest_at: wall_time, shown: wall_time
) -> None:
    # Days and gaps: the same directive; Cairo changes at midnight on the last Friday of April (tz database 2026f).
    start = datetime.combine(change, wall_time(12), UTC) - 3 * DAYS
    await settled(world, zone, digest_at, start)
    found = walls(await world.walk(start, start + 8 * DAYS, answering=True), zone)
    assert all(len(day) == 1 for day in found.values())
    assert found.get(change, [shown]) == [shown]
    assert {wall for day, times in found.items() if day != change for wall in times} == {digest_at}
    assert any(day > change for day in found)


async def test_t19_a_clock_change_never_makes_a_loop_of_beats(world: World) -> None:
    start = datetime(2027, 10, 30, 12, tzinfo=UTC)
    await settled(world, "Europe/Berlin", wall_time(2, 30), start)
    beats, now = 0, start
    while now < start + 2 * DAYS and beats < 99:
        async with world.units() as work:
            now = max(now, await work.keepers.next_wake() or start + 9 * DAYS)
        await world.beat(now)
        beats += 1
    assert beats <= 8
    async with world.units() as work:
        planned = Counter(row.occurrence.duty for row in await work.occurrences.open_of_keeper(ALMA))
    assert max(planned.values()) == 2, "one for each colony"


async def test_t20_new_tz_data_moves_the_moment_and_keeps_the_wall_time(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    upheaval = Upheaval(world.units, Planner(handbook()), zones())
    before = await keeper(world)
    right = before.next_wake
    assert right is not None
    async with world.units() as work:
        await work.keepers.save(replace(before, zone_data="an older one", next_wake=right + timedelta(hours=1)))
        await work.commit()
    assert await upheaval.zone_data(START) == 1
    assert (await keeper(world)).next_wake == right
    assert (await keeper(world)).zone_data == zones().version
    assert await upheaval.zone_data(START) == 0, "once is enough"


async def test_t21_who_moves_to_another_zone_gets_no_second_digest_that_day(world: World) -> None:
    await settled(world, "Asia/Tokyo", wall_time(18), START)
    seen = await world.walk(START, START + 6 * DAYS, answering=True)
    last = seen[-1][0]
    move = last + timedelta(hours=1)
    await world.keepers.set_place(ALMA, PlaceChanges(zone_name="America/New_York"), move)
    later = await world.walk(move, move + 6 * DAYS, answering=True)
    found = walls([(last, seen[-1][1]), *later], "America/New_York")
    assert all(len(day) == 1 for day in found.values())
    assert {wall for day, times in found.items() if day > min(found) for wall in times} == {wall_time(18)}


async def test_t22_the_zone_of_the_host_changes_nothing(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    async with world.units() as work:
        here = [row.occurrence.due_at for row in await work.occurrences.open_of_keeper(ALMA)]
    was = os.environ.get("TZ")
    try:
        monkeypatch.setenv("TZ", "America/New_York")
        time.tzset()
        await world.keepers.set_reminders(ALMA, ReminderChanges(), START)
        async with world.units() as work:
            assert [row.occurrence.due_at for row in await work.occurrences.open_of_keeper(ALMA)] == here
    finally:
        monkeypatch.setenv("TZ", was) if was else monkeypatch.delenv("TZ")
        time.tzset()


@pytest.mark.parametrize(("zone", "minute"), [("Asia/Kolkata", 30), ("Pacific/Chatham", 15)])
async def test_t23_zones_off_the_full_hour_are_met_to_the_minute(world: World, zone: str, minute: int) -> None:
    # +05:30 and +12:45 in the tz database: 18:00 on the wall is half past or a quarter past the full hour in UTC.
    await settled(world, zone, wall_time(18), START)
    seen = await world.walk(START, START + 4 * DAYS)
    routine = [at for at, digest in seen if not all(line.urgent for line in digest.lines)]
    assert {at.minute for at in routine} == {minute}


async def test_t24_late_in_the_evening_today_is_the_keepers_day(world: World) -> None:
    late = datetime(2027, 6, 2, 3, 50, tzinfo=UTC)
    await world.settle(zone="America/New_York", now=late)
    await world.register(now=late)
    assert (await keeper(world)).planned_on == date(2027, 6, 1), "23:50 in New York"


async def test_t25_a_moment_without_a_zone_is_refused(world: World) -> None:
    naive = START.replace(tzinfo=None)
    with pytest.raises(ValueError, match="aware"):
        await world.settle(now=naive)
    await world.settle()
    before = await keeper(world)
    with pytest.raises(NaiveMomentError):
        async with world.units() as work:
            await work.keepers.save(replace(before, next_wake=naive))


async def test_t26_the_leap_day_is_a_day_like_any_other(world: World) -> None:
    start = datetime(2028, 2, 27, 6, tzinfo=UTC)
    await settled(world, "Australia/Sydney", wall_time(18), start)
    seen = await world.walk(start, start + 4 * DAYS)
    days = {local_day(at, ZoneInfo("Australia/Sydney")) for at, _ in seen}
    assert date(2028, 2, 29) in days
    assert {line.day for _, digest in seen for line in digest.lines} >= {date(2028, 2, 29)}


async def test_t27_what_waits_for_a_year_comes_after_a_year(world: World) -> None:
    await world.settle()
    await world.register()
    until = (START + 366 * DAYS).date()
    await world.keepers.set_reminders(ALMA, ReminderChanges(away_until=until), START)
    back = START + 366 * DAYS
    before = await world.walk(back - 2 * DAYS, back - 1 * DAYS)
    assert {line.duty for _, digest in before for line in digest.lines} <= {Duty.WATER, Duty.HEAT_CHECK}
    after = await world.walk(back, back + 2 * DAYS)
    assert {line.duty for _, digest in after for line in digest.lines} - {Duty.WATER, Duty.HEAT_CHECK}


async def test_t43_a_clock_that_jumped_a_day_ahead_makes_no_storm_and_set_back_no_stall(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    upheaval = Upheaval(world.units, Planner(handbook()), zones())
    assert await upheaval.clock(START) is None
    wrong = START + 400 * DAYS
    assert await upheaval.clock(wrong) == 400 * DAYS
    assert len(await world.walk(wrong, wrong + timedelta(minutes=5))) <= 1
    assert await upheaval.clock(START + timedelta(minutes=5)) == timedelta(minutes=5) - 400 * DAYS
    seen = await world.walk(START + timedelta(minutes=5), START + 5 * DAYS)
    watered = [at for at, digest in seen if any(line.duty is Duty.WATER for line in digest.lines)]
    assert len(watered) >= 2, "rows of the wrong year hold nothing back"
    assert max(later - earlier for earlier, later in pairwise(watered)) <= 2 * DAYS


async def test_t43_a_clock_set_back_an_hour_frees_the_leases(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    upheaval = Upheaval(world.units, Planner(handbook()), zones())
    await upheaval.clock(START)
    async with world.units() as work:
        await work.keepers.claim_due(START + DAYS, START + DAYS + timedelta(hours=1), "dead", 10)
        await work.commit()
    assert await upheaval.clock(START - timedelta(hours=1)) == timedelta(hours=-1)
    async with world.units() as work:
        assert await work.keepers.next_wake() == START - timedelta(hours=1)


async def test_t43_a_clock_from_before_the_bot_was_written_stops_everything(world: World) -> None:
    upheaval = Upheaval(world.units, Planner(handbook()), zones())
    with pytest.raises(WrongClockError, match="1970"):
        await upheaval.clock(datetime(1970, 1, 1, tzinfo=UTC))


class Wall:
    """A clock that is set by hand."""

    def __init__(self, now: datetime) -> None:
        self.moment = now

    def now(self) -> datetime:
        return self.moment


async def test_t44_a_host_that_slept_all_night_catches_up_within_a_minute(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    clock = Wall(START)

    async def far() -> datetime | None:
        return START + 9 * DAYS

    heartbeat = Heartbeat(clock, world.dispatcher.deliver_due, far)
    assert await heartbeat._pause() <= LONGEST_SLEEP.total_seconds() <= 60
    clock.moment = START + timedelta(hours=26)
    world.mailbox.now = clock.moment
    await heartbeat.beat(clock.now())
    assert len(world.mailbox.seen) == 1
    assert world.mailbox.seen[0].catch_up


async def test_t45_two_seconds_of_a_blocked_loop_lose_nothing(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    async with world.units() as work:
        wake = await work.keepers.next_wake()
    assert wake is not None
    assert len(await world.beat(wake + timedelta(seconds=2))) == 1
    assert await world.beat(wake + timedelta(seconds=4)) == []


async def test_t60_after_a_restore_nothing_that_may_have_been_told_comes_again_at_once(world: World) -> None:
    await settled(world, "Europe/Vienna", wall_time(18), START)
    restored = START + timedelta(hours=26)
    upheaval = Upheaval(world.units, Planner(handbook()), zones())
    await upheaval.mark_restored(restored)
    put_off = await upheaval.restored(restored + timedelta(minutes=1))
    assert put_off >= 1
    assert await upheaval.restored(restored + timedelta(minutes=2)) == 0
    seen = await world.walk(restored, restored + 2 * DAYS)
    hours = {at.astimezone(ZoneInfo("Europe/Vienna")).time() for at, _ in seen}
    assert hours <= {wall_time(18), wall_time(8)}
    assert sum(len(digest.lines) for _, digest in seen) >= put_off, "and nothing is lost"
    async with world.units() as work:
        assert await work.marks.get(RESTORED) == ""
        rows = await work.occurrences.open_of_keeper(ALMA)
    assert all(row.state is OccurrenceState.SENT or row.occurrence.due_at > restored for row in rows)
