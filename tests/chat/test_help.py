"""`/help` and the first contact: the next step for each keeper, and every command with an example that can be typed."""

from __future__ import annotations

import re
from typing import Any

import pytest
from discord import app_commands

from bot.adapters.chat.commands import FAMILIES, SINGLE, build_commands
from bot.adapters.chat.commands.help_page import EXAMPLE
from tests.chat.world import ChatWorld, buttons, text

pytestmark = pytest.mark.asyncio
OPTION = re.compile(r"(?:^| )([a-z_]+):")
NAMES = [f"/{family.name} {entry.name}" for family in FAMILIES for entry in family.entries]
NAMES += [f"/{entry.name}" for entry in SINGLE]


def leaves() -> dict[str, app_commands.Command[Any, ..., Any]]:
    found: dict[str, app_commands.Command[Any, ..., Any]] = {}
    for command in build_commands():
        inner = command.commands if isinstance(command, app_commands.Group) else [command]
        found |= {one.qualified_name: one for one in inner if isinstance(one, app_commands.Command)}
    return found


async def test_every_command_is_named_with_what_it_does(world: ChatWorld) -> None:
    told = text(await world.slash("help"))
    for name, command in leaves().items():
        assert re.search(rf"`/{name}[ `]", told), name
        assert command.description in told
    assert len(NAMES) == len(leaves())


async def test_examples_use_options_that_exist_and_give_all_that_is_needed() -> None:
    for name, command in leaves().items():
        example = command.extras[EXAMPLE]
        given = set(OPTION.findall(example))
        assert given <= {option.name for option in command.parameters}, name
        if example:
            assert {option.name for option in command.parameters if option.required} <= given, name


async def test_a_command_that_takes_options_shows_an_example() -> None:
    for name, command in leaves().items():
        if command.parameters:
            assert command.extras[EXAMPLE], name


async def test_one_family_alone(world: ChatWorld) -> None:
    told = text(await world.slash("help", about="rest"))
    assert "/rest plan" in told
    assert "/colony close" not in told


async def test_three_steps_lead_to_the_first_reminder(world: ChatWorld) -> None:
    """From joining to a reminder with six answers: zone, species, workers, name, and `on`."""
    assert "First step of three" in text(await world.slash("help"))
    assert "/colony add" in text(await world.slash("my place", zone="Europe/Vienna"))
    assert "Second step of three" in text(await world.slash("help"))
    await world.slash("colony add", species="Lasius niger", workers=12, name="Dusk")
    assert "All is set" in text(await world.slash("help")), "registering opened the door"
    (first,) = world.inbox(world.ada)
    assert "**Today Dusk needs** sugar and" in text(first), "the first message is a useful one, at once"
    board = await world.ada.user.click(first, label="What waits now, with buttons")
    assert "Done" in buttons(board).values()
    assert board.ephemeral
    message = await world.reminder()
    assert "Dusk" in text(message)


async def test_a_danger_of_todays_care_stands_first_in_the_first_message(world: ChatWorld) -> None:
    await world.slash("my place", zone="Europe/Vienna")
    await world.slash("colony add", species="Messor barbarus", workers=80, name="Dusk")
    said = text(world.inbox(world.ada)[0])
    assert "seeds" in said
    assert -1 < said.index("never feed it") < said.index("**Today Dusk needs**")


async def test_without_reminders_the_third_step_is_shown(world: ChatWorld) -> None:
    await world.settle_in()
    await world.slash("my reminders", on=False)
    await world.register()
    assert "Third step of three" in text(await world.slash("help"))
    await world.slash("my reminders", on=True)
    assert "All is set" in text(await world.slash("help"))
