"""Properties over random schedules: whatever keepers, clocks and outages do, reminders keep their promises.

Each occurrence is delivered once or its state explains why not; water is never silent beyond its limit; nobody gets
more than one digest a local day, apart from what is urgent. `LIVES=300` lives longer than the usual run.
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Protocol

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.care.agenda import plan_colony
from bot.care.duty import Duty
from bot.care.errors import BadValueError
from bot.care.localtime import local_day, moment
from bot.services.answer_rules import MOST_LATER_WATER
from bot.services.errors import DeliveryError, DoorRefusedError, OutcomeUnknownError, ServiceError, TryLaterError
from bot.services.keepers import PlaceChanges, ReminderChanges
from bot.services.looks import REPEAT_WATER_DAYS
from bot.services.planner import place_of
from bot.services.ports import Digest
from bot.services.records import DeliveryState, Door, KeeperRecord, OccurrenceId, OccurrenceState, StoredOccurrence
from bot.services.upheaval import Upheaval
from tests.care import builders
from tests.services.kit import ALMA, START, Crash, World, handbook, open_world, zones

DAYS, HOURS = timedelta(days=1), timedelta(hours=1)
LIVES = int(os.environ.get("LIVES", "2"))
ZONES = ("Europe/Vienna", "America/New_York", "Asia/Tokyo", "Pacific/Kiritimati", "Pacific/Niue", "Africa/Cairo")
WAIT = timedelta(minutes=20)
"""The longest wait after trouble, and a little more."""


@dataclass
class Life:
    """One keeper's life under one bot."""

    world: World
    now: datetime = START
    seen: list[tuple[datetime, KeeperRecord, Digest]] = field(default_factory=list)
    put_off: Counter[OccurrenceId] = field(default_factory=Counter)

    async def keeper(self) -> KeeperRecord:
        return await self.world.keepers.get(ALMA)

    async def rows(self) -> list[StoredOccurrence]:
        async with self.world.units() as work:
            return list(await work.occurrences.open_of_keeper(ALMA))

    async def beat(self) -> None:
        keeper, before = await self.keeper(), len(self.world.mailbox.seen)
        await Upheaval(self.world.units, self.world.dispatcher.planner, zones()).clock(self.now)
        with suppress(Crash):
            await self.world.beat(self.now)
        self.seen += [(self.now, keeper, digest) for digest in self.world.mailbox.seen[before:]]
        assert not self.world.surprises, self.world.surprises

    def told_on(self, occurrence_id: OccurrenceId, keeper: KeeperRecord) -> date:
        """The local day on which a line was told last; it can be long after its own, when the bot was away."""
        told = (at for at, _, digest in self.seen for line in digest.lines if line.occurrence_id == occurrence_id)
        return local_day(max(told), keeper.settings.zone)

    async def line(self, which: int) -> OccurrenceId | None:
        """One of the lines of the newest message."""
        lines = self.seen[-1][2].lines if self.seen else ()
        return lines[which % len(lines)].occurrence_id if lines else None


class Step(Protocol):
    """Something that happens; each kind is a small class, so that a failing life can be read."""

    async def happen(self, life: Life) -> None:
        """Change life and world."""


@dataclass(frozen=True)
class Walk:
    hours: int

    async def happen(self, life: Life) -> None:
        end = life.now + self.hours * HOURS
        while life.now < end:
            async with life.world.units() as work:
                wake = await work.keepers.next_wake()
            life.now = max(life.now, min(end, wake or end))
            if life.now < end:
                await life.beat()
                life.now += timedelta(seconds=1)
        await water_is_looked_after(life)


@dataclass(frozen=True)
class BotOff:
    hours: int

    async def happen(self, life: Life) -> None:
        life.now += self.hours * HOURS


@dataclass(frozen=True)
class ClockMoved:
    hours: int

    async def happen(self, life: Life) -> None:
        life.now += self.hours * HOURS


@dataclass(frozen=True)
class Reminders:
    digest_at: time
    quiet_from: time
    quiet_hours: int
    away_days: int

    async def happen(self, life: Life) -> None:
        until = self.quiet_from.replace(hour=(self.quiet_from.hour + self.quiet_hours) % 24)
        today = local_day(life.now, (await life.keeper()).settings.zone)
        away = today + self.away_days * DAYS if self.away_days else None
        changes = ReminderChanges(
            digest_at=self.digest_at, quiet_from=self.quiet_from, quiet_until=until, away_until=away, back=not away
        )
        await life.world.keepers.set_reminders(ALMA, changes, life.now)


@dataclass(frozen=True)
class Move:
    zone: str

    async def happen(self, life: Life) -> None:
        await life.world.keepers.set_place(ALMA, PlaceChanges(zone_name=self.zone), life.now)


@dataclass(frozen=True)
class Done:
    which: int

    async def happen(self, life: Life) -> None:
        line = await life.line(self.which)
        if line is not None:
            with suppress(ServiceError):
                await life.world.answers.done(ALMA, line, life.now)


@dataclass(frozen=True)
class Later:
    which: int
    days: int

    async def happen(self, life: Life) -> None:
        line = await life.line(self.which)
        today = local_day(life.now, (await life.keeper()).settings.zone)
        if line is not None:
            with suppress(ServiceError, BadValueError):
                await life.world.answers.later(ALMA, line, today + self.days * DAYS, life.now)
                life.put_off[line] += 1


@dataclass(frozen=True)
class Trouble:
    kind: str

    async def happen(self, life: Life) -> None:
        box = life.world.mailbox
        if self.kind == "dies after sending":
            box.crash_after_send = True
        else:
            kinds: dict[str, DeliveryError | Crash] = {
                "dies": Crash(),
                "later": TryLaterError(400),
                "doubt": OutcomeUnknownError("?"),
                "refused": DoorRefusedError(),
            }
            box.trouble.append(kinds[self.kind])


WALLS = st.builds(time, st.integers(0, 23), st.sampled_from((0, 15, 30, 45)))
WALKS = st.builds(Walk, st.integers(1, 70))
STEPS = st.one_of(
    WALKS,
    WALKS,
    st.builds(BotOff, st.integers(1, 150)),
    st.builds(Reminders, WALLS, WALLS, st.integers(0, 10), st.integers(0, 6)),
    st.builds(Move, st.sampled_from(ZONES)),
    st.builds(Done, st.integers(0, 5)),
    st.builds(Later, st.integers(0, 5), st.integers(1, 9)),
    st.builds(Trouble, st.sampled_from(("dies", "dies after sending", "later", "doubt", "refused"))),
)
CLOCKS = st.one_of(STEPS, st.builds(ClockMoved, st.integers(-40, 40)))


async def water_is_looked_after(life: Life) -> None:
    """While the bot runs and the door is open, water is planned no later than the plan says, or waits for an answer."""
    keeper, box = await life.keeper(), life.world.mailbox
    rows, today = await life.rows(), local_day(life.now, keeper.settings.zone)
    if keeper.door is Door.REFUSED or box.trouble or box.crash_after_send:
        return
    (colony,) = await life.world.colonies.of(ALMA)
    plan = plan_colony(colony.colony, keeper.settings, place_of(keeper, colony), handbook(), today, 60)
    water = [row for row in rows if row.occurrence.duty is Duty.WATER]
    planned = plan.first(Duty.WATER)
    assert water or planned is None, "no water ahead, though the plan has some"
    for row in water:
        found = row.occurrence
        if row.state is OccurrenceState.SENT:
            told = life.told_on(row.id, keeper)
            assert (today - max(found.day, told)).days <= REPEAT_WATER_DAYS[found.urgency] + 1, row
        elif row.snoozed:
            assert found.due_at <= life.now + (MOST_LATER_WATER[found.urgency] + 2) * DAYS, row
        else:
            assert planned is None or found.day <= max(planned.day, today) + DAYS, (row, planned.day)
    quiet = keeper.settings.quiet.next_allowed(life.now, keeper.settings.zone) > life.now
    for row in rows:
        fine = quiet or row.state is OccurrenceState.SENT or row.occurrence.due_at > life.now - WAIT
        assert fine, f"overdue: {row}"


async def delivered_once_or_explained(life: Life) -> None:
    counts = Counter(line.occurrence_id for digest in life.world.mailbox.seen for line in digest.lines)
    async with life.world.units() as work:
        stored = {key: await work.occurrences.get(key) for key in (OccurrenceId(n) for n in range(1, 2000))}
        assert not await work.deliveries.open_of([ALMA])
        last = await work.deliveries.last_sent(ALMA)
    assert last is None or last.state is DeliveryState.SENT
    for key, row in stored.items():
        if row is None:
            continue
        assert counts[key] <= 1 + life.put_off[key], f"seen {counts[key]} times: {row}"
        if row.state in {OccurrenceState.SENT, OccurrenceState.LAPSED}:
            assert counts[key] >= 1, f"never seen: {row}"
        if row.state is OccurrenceState.SUPERSEDED:
            assert counts[key] == 0, f"seen, though the plan took it back: {row}"


def one_digest_a_day(life: Life) -> None:
    digests = [(at, keeper) for at, keeper, digest in life.seen if not all(line.urgent for line in digest.lines)]
    for (earlier, _), (at, keeper) in pairwise(digests):
        zone = keeper.settings.zone
        assert earlier < moment(local_day(at, zone), time(0), zone), f"two on {local_day(at, zone)}: {earlier}, {at}"
    for at, keeper, _ in life.seen:
        quiet = keeper.settings.quiet
        assert not quiet.holds((at - timedelta(minutes=5)).astimezone(keeper.settings.zone).time()) or not quiet.holds(
            at.astimezone(keeper.settings.zone).time()
        ), f"in the quiet hours: {at}"


async def live(template: Path, steps: list[Step], water_ml: float) -> Life:
    """Live through the steps; then the bot comes to rest without trouble, and the keeper comes back."""
    with tempfile.TemporaryDirectory() as folder:
        async with open_world(Path(folder), template) as world:
            await world.settle()
            await world.register(colony=builders.colony(nest=builders.nest(water_ml=water_ml)))
            life = Life(world)
            for step in [Walk(12), *steps]:
                await step.happen(life)
            world.mailbox.trouble, world.mailbox.crash_after_send = [], False
            await world.keepers.came_back(ALMA, life.now)
            await Walk(30).happen(life)
            await delivered_once_or_explained(life)
            return life


@settings(max_examples=LIVES, deadline=None)
@given(steps=st.lists(STEPS, max_size=9), water_ml=st.sampled_from([4.0, 30.0, 60.0]))
def test_promises_hold_whatever_keepers_and_outages_do(template: Path, steps: list[Step], water_ml: float) -> None:
    one_digest_a_day(asyncio.run(live(template, steps, water_ml)))


@settings(max_examples=LIVES, deadline=None)
@given(steps=st.lists(CLOCKS, max_size=7))
def test_nothing_is_lost_or_doubled_whatever_the_clock_does(template: Path, steps: list[Step]) -> None:
    asyncio.run(live(template, steps, 30.0))
