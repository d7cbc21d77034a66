"""The walk through a season of the README, step by step, in practice mode without a browser."""

from __future__ import annotations

from typing import Any

import pytest

from bot.practice.session import Practice, Seat
from tests.browser.test_practice import button, messages, parts, said

pytestmark = pytest.mark.asyncio

HELPERS, LEADING, MEMBER = Seat("Quirin", "helpers"), Seat("Quirin", "season"), Seat("Maren", "season")


async def newest(practice: Practice, seat: Seat) -> dict[str, Any]:
    return (await messages(practice, seat))[-1]


async def asked(practice: Practice, seat: Seat, name: str, **options: str) -> str:
    before = len(await messages(practice, seat))
    await practice.command(seat, name, options)
    return said((await messages(practice, seat))[before:])


async def pressed(practice: Practice, seat: Seat, message: dict[str, Any], label: str) -> str:
    await practice.press(seat, int(message["id"]), button(message, label))
    return said(await newest(practice, seat))


def pictures(message: dict[str, Any]) -> list[dict[str, Any]]:
    return [picture for part in parts(message) if part.get("kind") == "pictures" for picture in part["pictures"]]


async def test_the_walk_of_the_readme(practice: Practice) -> None:
    assert "Led by" in await asked(practice, HELPERS, "season setup")
    assert "by members’ plans" in await asked(practice, HELPERS, "season schedule")
    assert pictures(await newest(practice, HELPERS))
    await asked(practice, HELPERS, "season draft", stage="warm-up")
    draft = await newest(practice, HELPERS)
    assert pictures(draft)
    form = (await practice.press(HELPERS, int(draft["id"]), button(draft, "Edit text…"))).form
    assert form is not None
    field = next(field["id"] for field in form["fields"] if field["kind"] == "long")
    await practice.fill(HELPERS, form["number"], {field: "Our own words."})
    draft = await newest(practice, HELPERS)
    assert "Our own words." in said(draft)
    await pressed(practice, HELPERS, draft, "Approve")
    await pressed(practice, HELPERS, await newest(practice, HELPERS), "Post now")
    await practice.move(3600)
    notice = await newest(practice, MEMBER)
    assert "Our own words." in said(notice)
    assert "Water is never paused" in said(notice)
    assert practice.picture(pictures(notice)[0]["address"]) is not None
    assert len([each for each in await messages(practice, MEMBER) if "Our own words." in said(each)]) == 1
    assert "Colony 1 of 3" in await pressed(practice, MEMBER, notice, "Plan my colonies")
    assert "I remind you" in await pressed(practice, MEMBER, notice, "Remind me")
    assert "My queen is awake" in await pressed(practice, MEMBER, notice, "My queen is awake")
    assert "Count me yes" in await asked(practice, MEMBER, "season share", count_me="yes")
    listed = await asked(practice, HELPERS, "season draft")
    assert "Posted" in listed
    language = await asked(practice, HELPERS, "season setup", language="de", two_approve="yes")
    assert "Deutsch" in language
    assert "two moderators" in language
    german = await asked(practice, HELPERS, "season draft", stage="cool-down")
    assert "Nordhalbkugel: das Abkühlen beginnt" in german
    assert "Waits for 2 approvals" in german
    await practice.move(7 * 86400)
    assert len([each for each in await messages(practice, MEMBER) if pictures(each)]) == 1, "nothing was approved"
    assert "posted “Warm-up · north" in await asked(practice, LEADING, "season log")
    assert "agreed to be helped" in await asked(practice, LEADING, "season check")
