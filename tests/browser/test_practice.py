"""Practice mode without a browser: the demo community, reminders in time, restart, strangers, bad input."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from bot.practice.errors import PracticeError
from bot.practice.keeping import CONVERSATION, Folder
from bot.practice.opening import LEAD_IN, Start, open_practice
from bot.practice.session import ACTION, Practice, Seat
from bot.practice.shapes import DIRECT
from bot.services.records import KeeperId
from bot.settings import Settings
from tests.browser.conftest import NOW

MAREN, TOBI = Seat("Maren", DIRECT), Seat("Tobi", DIRECT)


def parts(found: Any) -> Iterator[dict[str, Any]]:
    """All drawn parts of messages, nested ones included."""
    if isinstance(found, list):
        for entry in found:
            yield from parts(entry)
    elif isinstance(found, dict):
        yield found
        for value in found.values():
            yield from parts(value)


def said(found: Any) -> str:
    """All text in drawn messages."""
    return "".join(part["text"] for part in parts(found) if isinstance(part.get("text"), str))


async def messages(practice: Practice, seat: Seat) -> list[dict[str, Any]]:
    return list((await practice.look(seat))["messages"])


def button(message: dict[str, Any], label: str) -> str:
    return str(next(part["id"] for part in parts(message) if part.get("label") == label))


@pytest.mark.asyncio
async def test_the_first_look_has_something_to_show(practice: Practice) -> None:
    view = await practice.look(practice.first_seat())
    assert (view["day"], view["time"], view["zone"]) == ("Tuesday 18 May 2027", "10:00", "Europe/Copenhagen")
    assert [person["name"] for person in view["people"] if person["leads"]] == ["Quirin"]
    assert len(view["people"]) == 3
    assert view["messages"]
    assert "Winterbrood keeps the dates" in said(await messages(practice, practice.seat("Tobi", "questions")))
    names = {command["name"].split()[0] for command in practice.commands(MAREN)}
    assert {"colony", "care", "rest", "my"} <= names


@pytest.mark.asyncio
async def test_a_week_of_reminders_arrives_in_order_and_at_the_keepers_own_hours(practice: Practice) -> None:
    before = {post.id for who in practice.people for post in practice.world.posts(who, DIRECT)}
    outcome = await practice.move(7 * 86400)
    assert practice.clock.now() == practice.world.now() == NOW + timedelta(days=7)
    assert outcome.note is not None
    assert outcome.note.startswith("Direct messages arrived: Maren ")
    for seat in (MAREN, TOBI):
        keeper = await practice.core.keepers.get(KeeperId(practice.world.person_id(seat.who)))
        settings = keeper.settings
        arrived = [post.at for post in practice.world.posts(seat.who, DIRECT) if post.id not in before]
        assert len(arrived) >= 2
        assert arrived == sorted(arrived)
        assert arrived[0] > NOW
        assert arrived[-1] <= NOW + timedelta(days=7)
        for at in arrived:
            assert settings.quiet.next_allowed(at, settings.zone) == at
        digests = [at for at in arrived if at.astimezone(settings.zone).time() == settings.digest_at]
        assert digests, "the daily message comes at the keeper's own hour, in their own zone"


@pytest.mark.asyncio
async def test_each_reminder_carries_the_moment_that_the_store_wrote_down(practice: Practice) -> None:
    outcome = await practice.move_to_reminder(MAREN)
    assert outcome.note is not None
    assert "Maren 1" in outcome.note
    async with practice.core.units() as work:
        sent = await work.deliveries.last_sent(KeeperId(practice.world.person_id("Maren")))
    newest = practice.world.posts("Maren", DIRECT)[-1]
    assert sent is not None
    assert (sent.message_id, sent.sent_at) == (newest.id, practice.clock.now())
    assert newest.at == sent.sent_at


@pytest.mark.asyncio
async def test_register_remind_press_and_the_plan_moves_on(practice: Practice) -> None:
    typed = {"species": "Lasius niger", "workers": "25", "name": "Nib"}
    await practice.command(MAREN, "colony add", typed)
    assert "Nib" in said((await messages(practice, MAREN))[-1])
    await practice.move_to_reminder(MAREN)
    reminder = (await messages(practice, MAREN))[-1]
    assert not reminder["private"]
    await practice.press(MAREN, int(reminder["id"]), button(reminder, "Done"))
    after = next(found for found in await messages(practice, MAREN) if found["id"] == reminder["id"])
    assert "done" in said(after)
    assert "Next: " in said(after)


@pytest.mark.asyncio
async def test_suggestions_come_from_the_bot_itself(practice: Practice) -> None:
    offered = await practice.suggest(MAREN, "colony add", "species", "lasius ni", {"name": "Nib", "workers": "x"})
    assert {"name": "Lasius niger", "value": "Lasius niger"} in offered


@pytest.mark.asyncio
async def test_a_stranger_has_no_way_to_answer(practice: Practice) -> None:
    reminder = next(found for found in await messages(practice, MAREN) if "Done" in str(found))
    with pytest.raises(PracticeError, match="no longer there"):
        await practice.press(TOBI, int(reminder["id"]), button(reminder, "Done"))


@pytest.mark.asyncio
async def test_many_quick_actions_are_no_flood_because_each_takes_time(practice: Practice) -> None:
    for _ in range(15):
        await practice.command(Seat("Tobi", "questions"), "colony list", {})
    assert "at once" not in said(await messages(practice, Seat("Tobi", "questions")))
    assert practice.clock.now() == NOW + 15 * ACTION


@pytest.mark.asyncio
async def test_a_form_stays_open_until_it_is_right_and_is_used_once(practice: Practice) -> None:
    await practice.command(MAREN, "colony show", {"colony": "Biscuit"})
    shown = next(
        message
        for message in reversed(await messages(practice, MAREN))
        if any(part.get("label") == "Describe the nest" for part in parts(message))
    )
    outcome = await practice.press(MAREN, int(shown["id"]), button(shown, "Describe the nest"))
    assert outcome.form is not None
    fields = {field["label"]: field for field in outcome.form["fields"]}
    assert fields["Water"]["value"] == "30"
    number = outcome.form["number"]
    with pytest.raises(PracticeError, match="Water: this is no answer"):
        await practice.fill(MAREN, number, {fields["Water"]["id"]: ["30"]})
    with pytest.raises(PracticeError, match="belongs to somebody else"):
        await practice.fill(TOBI, number, {})
    await practice.fill(MAREN, number, {fields["Water"]["id"]: "35"})
    with pytest.raises(PracticeError, match="handed in already"):
        await practice.fill(MAREN, number, {})


@pytest.mark.asyncio
async def test_time_moves_forward_only_and_not_too_far(practice: Practice) -> None:
    for seconds in (0, -3600, 32 * 86400, float("nan"), float("inf")):
        with pytest.raises(PracticeError, match="forward only, by at most 31 days"):
            await practice.move(seconds)
    assert practice.clock.now() == NOW


@pytest.mark.asyncio
async def test_bad_input_gets_a_sentence(practice: Practice) -> None:
    with pytest.raises(PracticeError, match="there are Maren, Tobi, Quirin"):
        practice.seat("Nobody", DIRECT)
    with pytest.raises(PracticeError, match="Maren has no room called “helpers”"):
        practice.seat("Maren", "helpers")
    with pytest.raises(PracticeError, match="/colony add"):
        await practice.command(MAREN, "colony ad", {})
    with pytest.raises(PracticeError, match="at most 2000 characters"):
        await practice.say(MAREN, "x" * 2001)
    with pytest.raises(PracticeError, match="Choose something first"):
        await practice.choose(MAREN, 1, "wb:pick", [])


@pytest.mark.asyncio
async def test_the_next_start_continues_and_old_buttons_still_work(folder: Path) -> None:
    async with open_practice(Start(Settings(), folder, NOW)) as first:
        await first.move_to_reminder(MAREN)
        moment, before = first.clock.now(), await messages(first, MAREN)
        commands = [command["name"] for command in first.commands(MAREN)]
    async with open_practice(Start(Settings(), folder, NOW + timedelta(days=99))) as second:
        assert second.clock.now() == second.world.now() == moment
        assert await messages(second, MAREN) == before
        assert len(await second.core.colonies.of(KeeperId(second.world.person_id("Maren")))) == 3
        await second.press(MAREN, int(before[-1]["id"]), button(before[-1], "Done"))
        assert "done" in said((await messages(second, MAREN))[-1])
        assert [command["name"] for command in second.commands(MAREN)] == commands
        assert second.world.new_errors() == ()


def test_a_first_start_lives_through_the_days_before(community: Path) -> None:
    kept = Folder(community).load()
    assert kept is not None
    assert kept.moment == NOW
    days = {message["timestamp"][:10] for message in kept.messages}
    assert min(days) == (NOW - LEAD_IN).date().isoformat()


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"moment": "soon", "messages": []}', '{"moment": "2027-05-18T08:00:00Z"}']
)
def test_a_broken_conversation_is_named_and_left_alone(tmp_path: Path, text: str) -> None:
    file = tmp_path / CONVERSATION
    file.write_text(text, "utf-8")
    with pytest.raises(PracticeError, match=f"{CONVERSATION}.*cannot be read"):
        Folder(tmp_path).load()
    assert file.read_text("utf-8") == text


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("not a folder", "utf-8")
    with pytest.raises(PracticeError, match="cannot be written"):
        Folder(tmp_path / "file" / "inside").prepare()


def test_the_newest_messages_are_kept_and_the_old_file_until_the_new_one_is_whole(tmp_path: Path) -> None:
    folder = Folder(tmp_path)
    folder.save(NOW, [{"id": number} for number in range(2500)])
    kept = json.loads((tmp_path / CONVERSATION).read_text("utf-8"))
    assert [message["id"] for message in kept["messages"]] == list(range(500, 2500))
    assert [file.name for file in tmp_path.iterdir()] == [CONVERSATION]
