"""The main job: register, be reminded, answer, and the plan moves on; with restarts, strangers and second thoughts."""

from __future__ import annotations

from typing import Any

import discord
import pytest

from bot.adapters.chat.presenters.text import day_name
from bot.care.duty import Duty
from tests.chat.world import ChatWorld, button, buttons, line_of, parts, text

pytestmark = pytest.mark.asyncio


async def test_register_remind_press_and_the_next_date_moves_even_after_a_restart(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    told = text(message)
    assert "### Dusk" in told
    assert "**Water**" in told
    water = line_of(message, "Water")
    before = await world.next_day(Duty.WATER)

    await world.restart()
    pressed = await world.ada.user.click(message, custom_id=button(message, "done", water))
    assert pressed.acknowledged

    edited = text(world.inbox()[-1])
    assert "✓ **Water** done. Next:" in edited
    assert "How was the side that was drying?" in edited
    assert await world.next_day(Duty.WATER) > before
    assert len(world.reminders()) == 1, "the same message was edited"


async def test_the_request_carries_a_nonce_and_pings_nobody(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register("@everyone")
    await world.reminder()
    sent = [entry.json for entry in world.env.http_requests if entry.path.startswith("/channels/") and entry.json]
    assert sent[-1]["enforce_nonce"] is True
    assert 1 <= len(str(sent[-1]["nonce"])) <= 25
    assert sent[-1]["allowed_mentions"]["parse"] == []
    assert "@everyone" not in text(world.inbox()[-1])


async def test_bone_dry_is_asked_after_done_and_learned(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    water = line_of(message, "Water")
    await world.ada.user.click(message, custom_id=button(message, "done", water))
    message = world.inbox()[-1]
    assert {"Still damp", "About dry", "Bone dry"} <= set(buttons(message).values())
    dry = next(name for name, label in buttons(message).items() if label == "Bone dry")
    await world.ada.user.click(message, custom_id=dry)
    message = world.inbox()[-1]
    assert "✓ **Water** done, bone dry." in text(message)
    assert "Bone dry" not in buttons(message).values()
    record = (await world.services.colonies.of(await world.keeper_id()))[0].colony
    assert record.log[-1].outcome == "bone dry"


async def test_a_second_press_changes_nothing_and_says_so(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    done = button(message, "done")
    await world.ada.user.click(message, custom_id=done)
    record = (await world.services.colonies.of(await world.keeper_id()))[0].colony
    stale = message  # as it stands on another device, not yet refreshed
    stored = world.env.backend.get_message(stale.channel.id, stale.id)
    stored.components = [component.to_dict() for component in stale.components]  # type: ignore[misc]  # plain payloads
    again = await world.ada.user.click(stale, custom_id=done)
    assert "answered already (done)" in text(again.followups[-1])
    assert again.followups[-1].ephemeral
    assert (await world.services.colonies.of(await world.keeper_id()))[0].colony.log == record.log
    assert "✓" in text(world.inbox()[-1]), "and the message is refreshed"


async def test_undo_brings_the_line_back(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    line = line_of(message, "Water")
    await world.ada.user.click(message, custom_id=button(message, "skip", line))
    message = world.inbox()[-1]
    assert "✓ **Water** not needed." in text(message)
    await world.ada.user.click(message, custom_id=button(message, "undo", line))
    message = world.inbox()[-1]
    assert button(message, "done", line)
    assert not (await world.services.colonies.of(await world.keeper_id()))[0].colony.log


@pytest.mark.parametrize(("act", "day"), [("tomorrow", "Wed 2 June"), ("weekend", "Sat 5 June")])
async def test_later_asks_when_and_moves_the_line(world: ChatWorld, act: str, day: str) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    line = line_of(message, "Water")
    await world.ada.user.click(message, custom_id=button(message, "later", line))
    message = world.inbox()[-1]
    assert {"Tomorrow", "Saturday", "Another day…", "Back"} <= set(buttons(message).values())
    await world.ada.user.click(message, custom_id=button(message, "back", line))
    message = world.inbox()[-1]
    await world.ada.user.click(message, custom_id=button(message, "later", line))
    await world.ada.user.click(world.inbox()[-1], custom_id=button(world.inbox()[-1], act, line))
    assert f"Water · put off to {day}" in text(world.inbox()[-1])
    again = await world.reminder()
    while line not in str(buttons(again)):
        again = await world.reminder()
    assert day_name(world.clock.moment.date()) == day, "the same occurrence comes again on that day"


async def test_later_takes_a_typed_day(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    line = line_of(message, "Water")
    await world.ada.user.click(message, custom_id=button(message, "later", line))
    form = await world.ada.user.click(world.inbox()[-1], custom_id=button(world.inbox()[-1], "day", line))
    assert form.modal is not None
    field = form.modal["components"][0]["component"]["custom_id"]
    refused = await world.ada.user.submit_modal(form, {field: "1827-01-01"})
    assert "wrong century" in text(refused.followups[-1])
    form = await world.ada.user.click(world.inbox()[-1], custom_id=button(world.inbox()[-1], "day", line))
    assert form.modal is not None
    field = form.modal["components"][0]["component"]["custom_id"]
    await world.ada.user.submit_modal(form, {field: "in 4 days"})
    assert "put off to Sat 5 June" in text(world.inbox()[-1])


async def test_a_strangers_press_is_refused_kindly_and_changes_nothing(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    mine = await world.reminder()
    await world.settle_in(world.bela)
    await world.slash("colony add", world.bela, species="Lasius niger", workers=50, name="Other")
    theirs = await world.reminder(world.bela)
    stored = world.env.backend.get_message(theirs.channel.id, theirs.id)
    forged = button(mine, "done")
    row = next(part for part in stored.components[-1]["components"] if part["type"] == 1)
    row["components"][0]["custom_id"] = forged
    pressed = await world.bela.user.click(theirs, custom_id=forged)
    assert "not find that among what is yours" in text(pressed.followups[-1])
    assert pressed.followups[-1].ephemeral
    assert not (await world.services.colonies.of(await world.keeper_id()))[0].colony.log


async def test_all_done_answers_every_line(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    count = sum(name.startswith("wb:a:done:") for name in buttons(message))
    assert count > 1
    await world.ada.user.click(message, label="All done")
    message = world.inbox()[-1]
    assert text(message).count("✓") == count
    assert "All done" not in buttons(message).values()


async def test_twenty_colonies_come_in_one_message_with_a_picker(world: ChatWorld) -> None:
    await world.settle_in()
    for number in range(20):
        await world.register(f"Colony {number:02}")
    message = await world.reminder()
    assert len(world.reminders()) == 1
    picker = _picker(message)
    assert len(picker["options"]) == 25
    chosen = picker["options"][5]["value"]
    await world.ada.user.select(message, [chosen], custom_id=picker["custom_id"])
    message = world.inbox()[-1]
    assert button(message, "done", chosen)
    picker = _picker(message)
    await world.ada.user.select(message, ["page2"], custom_id=picker["custom_id"])
    turned = _picker(world.inbox()[-1])
    assert turned["custom_id"] != picker["custom_id"]


def _picker(message: discord.Message) -> dict[str, Any]:
    return next(part for part in parts(message) if part.get("type") == 3)


async def test_buttons_live_on_after_other_messages_were_edited(world: ChatWorld) -> None:
    """The library forgets dynamic items when a mixed view ends; ours never mix (seen in 2.7.1)."""
    await world.settle_in()
    await world.register()
    first = await world.reminder()
    await world.ada.user.click(first, custom_id=button(first, "done"))
    second = await world.reminder()
    await world.ada.user.click(second, custom_id=button(second, "done"))
    await world.env.advance_time(3600)
    first = next(message for message in world.inbox() if message.id == first.id)
    undone = await world.ada.user.click(first, custom_id=button(first, "undo"))
    assert undone.acknowledged
    assert not undone.followups


async def test_closed_direct_messages_are_told_at_the_next_contact(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50007, times=3)
    for _ in range(3):
        world.clock.move(days=2)
        assert (await world.beat()).refused == 1
    assert not world.reminders()
    said = text(await world.slash("colony list"))
    assert "were closed to me" in said
    assert "were closed to me" not in text(await world.slash("colony list"))
    assert buttons(await world.reminder())


async def test_a_press_also_counts_as_coming_back(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    message = await world.reminder()
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50278)
    world.clock.move(days=4)
    assert (await world.beat()).refused == 1
    pressed = await world.ada.user.click(message, label="All done")
    assert "were closed to me" in text(pressed.followups[-1])


async def test_reminders_on_opens_the_door_with_a_first_word(world: ChatWorld) -> None:
    await world.settle_in()
    said = text(await world.slash("my reminders", on=True, at="19:15"))
    assert "19:15" in said
    assert "Here I will write to you" in text(world.inbox()[-1])
    keeper = await world.services.keepers.get(await world.keeper_id())
    assert keeper.channel_id == world.ada.user.dm_channel.id


async def test_a_closed_door_is_told_when_asking_for_reminders(world: ChatWorld) -> None:
    await world.settle_in()
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50007)
    assert "Allow messages from members" in text(await world.slash("my reminders", on=True))
    assert world.env.errors


async def test_reminders_off_means_off(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    assert "off" in text(await world.slash("my reminders", on=False))
    world.clock.move(days=5)
    await world.beat()
    assert not world.reminders()


async def test_impossible_reminders_are_refused(world: ChatWorld) -> None:
    await world.settle_in()
    for options, said in (
        ({"at": "25:00"}, "18:30"),
        ({"away_until": "2027-05-01"}, "from tomorrow"),
        ({"away_until": "1927-05-01"}, "wrong century"),
    ):
        assert said in text(await world.slash("my reminders", **options)).replace("\\", "")
    assert world.env.errors


async def test_weeks_without_the_bot_become_one_honest_message(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    world.clock.move(days=12)
    await world.beat()
    assert len(world.reminders()) == 1
    assert "I was away for a while" in text(world.inbox()[-1])


async def test_an_answer_in_the_direct_messages_by_command(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    await world.reminder()
    said = await world.ada.user.slash("care watered", colony="Dusk", found="about dry")
    assert "Written down for **Dusk**: water, about dry" in text(said)
