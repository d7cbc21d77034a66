"""The guarded touch of the simulated platform, with a toy bot: ids, rooms, rights, time, what outlives a restart."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta

import discord
import pytest
from discord import app_commands

from bot.practice import platform
from bot.practice.errors import PracticeError
from bot.practice.platform import World, check_platform
from bot.practice.shapes import DIRECT, Room, stable_id

NOW = datetime(2027, 5, 18, 8, 0, tzinfo=UTC)
PEOPLE = {"Maren": False, "Quirin": True}
ROOMS = (Room(name="questions", topic="Ask"), Room(name="helpers", leaders_only=True))


class Toy(discord.Client):
    """A bot with one command, one button and one form."""

    def __init__(self) -> None:
        super().__init__(intents=discord.Intents(guilds=True))
        self.tree = app_commands.CommandTree(self)
        self.tree.command(name="hello", description="Greets")(hello)


class Greeting(discord.ui.LayoutView):
    def __init__(self) -> None:
        super().__init__(timeout=None)
        button: discord.ui.Button[Greeting] = discord.ui.Button(label="Ask", custom_id="ask")
        button.callback = ask  # type: ignore[method-assign]  # the library's own way for a single button
        self.add_item(discord.ui.ActionRow(button))


class Question(discord.ui.Modal, title="A question"):
    word: discord.ui.TextInput[Question] = discord.ui.TextInput(label="Word")

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        await interaction.response.send_message(f"You said {self.word.value}.", ephemeral=True)


async def hello(interaction: discord.Interaction, name: str) -> None:
    await interaction.response.send_message(f"Hello {name}", ephemeral=name == "secret")
    await interaction.followup.send(view=Greeting())


async def ask(interaction: discord.Interaction) -> None:
    await interaction.response.send_modal(Question())


@asynccontextmanager
async def opened(start: datetime = NOW) -> AsyncIterator[World]:
    async with World(Toy(), "Under the Flat Stone", PEOPLE, ROOMS).open(start) as world:
        yield world


def test_the_installed_platform_is_the_one_this_was_written_for() -> None:
    check_platform()


def test_another_version_or_a_missing_part_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(platform, "SUPPORTED", "0.0.1")
    with pytest.raises(PracticeError, match=r"works with simcord 0\.0\.1; found 3\."):
        check_platform()
    monkeypatch.undo()
    monkeypatch.setattr(platform, "KEPT", ("a field that was renamed",))
    with pytest.raises(PracticeError, match="Message fields changed"):
        check_platform()


@pytest.mark.asyncio
async def test_people_and_rooms_have_the_same_ids_in_every_run() -> None:
    async with opened() as first:
        ids = first.person_id("Maren"), first.names()
    async with opened(NOW + timedelta(days=9)) as second:
        assert (second.person_id("Maren"), second.names()) == ids
    assert stable_id("a") != stable_id("b")


@pytest.mark.asyncio
async def test_rooms_for_leaders_are_theirs_alone() -> None:
    async with opened() as world:
        assert world.rooms_of("Maren") == ["questions", DIRECT]
        assert world.rooms_of("Quirin") == ["questions", "helpers", DIRECT]
        assert world.topic("questions") == "Ask"


@pytest.mark.asyncio
@pytest.mark.parametrize("room", ["questions", DIRECT])
async def test_commands_buttons_and_forms_work_in_rooms_and_in_private(room: str) -> None:
    async with opened() as world:
        assert list(world.commands("Maren", room)) == ["hello"]
        await world.command("Maren", room, "hello", {"name": "ants"})
        answer, greeting = world.posts("Maren", room)
        assert (answer.text, answer.asked, answer.at) == ("Hello ants", "hello", NOW)
        reply = await world.press("Maren", room, greeting.id, "ask")
        assert reply.form is not None
        assert reply.shown is not None
        (control,) = [row["components"][0] for row in reply.form["components"]]
        await world.fill("Maren", room, reply.shown, {control["custom_id"]: "queen"})
        said = world.posts("Maren", room)[-1]
        assert (said.text, said.private) == ("You said queen.", True)
        assert world.new_errors() == ()


@pytest.mark.asyncio
async def test_private_answers_are_seen_by_their_asker_alone() -> None:
    async with opened() as world:
        await world.command("Maren", "questions", "hello", {"name": "secret"})
        assert "Hello secret" in [post.text for post in world.posts("Maren", "questions")]
        assert "Hello secret" not in [post.text for post in world.posts("Quirin", "questions")]


@pytest.mark.asyncio
async def test_what_the_platform_refuses_is_said_in_our_words() -> None:
    async with opened() as world:
        with pytest.raises(PracticeError, match="no longer there"):
            await world.press("Maren", "questions", 1, "ask")
        with pytest.raises(PracticeError, match="cannot be used here"):
            await world.command("Maren", "questions", "goodbye", {})
        with pytest.raises(PracticeError, match="no suggestions"):
            await world.suggest("Maren", "questions", "hello", "name", "a", {})


@pytest.mark.asyncio
async def test_open_messages_outlive_a_restart_and_private_ones_do_not() -> None:
    async with opened() as world:
        await world.say("Maren", "questions", "Good morning")
        await world.say("Maren", DIRECT, "Only you and me")
        await world.command("Maren", "questions", "hello", {"name": "secret"})
        kept = world.dump()
    again = World(Toy(), "Under the Flat Stone", PEOPLE, ROOMS)
    again.restore([*kept, {**kept[0], "channel_id": 5, "id": 5}])
    async with again.open(NOW + timedelta(hours=1)) as world:
        texts = [post.text for post in world.posts("Maren", "questions")]
        assert texts == ["Good morning", ""]
        assert [post.text for post in world.posts("Maren", DIRECT)] == ["Only you and me"]
        await world.say("Maren", "questions", "And again")
        assert [post.text for post in world.posts("Quirin", "questions")] == [*texts, "And again"]


@pytest.mark.asyncio
async def test_the_platforms_time_is_moved_with_the_bots_own_timers() -> None:
    async with opened() as world:
        woken: list[datetime] = []

        async def sleeper() -> None:
            await asyncio.sleep(3600)
            woken.append(discord.utils.utcnow())  # noqa: TID251 - the simulated clock is what is looked at

        with world.bot_works():
            task = asyncio.get_running_loop().create_task(sleeper())
        await world.move_to(NOW + timedelta(minutes=59))
        assert not woken
        await world.move_to(NOW + timedelta(hours=2))
        await task
        assert woken == [NOW + timedelta(hours=1)]
        assert world.now() == NOW + timedelta(hours=2)
