"""Reminder threads on the simulated platform: set up, agreed to, private, and without a word about what is due."""

from __future__ import annotations

from datetime import timedelta
from types import SimpleNamespace
from typing import Any, cast

import discord
import pytest
import pytest_asyncio
from simcord.backend.errors import SetupError
from simcord.builders import ChannelHandle

from bot.adapters.chat.season_hall import LEFT, ChatHall
from bot.services.alarms import Trouble, incident_of
from bot.services.leaving import Presence
from bot.services.records import Door, KeeperId
from bot.services.season_records import GuildId, SeasonSetup
from bot.services.thread_posting import ThreadDispatcher
from tests.care import builders
from tests.chat.season_world import Town, open_town
from tests.chat.world import ChatWorld, buttons, text

pytestmark = pytest.mark.asyncio


@pytest_asyncio.fixture
async def town(world: ChatWorld) -> Town:
    return open_town(world)


async def prepared(town: Town, **rights: bool) -> ChannelHandle:
    """Moderators allow threads, and Mila has a colony."""
    everyone: dict[Any, discord.PermissionOverwrite] = {town.guild.default_role: discord.PermissionOverwrite(**rights)}
    under = town.guild.create_text_channel("reminders", overwrites=everyone)
    assert f"under <#{under.id}>" in text(await town.set_up(threads=under))
    await town.mila.slash(town.news, "my place", zone="Europe/Vienna", temperature=24)
    nest = {"material": "aerated-concrete", "water_ml": 60.0}
    await town.mila.slash(town.news, "colony add", species="Lasius niger", workers=80, name="Dusk", **nest)
    return under


async def refused(town: Town) -> None:
    """Beat until her direct message was refused."""
    world, who = town.world, KeeperId(town.mila.id)
    async with world.services.units() as work:
        keeper = await work.keepers.peek(who)
    assert keeper is not None
    world.env.inject_error("POST", f"/channels/{keeper.channel_id}/messages", status=403, code=50007, times=99)
    while (await world.services.keepers.get(who)).door is not Door.REFUSED:
        async with world.services.units() as work:
            wake = await work.keepers.next_wake()
        assert wake is not None
        world.clock.moment = max(world.clock.moment, wake)
        await world.beat()


async def remind(town: Town) -> int:
    """What the bot does in threads at this moment."""
    client, surprises = town.world.client, list[Exception]()
    planner = town.world.services.keepers.planner
    dispatcher = ThreadDispatcher(
        town.world.services.units, client.threads, client.hall, planner, lambda _, found: surprises.append(found)
    )
    with town.world.env._bot_scope():
        count = await dispatcher.remind_due(town.world.clock.now())
    await town.world.env.settle()
    assert not surprises, surprises
    return count


async def test_t28_a_private_thread_says_how_much_and_nothing_else(town: Town) -> None:
    under = await prepared(town)
    assert "Threads** no" in text(await town.mila.slash(town.news, "season share"))
    assert "Threads** yes" in text(await town.mila.slash(town.news, "season share", threads=True))
    await refused(town)
    assert await remind(town) == 1
    (thread,) = under.threads
    stored = town.world.env.backend.get_thread(thread.id)
    assert stored.type == discord.ChannelType.private_thread.value
    assert set(stored.thread_members) == {town.world.client.user.id, town.mila.id}  # type: ignore[union-attr] # it is in
    assert stored.name is not None
    assert "mila" not in stored.name
    (word,) = thread.history()
    said = text(word)
    assert f"<@{town.mila.id}>" in said
    assert "due. Open `/care due`" in said
    for private in ("Dusk", "Lasius", "Vienna", "water", "Water"):
        assert private not in said
    pressed = await town.mila.click(word, label="What waits now")
    assert "Dusk" in text(pressed.followups[0])
    assert pressed.followups[0].ephemeral
    with pytest.raises(SetupError, match="not visible"):
        await town.hedy.click(word, custom_id=next(iter(buttons(word))))


async def test_the_same_thread_is_used_again_and_a_left_over_one_is_found(town: Town) -> None:
    under = await prepared(town)
    await town.mila.slash(town.news, "season share", threads=True)
    await refused(town)
    await remind(town)
    (thread,) = under.threads
    who = KeeperId(town.mila.id)
    async with town.world.services.units() as work:
        kept = await work.threads.get(who)
    assert kept is not None
    assert kept.thread_id == thread.id
    with town.world.env._bot_scope():
        assert await town.world.client.threads.open(kept) == thread.id
        assert kept.nonce is None
        assert await town.world.client.threads.find(thread.id, kept) is None
    town.world.clock.moment += timedelta(days=1)
    assert await remind(town) == 1
    assert len(under.threads) == 1
    assert len(thread.history()) == 2


async def test_missing_rights_are_shown_and_told(town: Town) -> None:
    under = await prepared(town, create_private_threads=False)
    await town.mila.slash(town.news, "season share", threads=True)
    await refused(town)
    assert await remind(town) == 0
    assert "Create Private Threads" in text(await town.by(town.mara, "setup"))
    (told,) = [message for message in town.told() if "reminder threads" in text(message)]
    assert "Create Private Threads" in text(told)
    assert not under.threads


async def test_an_alarm_is_one_sentence_in_the_moderators_channel(town: Town) -> None:
    await prepared(town)
    setup = await town.world.client.season_acts.season.setup(town.id)
    number = incident_of(Trouble.BEAT, town.world.clock.moment)
    with town.world.env._bot_scope():
        await town.world.client.hall.ring(setup, f"Something. `{number}`", f"A{number}")
    await town.world.env.settle()
    (told,) = town.told()
    assert number in text(told)


async def test_t31_who_left_every_server_is_seen_to_be_gone(town: Town) -> None:
    presence = town.world.client.presence
    stranger = town.world.env.create_user("stranger")
    with town.world.env._bot_scope():
        assert await presence.presence_of(KeeperId(town.mila.id)) is Presence.HERE
        assert await presence.presence_of(KeeperId(stranger.id)) is Presence.LEFT
        assert await presence.presence_of(KeeperId(424242)) is Presence.DELETED


async def test_the_privacy_page_promises_the_terms_that_are_kept(town: Town) -> None:
    shown = await town.mila.slash(town.news, "my privacy")
    whole = "\n".join([text(shown), *(text(message) for message in shown.followups)])
    assert "365 days after I find that you left" in whole
    assert "60 days after I find the account gone" in whole


async def test_a_server_of_another_process_is_not_taken_for_left(town: Town) -> None:
    """Servers belong to connections by their id (the platform's documentation of sharding)."""
    client = SimpleNamespace(get_guild=lambda _: None, is_ready=lambda: True, shard_ids=[0], shard_count=2)
    hall = ChatHall(cast("discord.Client", client), town.world.client.messenger, builders.handbook(), {})
    theirs, ours = (SeasonSetup(guild_id=GuildId(shard << 22), channel_id=1, zone_name="UTC") for shard in (1, 2))
    assert not (await hall.look(theirs)).blocking
    assert (await hall.look(ours)).blocking == (LEFT,)
