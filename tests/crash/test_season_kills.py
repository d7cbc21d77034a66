"""The real bot killed around the posting of season notices: each is seen once, and recorded as the message it is."""

from __future__ import annotations

import asyncio
import signal
from collections import Counter
from dataclasses import replace
from datetime import time, timedelta
from random import Random  # noqa: TID251 - seeded moments of a test; the bot itself has no use for chance
from typing import Any

import pytest

from bot.adapters.chat.season_marks import MEMBER
from bot.care.season.community import Half, SeasonStage
from bot.services.season_drafts import nonce_of
from bot.services.season_records import GuildId, Notice, NoticeId, NoticeState, SeasonSetup
from tests.chat.requests import check_rules, check_shape
from tests.crash.platform import BOT, BOT_ID, GUILD
from tests.crash.rules import Rule
from tests.crash.stage import Stage, walk

pytestmark = pytest.mark.asyncio
CHANNEL, ROLE = 730, 731
ALL_RIGHTS = str(1 << 3)
"""Administrator, in the platform's permissions."""
AHEAD = timedelta(seconds=0.8)
"""A bot is started so long before a notice is due: time to hear of the server, without which nothing is posted."""
PUT_OFF = timedelta(minutes=3)
"""A longer lease is no bot's at its work: the notice waits until the server is heard of."""
LIFE_SECONDS = 30.0
SERVER: dict[str, Any] = {
    "id": str(GUILD),
    "name": "hall",
    "owner_id": "1",
    "unavailable": False,
    "member_count": 2,
    "roles": [
        {"id": str(GUILD), "name": "@everyone", "permissions": ALL_RIGHTS, "position": 0},
        {"id": str(ROLE), "name": "keepers", "permissions": "0", "position": 1, "mentionable": True},
    ],
    "channels": [
        {"id": str(CHANNEL), "type": 0, "name": "season", "position": 0, "permission_overwrites": [], "parent_id": None}
    ],
    "members": [{"user": BOT, "roles": [], "joined_at": "2027-01-01T00:00:00+00:00", "flags": 0}],
}
"""The server as the gateway tells of it (the platform's description of a guild), as far as the library reads it."""


async def schedule(stage: Stage, number: int) -> NoticeId:
    """One more notice, due in a minute; numbers make it unique."""
    now, guild = stage.clock.now(), GuildId(GUILD)
    post_at = now + timedelta(minutes=1)
    notice = Notice(
        id=NoticeId(0),
        guild_id=guild,
        year=2027 + number,
        stage=SeasonStage.PREPARE,
        half=Half.NORTH,
        state=NoticeState.SCHEDULED,
        heading="time to prepare the winter rest",
        text="There is time to get ready.",
        numbers="",
        cautions=("REST-DATES",),
        begins=now.date() + timedelta(days=28),
        post_day=post_at.date(),
        post_wall=time(18),
        post_at=post_at,
        nonce=nonce_of("kill", number),
        created_at=now,
    )
    async with stage.core.units() as work:
        # "tended" for good: what the bot would draft by itself is no part of this test
        tended = (now + timedelta(days=1)).date()
        setup = SeasonSetup(guild_id=guild, channel_id=CHANNEL, zone_name="UTC", role_id=ROLE, count=False)
        await work.seasons.save_setup(replace(setup, tended_on=tended))
        made = await work.seasons.add(notice)
        await work.commit()
    assert made is not None
    return made.id


async def kept(stage: Stage, notice: NoticeId) -> Notice:
    """The notice as the store has it."""
    async with stage.core.units() as work:
        found = await work.seasons.notice(notice)
    assert found is not None
    return found


async def to_next_try(stage: Stage) -> None:
    """Move the clock close to the next moment at which a notice is due, or its lease runs out."""
    async with stage.core.units() as work:
        at = await work.seasons.next_due()
    assert at is not None
    stage.clock.set(max(at - AHEAD, stage.clock.now()))


def points(chance: Random) -> list[Rule]:
    """Moments around the posting of a notice at which a process can be killed; which one is filled in."""
    return [
        Rule(route="message", kill=0),
        Rule(route="message", kill=0, done_first=True),
        Rule(route="message", kill=0, kill_after=chance.uniform(0, 0.05)),
    ]


async def connected(stage: Stage) -> int:
    """A bot that has heard of the server."""
    await stage.until(lambda seen: seen["gateways"] == 0)
    process = await stage.start()
    await stage.until(lambda seen: seen["gateways"] == 1)
    await stage.say({"op": 0, "t": "GUILD_CREATE", "s": 3, "d": SERVER})
    return process


async def one_life(stage: Stage, notice: NoticeId, *trouble: Rule) -> bool:
    """A bot until it is killed at its work, or has posted the notice; whether it was killed."""
    await to_next_try(stage)
    process = await connected(stage)
    await stage.rules(*(replace(rule, kill=process) for rule in trouble))
    end = asyncio.ensure_future(stage.ended(process))
    async with asyncio.timeout(LIFE_SECONDS):
        while not end.done() and not await looked_after(stage, notice):
            await asyncio.wait({end}, timeout=0.05)
    await asyncio.wait({end}, timeout=0.06)  # a kill that follows the answer
    caught = end.done()
    stage.kill(process)
    assert await end == signal.SIGKILL, stage.said()
    return caught


async def looked_after(stage: Stage, notice: NoticeId) -> bool:
    """Whether the notice is posted, or put off because the bot had not heard of the server in time."""
    found = await kept(stage, notice)
    if found.state is NoticeState.POSTING:
        return found.lease_until is not None and found.lease_until - stage.clock.now() > PUT_OFF
    return found.state is not NoticeState.SCHEDULED


async def test_every_notice_is_seen_once(
    stage: Stage, kills: int, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    chance, caught, notices = Random(seed), 0, list[NoticeId]()
    while caught < kills / 2:
        assert len(notices) < 4 * kills + 10, "the bot is hardly ever caught"
        notices.append(await schedule(stage, len(notices)))
        caught += await one_life(stage, notices[-1], chance.choice(points(chance)))
        stage.clock.set(stage.clock.now() + timedelta(seconds=chance.choice([0, 600])))
        looking = [Rule(route="history", kill=0)] if chance.random() < 0.5 else []
        while (await kept(stage, notices[-1])).state is not NoticeState.POSTED:
            if await one_life(stage, notices[-1], *looking):
                caught, looking = caught + 1, []
    count = await examine(stage, notices)
    with capsys.disabled():
        print(f"\n{stage.core.engine.dialect.name}: {caught} kills, {count} notices")  # noqa: T201 - the figures of the run


async def examine(stage: Stage, notices: list[NoticeId]) -> int:
    """How many notices there were: each in one message, which is the recorded one and mentions the role alone."""
    seen = await stage.seen()
    messages: dict[int, list[str]] = {}
    for message in seen["messages"]:
        assert message["channel_id"] == str(CHANNEL)
        assert message["author"]["id"] == str(BOT_ID)
        marks = [MEMBER.fullmatch(part.get("custom_id", "")) for part in walk(message["components"])]
        (number,) = {int(mark["notice"]) for mark in marks if mark is not None}
        messages.setdefault(number, []).append(message["id"])
    assert Counter({notice: len(found) for notice, found in messages.items()}) == Counter(notices)
    for notice in notices:
        found = await kept(stage, notice)
        assert found.state is NoticeState.POSTED
        assert messages[notice] == [str(found.message_id)]
    for request in seen["requests"]:
        if request["body"] is not None:
            check_shape(request["method"], request["path"], request["body"])
            check_rules(request["body"])
            if request["path"].endswith("/messages"):
                assert request["body"]["allowed_mentions"] == {"parse": [], "roles": [ROLE]}
    return len(messages)
