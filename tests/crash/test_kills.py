"""The real bot, killed without warning again and again: every due item is seen by the member exactly once.

Half of the moments are chosen (before and after a message was stored, between answer and record, at the door, while
looking for an earlier try), half fall anywhere into planning, claiming, sending and recording. Seeded, so that a
failure can be repeated: `pytest tests/crash --kills 300 --kill-seed N`.
"""

from __future__ import annotations

import asyncio
import signal
import time
from collections import Counter
from datetime import timedelta
from random import Random  # noqa: TID251 - seeded moments of a test; the bot itself has no use for chance

import pytest

from bot.services.delivery import LONGEST_WAIT_SECONDS
from bot.services.records import KeeperId
from tests.crash.examine import examine
from tests.crash.platform import FIRST_CHANNEL
from tests.crash.rules import Rule
from tests.crash.stage import Stage, answer_all, reminders, settle

pytestmark = pytest.mark.asyncio
KEEPERS, COLONIES = 6, 2
LIFE_SECONDS = 3.0
"""A bot that waits for the end of a dead one's lease, or for its next try, is not waited for."""
LONGEST = timedelta(seconds=LONGEST_WAIT_SECONDS * 1.25)
DIFFICULT = (
    Rule(route="message", status=503),
    Rule(route="message", status=503, done_first=True),
    Rule(route="message", reset=True),
    Rule(route="message", reset=True, done_first=True),
    Rule(route="message", status=429, retry_after=0.2),
    Rule(route="message", delay=0.1, done_first=True),
    Rule(route="message", empty_bucket=0.1),
    Rule(route="history", status=503),
)
"""Trouble that the platform makes by itself, on top of the kills."""


def points(chance: Random, process: int) -> dict[str, Rule]:
    """The moments at which a process can be killed."""
    nth = chance.randint(1, 4)
    soon = chance.uniform(0, 0.05)
    return {
        "before the message was stored": Rule(route="message", nth=nth, kill=process),
        "after the message was stored": Rule(route="message", nth=nth, kill=process, done_first=True),
        "between answer and record": Rule(route="message", nth=nth, kill=process, kill_after=soon),
        "held back by the allowance": Rule(
            route="message", nth=nth, kill=process, kill_after=soon, empty_bucket=0.2, done_first=True
        ),
        "at the door": Rule(route="door", kill=process, done_first=chance.random() < 0.5),
        "while looking": Rule(route="history", kill=process),
        "anywhere": Rule(route="login", kill=process, kill_after=chance.uniform(0, 0.4)),
    }


async def one_life(stage: Stage, chance: Random) -> str | None:
    """Start a bot and kill it somewhere; returns the point, or `None` when it had nothing to do there."""
    process = await stage.start()
    found = points(chance, process)
    point = chance.choice([*found, "anywhere", "anywhere"])
    trouble = [chance.choice(DIFFICULT)] if chance.random() < 0.3 else []
    await stage.rules(found[point], *trouble)
    end = asyncio.ensure_future(stage.ended(process))
    patience = time.monotonic() + LIFE_SECONDS
    while not end.done() and not await stage.at_rest() and time.monotonic() < patience:
        await asyncio.wait({end}, timeout=0.05)
    died_there = end.done()
    if not died_there:
        await stage.rules()
        await asyncio.wait({end}, timeout=0.06)
        died_there = end.done()
        stage.kill(process)
    assert await end == signal.SIGKILL, stage.said()
    return point if died_there else None


async def answer_some(stage: Stage, chance: Random, answered: set[int]) -> None:
    """Half of the keepers answer what they see; the others never do."""
    for message in (await stage.seen())["messages"]:
        keeper = KeeperId(int(message["channel_id"]) - FIRST_CHANNEL)
        lines = set().union(*(found for group in reminders({"messages": [message]}).values() for found in group))
        if keeper % 2 and lines and not lines <= answered and chance.random() < 0.5:
            answered |= lines
            await answer_all(stage.core, keeper, sorted(lines), stage.clock.now())


async def bring_to_rest(stage: Stage) -> None:
    """Without trouble, beyond the end of every lease and of every wait.

    The platform may be slow to notice that a killed bot is gone: its connection must not be taken for the next one's.
    """
    await stage.rules()
    for _ in range(3):
        await stage.until(lambda seen: seen["gateways"] == 0)
        stage.clock.set(stage.clock.now() + LONGEST)
        process = await stage.start()
        await stage.until(lambda seen: seen["gateways"] == 1)
        await stage.rest()
        assert await stage.stop(process) == 0, stage.said()


async def test_every_due_item_is_seen_exactly_once(
    stage: Stage, kills: int, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    chance, killed, answered = Random(seed), Counter[str](), set[int]()
    await settle(stage.core, KEEPERS, COLONIES)
    await settle(stage.core, 2, 1, doors=False, first=900)
    lives = 0
    while killed.total() < kills:
        lives += 1
        assert lives < 6 * kills + 30, f"the bot is hardly ever caught: {killed}"
        await stage.to_next_wake()
        point = await one_life(stage, chance)
        killed.update([point] if point else [])
        if lives % 5 == 0:
            await answer_some(stage, chance, answered)
        jump = chance.choice([0, 0, 3, 130, 130, 600, 3 * 3600, 20 * 3600])
        stage.clock.set(stage.clock.now() + timedelta(seconds=jump))
    await bring_to_rest(stage)
    figures = await examine(stage)
    with capsys.disabled():
        days = (stage.clock.now() - stage.started).days
        print(f"\n{stage.core.engine.dialect.name}: {killed.total()} kills, {lives} lives, {days} days, {figures}")  # noqa: T201 - the figures of the run
        print("  " + ", ".join(f"{point}: {count}" for point, count in sorted(killed.items())))  # noqa: T201 - as above


async def test_t6_two_processes_on_one_database_never_deliver_twice(stage: Stage) -> None:
    await settle(stage.core, KEEPERS, COLONIES)
    for turn in range(4):
        await stage.to_next_wake()
        both = [await stage.start(), await stage.start()]
        await stage.rules(Rule(route="message", delay=0.02, stays=True))
        await stage.rest()
        await stage.stop(both[turn % 2])
        await stage.stop(both[1 - turn % 2], signal.SIGKILL)
        stage.clock.set(stage.clock.now() + timedelta(hours=1 + 5 * turn))
    await bring_to_rest(stage)
    assert (await examine(stage))["messages"] >= KEEPERS
