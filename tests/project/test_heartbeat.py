"""The beat: due-driven, never dies, noticed when silent."""

import asyncio
from datetime import UTC, datetime, timedelta

import pytest
from structlog.testing import capture_logs

from bot.adapters.heartbeat import LONGEST_SLEEP, SILENT_AFTER, Heartbeat, maintenance

pytestmark = pytest.mark.asyncio
NOW = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)


class StillClock:
    def now(self) -> datetime:
        return NOW


async def no_wake() -> datetime | None:
    return None


async def test_a_beat_that_fails_is_logged_counted_and_the_next_one_works() -> None:
    answers: list[Exception | None] = [ValueError("broken"), None]

    async def deliver(now: datetime) -> object:
        if (answer := answers.pop(0)) is not None:
            raise answer
        return now

    heartbeat = Heartbeat(StillClock(), deliver, no_wake)
    with capture_logs() as logs:
        await heartbeat.beat(NOW)
        await heartbeat.beat(NOW)
    assert [entry["event"] for entry in logs if entry["log_level"] == "error"] == ["beat_failed"]
    assert (heartbeat.pulse.failures, heartbeat.pulse.beats) == (1, 1)


async def test_it_beats_at_once_and_stops_when_told() -> None:
    stop, beats = asyncio.Event(), list[datetime]()

    async def deliver(now: datetime) -> object:
        beats.append(now)
        stop.set()
        return None

    await asyncio.wait_for(Heartbeat(StillClock(), deliver, no_wake).run(stop), 5)
    assert beats == [NOW]


@pytest.mark.parametrize(
    ("wake", "pause"),
    [
        (None, LONGEST_SLEEP),
        (NOW + timedelta(seconds=7), timedelta(seconds=7)),
        (NOW + timedelta(days=9), LONGEST_SLEEP),
        (NOW - timedelta(hours=1), timedelta(seconds=0.05)),
    ],
)
async def test_it_sleeps_until_the_next_due_moment_at_most_a_minute(wake: datetime | None, pause: timedelta) -> None:
    async def next_wake() -> datetime | None:
        return wake

    async def deliver(now: datetime) -> object:
        return now

    heartbeat = Heartbeat(StillClock(), deliver, next_wake)
    assert await heartbeat._pause() == pytest.approx(pause.total_seconds())


async def test_silence_is_noticed() -> None:
    async def deliver(now: datetime) -> object:
        return now

    heartbeat = Heartbeat(StillClock(), deliver, no_wake)
    assert not heartbeat.pulse.silent(NOW), "nothing can be silent before it began"
    await heartbeat.beat(NOW)
    assert not heartbeat.pulse.silent(NOW + SILENT_AFTER)
    assert heartbeat.pulse.silent(NOW + SILENT_AFTER + timedelta(seconds=1))


async def test_maintenance_jobs_never_pile_up_and_are_never_dropped() -> None:
    async def job() -> None:
        """Nothing to do."""

    scheduler = maintenance({"housekeeping": (job, timedelta(hours=6))})
    scheduler.start(paused=True)
    added = scheduler.get_job("housekeeping")
    assert (added.coalesce, added.max_instances, added.misfire_grace_time) == (True, 1, None)
    scheduler.shutdown(wait=False)
