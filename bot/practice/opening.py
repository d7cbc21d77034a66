"""Builds practice mode: the bot as it is run, its store in a folder, the simulated platform, the demo community."""

from __future__ import annotations

import tempfile
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from bot.adapters.chat.client import ChatClient
from bot.app import Core, open_core
from bot.practice.clock import PracticeClock
from bot.practice.community import Community, Places, lead_season, read_community, settle_in
from bot.practice.keeping import Folder, Kept
from bot.practice.platform import World
from bot.practice.session import Practice
from bot.practice.shapes import stable_id
from bot.services.season_records import GuildId
from bot.settings import Settings

LEAD_IN = timedelta(days=2)
"""At the first start the community has lived for so long, so that there is something to see."""


@dataclass(frozen=True, slots=True)
class Start:
    """Where to begin: the bot's settings, a folder or none, and the moment that it is now."""

    settings: Settings
    folder: Path | None
    now: datetime


@asynccontextmanager
async def open_practice(start: Start) -> AsyncIterator[Practice]:
    """Everything running; leaving the block keeps the conversation and signs the bot out.

    Raises:
        PracticeError, HandbookError, StoreError, HouseholdError: what is wrong and what would be right.
    """
    with tempfile.TemporaryDirectory(prefix="winterbrood-") as forgotten:
        folder = Folder(Path(forgotten) if start.folder is None else start.folder)
        folder.prepare()
        kept = folder.load()
        moment = start.now.replace(second=0, microsecond=0) - LEAD_IN if kept is None else kept.moment
        clock = PracticeClock(moment)
        settings = start.settings.model_copy(update={"database": folder.database})
        community = read_community(settings.config / "examples" / "demo")
        async with open_core(settings, clock) as core, _signed_in(core, clock, community, folder, kept) as practice:
            if kept is None:
                await _live_until_now(practice, community)
            yield practice


@asynccontextmanager
async def _signed_in(
    core: Core, clock: PracticeClock, community: Community, folder: Folder, kept: Kept | None
) -> AsyncIterator[Practice]:
    client = ChatClient(core.chat_services(), shard_count=1)
    world = World(client, community.name, community.people, community.rooms)
    if kept is not None:
        world.restore(kept.messages)
    async with world.open(clock.now()):
        practice = Practice(
            core=core,
            world=world,
            clock=clock,
            rounds=core.rounds(client),
            name=community.name,
            people=community.people,
            zone=core.zones.get(community.zone),
            save=folder.save,
        )
        yield practice
        folder.save(clock.now(), world.dump())


async def _live_until_now(practice: Practice, community: Community) -> None:
    """The two days before the visitor came: keepers move in, people write, reminders arrive."""
    ids = {who: practice.world.person_id(who) for who in community.people}
    await settle_in(community, practice.core, ids, practice.clock.now())
    places = Places(
        server=GuildId(stable_id(f"server:{community.name}")),
        rooms=practice.world.room_ids(),
        leader=next(ids[who] for who, leads in community.people.items() if leads),
        stable_id=stable_id,
    )
    await lead_season(community, practice.core, places, practice.clock.now())
    for post in community.posts:
        await practice.say(practice.seat(post.person, post.room), post.text)
    await practice.step_to(practice.clock.now().replace(second=0) + LEAD_IN)
