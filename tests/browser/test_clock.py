"""The clock of practice mode and the way it is stepped."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest

from bot.practice.clock import PracticeClock
from bot.practice.stepping import LONGEST_PAUSE, Stepper

START = datetime(2027, 5, 18, 8, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@dataclass
class Plans:
    """Due moments, served by a beat unless they are stuck."""

    clock: PracticeClock
    due: list[datetime]
    stuck: bool = False
    beats: list[datetime] = field(default_factory=list)

    async def next_wake(self) -> datetime | None:
        return min(self.due, default=None)

    async def beat(self, moment: datetime) -> None:
        self.clock.move_to(moment)
        self.beats.append(moment)
        if not self.stuck:
            self.due = [due for due in self.due if due > moment]


def stepper(plans: Plans) -> Stepper:
    return Stepper(plans.clock, plans.next_wake, plans.beat)


def test_the_clock_starts_with_a_zone_and_never_goes_back() -> None:
    with pytest.raises(ValueError, match="zone"):
        PracticeClock(START.replace(tzinfo=None))
    clock = PracticeClock(START.astimezone())
    clock.move_to(START - HOUR)
    assert clock.now() == START
    clock.move_to(START + HOUR)
    assert clock.now() == START + HOUR


@pytest.mark.asyncio
async def test_every_due_moment_is_served_at_its_own_time_and_in_order() -> None:
    due = [START + 5 * HOUR, START + 2 * HOUR, START + 30 * HOUR]
    plans = Plans(PracticeClock(START), due)
    await stepper(plans).step_to(START + 24 * HOUR)
    assert plans.beats == [START + 2 * HOUR, START + 5 * HOUR, START + 24 * HOUR]
    assert plans.due == [START + 30 * HOUR]


@pytest.mark.asyncio
async def test_a_moment_that_has_passed_is_served_without_waiting_for_the_target() -> None:
    plans = Plans(PracticeClock(START), [START - HOUR])
    await stepper(plans).step_to(START + HOUR)
    assert plans.beats[0] - START <= timedelta(minutes=1)
    assert plans.beats[-1] == START + HOUR


@pytest.mark.asyncio
async def test_something_that_stays_due_is_tried_less_and_less_often() -> None:
    plans = Plans(PracticeClock(START), [START], stuck=True)
    await stepper(plans).step_to(START + timedelta(days=7))
    assert plans.clock.now() == START + timedelta(days=7)
    assert len(plans.beats) < 7 * 24 + 20
    pauses = [after - before for before, after in zip(plans.beats, plans.beats[1:], strict=False)]
    assert max(pauses) <= LONGEST_PAUSE
    assert pauses[:-1] == sorted(pauses[:-1])


@pytest.mark.asyncio
async def test_stepping_ends_when_enough_has_happened() -> None:
    plans = Plans(PracticeClock(START), [START + HOUR, START + 2 * HOUR])
    assert await stepper(plans).step_to(START + 24 * HOUR, lambda: len(plans.beats) == 1)
    assert plans.clock.now() == START + HOUR
