"""The real bot, whose direct messages are refused, killed around its words in private threads: each is seen once."""

from __future__ import annotations

import asyncio
import signal
import time
from collections import Counter
from datetime import datetime, timedelta
from random import Random  # noqa: TID251 - seeded moments of a test; the bot itself has no use for chance

import pytest
from sqlalchemy import func, select

from bot.adapters.store.thread_tables import ThreadReminderRow
from bot.services.records import KeeperId
from bot.services.season_records import Consent, GuildId, SeasonSetup
from tests.chat.requests import check_rules, check_shape
from tests.crash.platform import FIRST_THREAD, GUILD
from tests.crash.rules import Rule
from tests.crash.stage import Stage, settle, walk

pytestmark = pytest.mark.asyncio
LIFE_SECONDS = 4.0
CLOSED = Rule(route="door", status=403, code=50007, stays=True)
"""Direct messages of everybody are closed."""


async def agree(stage: Stage) -> list[KeeperId]:
    """Two keepers whose direct messages were never opened, and who agreed to threads."""
    keepers = await settle(stage.core, 2, 1, doors=False)
    guild = GuildId(GUILD)
    async with stage.core.units() as work:
        setup = SeasonSetup(guild_id=guild, channel_id=1, zone_name="UTC", thread_channel_id=720)
        await work.seasons.save_setup(setup)
        for keeper in keepers:
            await work.seasons.save_consent(Consent(guild_id=guild, keeper_id=keeper, threads=True))
        await work.commit()
    return keepers


async def at_rest(stage: Stage) -> bool:
    """Whether nobody is due and no thread waits."""
    now = stage.clock.now()
    waits = (ThreadReminderRow.next_at <= now) | (ThreadReminderRow.lease_until > now)
    async with stage.core.engine.connect() as connection:
        waiting = await connection.scalar(select(func.count()).select_from(ThreadReminderRow).where(waits))
    return waiting == 0 and await stage.at_rest()


async def next_moment(stage: Stage) -> datetime:
    """When the bot has something to do next."""
    async with stage.core.units() as work:
        moments = [await work.keepers.next_wake(), await work.threads.next_due()]
    return min(at for at in moments if at is not None)


def points(chance: Random, process: int) -> list[Rule]:
    """Moments around a word at which a process can be killed."""
    soon = chance.uniform(0, 0.05)
    return [
        Rule(route="message", kill=process),
        Rule(route="message", kill=process, done_first=True),
        Rule(route="message", kill=process, kill_after=soon),
        Rule(route="thread", kill=process, done_first=True),
        Rule(route="history", kill=process),
        Rule(route="login", kill=process, kill_after=chance.uniform(0, 0.4)),
    ]


async def one_life(stage: Stage, chance: Random) -> bool:
    """Start a bot, let it work, and kill it; whether it was caught at work."""
    process = await stage.start()
    await stage.rules(chance.choice(points(chance, process)), CLOSED)
    end = asyncio.ensure_future(stage.ended(process))
    patience = time.monotonic() + LIFE_SECONDS
    while not end.done() and not await at_rest(stage) and time.monotonic() < patience:
        await asyncio.wait({end}, timeout=0.05)
    caught = end.done()
    stage.kill(process)
    assert await end == signal.SIGKILL, stage.said()
    return caught


async def test_every_word_in_a_thread_is_seen_once(
    stage: Stage, kills: int, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    chance, caught, lives = Random(seed), 0, 0
    keepers = await agree(stage)
    while caught < kills / 2:
        lives += 1
        assert lives < 8 * kills + 30, "the bot is hardly ever caught"
        stage.clock.set(max(await next_moment(stage), stage.clock.now()) + timedelta(seconds=1))
        caught += await one_life(stage, chance)
        stage.clock.set(stage.clock.now() + timedelta(seconds=chance.choice([0, 5, 130, 3600])))
    for _ in range(3):
        await stage.until(lambda seen: seen["gateways"] == 0)
        # Few kills may be over before everybody's hour came: go on to what is due next, not by minutes alone.
        stage.clock.set(max(await next_moment(stage), stage.clock.now() + timedelta(minutes=20)))
        process = await stage.start()
        await stage.rules(CLOSED)
        await stage.until(lambda seen: seen["gateways"] == 1)
        async with asyncio.timeout(60):
            while not await at_rest(stage):  # noqa: ASYNC110 - in another process
                await asyncio.sleep(0.05)
        assert await stage.stop(process) == 0, stage.said()
    count = await examine(stage, keepers)
    with capsys.disabled():
        print(f"\n{stage.core.engine.dialect.name}: {caught} kills, {lives} lives, {count} words in threads")  # noqa: T201 - the figures of the run


async def examine(stage: Stage, keepers: list[KeeperId]) -> int:
    """How many words there were: none twice, one a day for each keeper, one thread each, none on its way for ever."""
    seen = await stage.seen()
    words, days = Counter[str](), Counter[tuple[str, str]]()
    for message in seen["messages"]:
        (nonce,) = [part["custom_id"] for part in walk(message["components"]) if "custom_id" in part]
        words[nonce] += 1
        days[message["channel_id"], message["timestamp"][:10]] += 1
    assert words
    assert set(words.values()) == {1}
    threads = {channel for channel, _ in days}
    assert all(int(channel) >= FIRST_THREAD for channel in threads)
    for keeper in keepers:
        kept = [thread for thread in seen["threads"] if keeper in thread["people"]]
        assert len(kept) == 1, "a thread of its own, and no second one after a crash"
        zone = (await stage.core.keepers.get(keeper)).settings.zone
        told = [
            datetime.fromisoformat(message["timestamp"]).astimezone(zone).date()
            for message in seen["messages"]
            if message["channel_id"] == kept[0]["id"]
        ]
        assert len(told) == len(set(told)), "more than one word on a local day"
    async with stage.core.units() as work:
        for keeper in keepers:
            reminder = await work.threads.get(keeper)
            assert reminder is not None
            assert reminder.nonce is None
    for request in seen["requests"]:
        if request["body"] is not None:
            check_shape(request["method"], request["path"], request["body"])
            check_rules(request["body"])
    return len(words)
