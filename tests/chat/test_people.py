"""Between members on the simulated platform: an absence with a sitter, a colony that changes hands, the return."""

from __future__ import annotations

import dataclasses

import pytest

from bot.adapters.chat.commands.people import _messages
from bot.adapters.chat.people_items import Row
from bot.adapters.chat.presenters.people import note_text
from bot.care.duty import Duty
from bot.services.records import DeliveryId, KeeperId
from bot.services.silence import ASK_AFTER
from bot.services.sitting_records import Note, NoteId, NoteKind
from tests.chat.world import START, ChatWorld, button, buttons, last, line_of, text

pytestmark = pytest.mark.asyncio


async def both(world: ChatWorld) -> None:
    """Ada has a colony; Bela has a place and let the bot write to her."""
    await world.settle_in()
    await world.register()
    await world.settle_in(world.bela)
    await world.env.advance_time(5)  # doors are opened one after the other
    assert "on, by direct message" in text(await world.slash("my reminders", world.bela, on=True))


async def ask(world: ChatWorld, **options: object) -> str:
    return text(await world.slash("my away", until="in 10 days", sitter=world.bela, **options))


async def agree(world: ChatWorld) -> None:
    await ask(world)
    await world.bela.user.click(world.inbox(world.bela)[-1], label="I will sit")


async def test_a_sitter_accepts_is_reminded_answers_and_the_keeper_gets_a_report(world: ChatWorld) -> None:
    await both(world)
    assert "I asked" in await ask(world)
    question = world.inbox(world.bela)[-1]
    assert "Would you sit?" in text(question)
    assert "Dusk (Lasius niger)" in text(question)
    await world.bela.user.click(question, label="I will sit")
    card = "\n".join(text(message) for message in world.inbox(world.bela)[-3:])
    assert "You sit" in card
    assert "Water: Give about" in card
    answer = text(await world.reminder())
    assert "looks after Dusk from Tue 1 June until Fri 11 June" in answer

    found = [message for message in world.inbox(world.bela) if "### Dusk" in text(message)]
    reminder = found[-1] if found else await world.reminder(world.bela)
    assert "### Dusk \\(you sit\\)" in text(reminder)
    for private in ("Vienna", "24 °C", "50 %"):
        assert private not in text(reminder) + card
    await world.restart()
    water = line_of(reminder, "Water")
    await world.bela.user.click(reminder, custom_id=button(reminder, "done", water))
    reminder = world.inbox(world.bela)[-1]
    assert "✓ **Water** done." in text(reminder)
    await world.bela.user.click(reminder, label="Still damp")

    answered = world.inbox(world.bela)[-1]

    report = await world.reminder(world.ada)
    assert "looked after your colonies" in text(report)
    assert "water once, last" in text(report)
    assert "(still damp once)" in text(report)
    pressed = await world.bela.user.click(answered, custom_id=button(answered, "undo", water))
    assert "are over since" in text(pressed.followups[-1])
    assert pressed.followups[-1].ephemeral


async def test_a_member_who_never_met_the_bot_is_not_written_to(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    assert "ask them to open `/my requests`" in await ask(world)
    assert not world.inbox(world.bela)
    shown = await world.slash("my requests", world.bela)
    assert "asks you to sit: Dusk" in text(shown)
    pressed = await world.bela.click(last(shown), label="I will sit")
    assert "`/my place`" in text(pressed.followups[-1])
    await world.settle_in(world.bela)
    await world.bela.click(last(await world.slash("my requests", world.bela)), label="I will sit")
    assert "sits for you: Dusk" in text(await world.slash("my requests"))
    assert Duty.WATER.value in text(await world.reminder(world.bela)).casefold()


async def test_a_question_in_the_readers_night_comes_without_a_sound(world: ChatWorld) -> None:
    await both(world)
    world.clock.moment = START.replace(hour=21)  # 23:00 in Vienna
    assert "I asked" in await ask(world)
    sent = [entry.json for entry in world.env.http_requests if entry.json and "nonce" in entry.json]
    assert "Would you sit?" in str(sent[-1])
    assert sent[-1]["flags"] & 1 << 12, "the platform's flag of a message without a notification"


async def test_many_requests_with_long_names_become_several_messages() -> None:
    wordy = [("x" * 1_500, Row()) for _ in range(5)]
    short = [("x", Row()) for _ in range(10)]
    assert [len(boxes) for boxes in _messages(wordy)] == [2, 2, 1], "4,000 characters: the platform's documentation"
    assert [len(boxes) for boxes in _messages(short)] == [8, 2], "40 components: the platform's documentation"


async def test_closed_doors_leave_the_question_in_the_requests(world: ChatWorld) -> None:
    await both(world)
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50007)
    assert "cannot write to them" in await ask(world)
    shown = await world.slash("my requests", world.bela)
    pressed = await world.bela.click(last(shown), label="I cannot")
    assert pressed.acknowledged
    assert "cannot look after Dusk" in text(await world.reminder())
    assert "Nobody asks" in text(await world.slash("my requests", world.bela))


async def test_either_side_stops_it(world: ChatWorld) -> None:
    await both(world)
    await agree(world)
    await world.bela.click(last(await world.slash("my requests", world.bela)), label="Stop")
    await ask(world)
    question = world.inbox(world.bela)[-1]
    await world.ada.click(last(await world.slash("my requests")), label="Take back")
    late = await world.bela.user.click(question, label="I will sit")
    assert "Nothing waits for this answer" in text(late.followups[-1])
    assert "ended the sitting of Dusk" in text(await world.reminder())


async def test_a_sitter_writes_down_care_by_the_name_of_the_colony(world: ChatWorld) -> None:
    await both(world)
    await agree(world)
    offered = await world.bela.autocomplete(world.hall, "care watered", "colony", "du")
    assert [choice["name"] for choice in offered] == ["Dusk (you sit)"]
    said = text(await world.slash("care watered", world.bela, colony="dusk", found="about dry"))
    assert "about dry" in said
    for private in ("Vienna", "24 °C"):
        assert private not in said
    early = text(await world.slash("care watered", world.bela, colony="Dusk", day="yesterday"))
    assert "As a sitter you write down days from" in early
    assert "do not find that" in text(await world.slash("colony history", world.bela, colony="1"))
    assert f"about dry, side B · by <@{world.bela.id}>" in text(await world.slash("colony history", colony="Dusk"))
    await world.slash("my back")
    over = text(await world.slash("care watered", world.bela, colony="1"))
    assert "are over" in over
    assert world.env.errors


async def test_back_ends_an_absence_and_its_sitting(world: ChatWorld) -> None:
    await both(world)
    await agree(world)
    assert "until Fri 11 June" in text(await world.slash("my away"))
    assert "report comes with the next message" in text(await world.slash("my back"))
    assert "as usual already" in text(await world.slash("my back"))
    assert "tells me when you are back" in text(await world.slash("my away"))
    assert "Nobody asks" in text(await world.slash("my requests"))


async def test_an_absence_that_makes_no_sense_is_refused(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    for options, said in (
        ({"sitter": world.bela}, "Say \\`until\\` too"),
        ({"until": "yesterday"}, "absence begins today or later"),
        ({"until": "in 3 days", "sitter": world.ada}, "another member"),
        ({"until": "in 3 days", "sitter": world.bela, "colony": "Nope"}, "no colony called"),
    ):
        assert said.replace("\\", "") in text(await world.slash("my away", **options)).replace("\\", "")
    assert world.env.errors


async def test_a_forged_answer_is_refused(world: ChatWorld) -> None:
    """Ada presses a button that is Bela's: the identifier proves nothing."""
    await both(world)
    await ask(world)
    (forged,) = [name for name in buttons(world.inbox(world.bela)[-1]) if ":yes:" in name]
    mine = await world.reminder()
    stored = world.env.backend.get_message(mine.channel.id, mine.id)
    row = next(part for part in stored.components[-1]["components"] if part["type"] == 1)
    row["components"][0]["custom_id"] = forged
    pressed = await world.ada.user.click(mine, custom_id=forged)
    assert "Nothing waits for this answer" in text(pressed.followups[-1])
    assert "was asked to sit" in text(await world.slash("my requests"))


async def test_a_colony_is_handed_over_when_both_confirm(world: ChatWorld) -> None:
    await both(world)
    await world.slash("care watered", colony="Dusk", found="about dry")
    asked = await world.slash("colony give", colony="Dusk", member=world.bela)
    assert "for good" in text(asked)
    assert "Dusk" in text(await world.slash("colony list"))
    await world.ada.click(last(asked), label="Offer it")
    offer = world.inbox(world.bela)[-1]
    assert "Would you take a colony?" in text(offer)
    await world.bela.user.click(offer, label="I take it")
    assert "Dusk" in text(await world.slash("colony list", world.bela))
    assert "Dusk" not in text(await world.slash("colony list"))
    (record,) = await world.services.colonies.of(KeeperId(world.bela.id))
    assert record.colony.log[-1].outcome == "about dry"
    assert "took Dusk over" in text(await world.reminder())


async def test_an_offer_is_taken_back_or_declined(world: ChatWorld) -> None:
    await both(world)
    for who, label in ((world.ada, "Take back"), (world.bela, "No, thank you")):
        asked = await world.slash("colony give", colony="Dusk", member=world.bela)
        await world.ada.click(last(asked), label="Offer it")
        await who.click(last(await world.slash("my requests", who)), label=label)
        assert "Nobody asks" in text(await world.slash("my requests", who))
    late = await world.bela.user.click(
        next(message for message in world.inbox(world.bela) if "take a colony" in text(message)), label="I take it"
    )
    assert "Nothing waits" in text(late.followups[-1])
    assert "Dusk" in text(await world.slash("colony list"))


async def test_after_a_long_silence_one_button_brings_everything_back(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    async with world.services.units() as work:
        keeper = await work.keepers.get(await world.keeper_id())
        assert keeper is not None
        await work.keepers.save(dataclasses.replace(keeper, unanswered=ASK_AFTER))
        await work.commit()
    message = await world.reminder()
    assert "I have not heard from you" in text(message)
    pressed = await world.ada.user.click(message, label="I am back")
    assert "Everything is reminded of again" in text(pressed.followups[-1])
    assert (await world.services.keepers.get(await world.keeper_id())).unanswered == 0
    again = await world.ada.user.click(message, label="I am back")
    assert "as usual already" in text(again.followups[-1])
    assert "I am back" not in buttons(await world.reminder()).values()


async def test_a_report_alone_is_a_message_and_is_found_again(world: ChatWorld) -> None:
    await both(world)
    await world.slash("colony close", colony="Dusk", reason="")
    about = {"sitter": world.bela.id, "since": "2027-06-01", "ended": "2027-06-03", "colonies": []}
    async with world.services.units() as work:
        keeper = await work.keepers.get(await world.keeper_id())
        assert keeper is not None
        note = Note(id=NoteId(0), keeper_id=keeper.id, kind=NoteKind.REPORT, due_at=START, about=about)
        await work.notes.add(note)
        await work.keepers.save(dataclasses.replace(keeper, next_wake=START))
        await work.commit()
    assert (await world.beat()).sent == 1
    message = world.inbox()[-1]
    assert "looked after your colonies" in text(message)
    (identifier,) = buttons(message)
    assert identifier.startswith("wb:wait:d")
    pressed = await world.ada.user.click(message, custom_id=identifier)
    assert "Nothing waits" in text(pressed.followups[-1])
    assert (await world.beat()).sent == 0


async def test_a_report_names_what_was_done_found_and_left_open() -> None:
    colony = {
        "name": "Dusk*",
        "done": [{"duty": "water", "times": 2, "last": "2027-06-05T16:00:00+00:00", "found": {"bone dry": 1}}],
        "looked": {"sugar": 1},
        "open": [{"duty": "barrier_check", "day": "2027-06-04"}],
    }
    about = {"sitter": 7, "since": "2027-06-01", "ended": "2027-06-08", "colonies": [colony] * 14}
    note = Note(
        id=NoteId(1), keeper_id=KeeperId(1), kind=NoteKind.REPORT, due_at=START, about=about, delivery_id=DeliveryId(1)
    )
    said = note_text(note)
    assert "<@7> looked after your colonies from Tue 1 June until Tue 8 June." in said
    line = "**Dusk\\*** water twice, last Sat 5 June (bone dry once); sugar not needed once."
    assert f"{line} Still open: barrier check since Fri 4 June." in said
    assert "… and 2 more" in said
    assert len(said) < 2_500
