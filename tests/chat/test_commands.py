"""Definitions of the commands. Limits: the platform's documentation of application commands."""

from __future__ import annotations

from typing import Any

import discord
import pytest
from discord import app_commands

from bot.adapters.chat.commands import FAMILIES, SINGLE, build_commands
from tests.chat.requests import check_rules, check_shape, present, summed
from tests.chat.world import ChatWorld


@pytest.fixture
def definitions() -> list[dict[str, Any]]:
    client = discord.Client(intents=discord.Intents.none())
    tree = app_commands.CommandTree(client)
    for command in build_commands():
        tree.add_command(command)
    return [command.to_dict(tree) for command in tree.get_commands()]


def test_definitions_keep_the_platforms_rules(definitions: list[dict[str, Any]]) -> None:
    check_rules(definitions)
    check_shape("PUT", "/applications/1/commands", definitions)
    assert max(map(summed, definitions)) < 7_000, "room for later commands of the same family"


def test_definitions_are_judged_by_the_published_description() -> None:
    if not present():
        pytest.skip("The platform's published description is not at hand; set DISCORD_OPENAPI to its path.")
    with pytest.raises(AssertionError):
        check_shape("PUT", "/applications/1/commands", [{"name": "my", "description": "x", "colour": 3}])


def test_families_speak_the_words_of_the_design(definitions: list[dict[str, Any]]) -> None:
    assert {"my", "colony", "care", "rest"} <= {found["name"] for found in definitions}
    names = {f"{family.name} {entry.name}" for family in FAMILIES for entry in family.entries}
    assert {
        "my place",
        "my reminders",
        "colony add",
        "colony list",
        "colony show",
        "colony edit",
        "colony close",
        "care due",
        "care week",
        "care why",
        "care fed",
        "care watered",
        "care upkeep",
        "rest show",
        "rest plan",
    } <= names | {entry.name for entry in SINGLE}


def test_only_species_workers_and_name_are_asked_for_a_colony(definitions: list[dict[str, Any]]) -> None:
    colony = next(found for found in definitions if found["name"] == "colony")
    add = next(option for option in colony["options"] if option["name"] == "add")
    assert [option["name"] for option in add["options"] if option["required"]] == ["species", "workers", "name"]


def test_two_clients_share_no_command_objects() -> None:
    first, second = build_commands(), build_commands()
    assert not {id(command) for command in first} & {id(command) for command in second}


@pytest.mark.asyncio
async def test_commands_are_handed_over_once_and_again_only_when_they_changed(world: ChatWorld) -> None:
    def handed() -> int:
        return sum(entry.method == "PUT" and entry.path.endswith("/commands") for entry in world.env.http_requests)

    assert handed() == 1
    await world.restart()
    assert handed() == 1
    async with world.services.units() as work:
        await work.marks.set("commands", "an older definition")
        await work.commit()
    await world.restart()
    assert handed() == 2


@pytest.mark.asyncio
async def test_least_rights(world: ChatWorld) -> None:
    intents = world.client.intents
    assert intents.value == discord.Intents(guilds=True).value
    assert world.client.allowed_mentions is not None
    assert not any(getattr(world.client.allowed_mentions, kind) for kind in ("everyone", "users", "roles"))
