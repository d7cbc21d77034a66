"""Questions in the chat: danger first and whole, honest when it does not know, harmless whatever is typed.

Limits: the platform's documentation (identifiers of 100 characters, one message of 4,000). The wording of a severe
allergic reaction stands first by the rule of `caution_rules`; what an answer says is tested with the guide itself.
"""

from __future__ import annotations

from datetime import date

import discord
import pytest
import pytest_asyncio
from simcord.results import InteractionResult, ResponseMessage

from bot.adapters.chat import ask_marks
from bot.adapters.chat.once import REMEMBERED, Told
from bot.adapters.chat.presenters.answer import month_block, unshown
from bot.adapters.chat.presenters.text import shown as powerless
from bot.care.cautions import Severity
from bot.care.errors import BadValueError
from bot.care.handbook import Handbook
from bot.services.errors import NotYoursError
from bot.services.feedback import CardCounts, Month
from bot.services.records import ColonyId, KeeperId
from bot.services.season_records import GuildId
from tests.chat.season_world import Town, open_town
from tests.chat.world import ChatWorld, buttons, parts, text
from tests.shelf import guide

pytestmark = pytest.mark.asyncio

UNKNOWN = "my ants"
CHOICE = "test tube is dry"
NASTY = "**mould** <@1> @everyone [x](https://example.org) `my ants` ||#|| \\\n> # big"
EMERGENCIES = {
    "my throat is swelling after the sting": "anaphylaxis",
    "the cricket i found dead in the kitchen, can i feed it": "poison",
    "nest stood in the sun, 45 degrees inside": "°C",
    "neighbour used bug spray in the flat": "insect spray",
    "ant bit me, now I cannot breathe": "anaphylaxis",
}


@pytest_asyncio.fixture
async def town(world: ChatWorld) -> Town:
    return open_town(world)


def first_text(shown: InteractionResult) -> str:
    assert shown.response is not None
    return str(next(part["content"] for part in parts(shown.response) if "content" in part))


def labels(shown: InteractionResult | discord.Message | ResponseMessage) -> list[str]:
    return list(buttons(shown).values())


async def said(town: Town, content: str) -> discord.Message:
    """A message of Mila's in the notices' channel, where everybody reads."""
    return await town.mila.send(town.news, content)


async def test_emergencies_show_the_danger_first_whole_and_alone(world: ChatWorld) -> None:
    book = world.services.handbook.cautions.values()
    for question, word in EMERGENCIES.items():
        answered = await world.slash("ask", question=question)
        first = first_text(answered)
        assert first.startswith("⚠️ **Danger.** "), question
        assert word in first, question
        dangers = [found.text for found in book if found.severity is Severity.DANGER and found.text in text(answered)]
        assert dangers
        for danger in dangers:
            assert f"⚠️ **Danger.** {danger}" in first.split("\n\n"), "alone on its line, above the card"
        assert answered.response is not None
        assert answered.response.ephemeral
    answered = await world.slash("ask", question="ant in my mouth, tongue swelling, also mould and dead cricket")
    assert "anaphylaxis" in first_text(answered).split("\n\n")[0], "medical lines outrank every other"
    assert "Tell me" not in text(answered), "nothing is asked back"


async def test_an_asker_without_a_place_gets_a_whole_answer(world: ChatWorld) -> None:
    answered = await world.slash("ask", question="how often do I water the nest?")
    assert "Watering the nest" in text(answered)
    assert "**Tell me:**" in text(answered)
    assert "-# Source: " in text(answered)
    assert "(common practice)" in text(answered)
    assert labels(answered)[-2:] == ["Helped", "Did not help"]


async def test_colonies_make_it_personal_and_their_names_have_no_power(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register("**Dusk** @here")
    answered = text(await world.slash("ask", question="how often do I water the nest?"))
    assert f"For {powerless('**Dusk** @here')}, water is due " in answered
    assert "**Dusk**" not in answered
    assert "@here" not in answered
    await world.register("Fern")
    question = "how often do I water the nest?"
    assert "I don't know when your nest was last watered" in text(await world.slash("ask", question=question))
    assert "For Fern, water is due" in text(await world.slash("ask", question=question, colony="fern"))
    assert "no colony called “Moss”" in text(await world.slash("ask", question=question, colony="Moss"))
    await world.settle_in(world.bela)
    with pytest.raises(NotYoursError):
        await world.services.asking.answer(KeeperId(world.bela.id), "water", ColonyId(1), world.clock.now())
    assert world.env.errors


async def test_the_second_time_dangers_come_again_and_warnings_rest(world: ChatWorld) -> None:
    await world.settle_in()
    question = "the cricket i found dead in the kitchen, can i feed it"
    first, second = [text(await world.slash("ask", question=question)) for _ in range(2)]
    assert "⚠️ **Danger.**" in first
    assert "**Take care.**" in first
    assert first.count("⚠️ **Danger.**") == second.count("⚠️ **Danger.**")
    assert "**Take care.**" not in second
    world.clock.move(days=15)
    assert "**Take care.**" in text(await world.slash("ask", question=question))


async def test_what_it_does_not_know_it_says_and_offers_the_nearest_topics(world: ChatWorld) -> None:
    answered = await world.slash("ask", question=UNKNOWN)
    assert "I don't know" in text(answered)
    assert "ask people" in text(answered)
    offered = [name for name in buttons(answered) if name.startswith("wb:qt:")]
    assert 1 <= len(offered) <= 3
    assert not any(name.startswith(("wb:qf:", "wb:qh")) for name in buttons(answered))
    assert answered.response is not None
    pressed = await world.ada.click(answered.response, custom_id=offered[0])
    topic = guide().topics[offered[0].removeprefix("wb:qt:")]
    assert topic.label in text(pressed) or "-# Source: " in text(pressed)


async def test_what_is_declined_says_why_and_offers_no_choice(world: ChatWorld) -> None:
    answered = await world.slash("ask", question="how do i kill ants in my kitchen")
    assert "I do not give recipes to kill them" in text(answered)
    assert "⚠️ **Danger.**" in first_text(answered)
    assert labels(answered) == ["Helped", "Did not help"]


async def test_two_near_cards_are_a_choice_and_the_first_answer_stays(world: ChatWorld) -> None:
    answered = await world.slash("ask", question=CHOICE)
    near = [name for name in buttons(answered) if name.startswith("wb:qc:")]
    assert len(near) == 2
    assert answered.response is not None
    await world.restart()
    pressed = await world.ada.click(answered.response, custom_id=near[0])
    card = guide().cards[near[0].removeprefix("wb:qc:")]
    assert f"### {card.title}" in text(pressed)
    stored = world.env.backend.get_message(world.hall.id, answered.response.id)
    assert list(buttons(answered)) == [
        part["custom_id"] for row in stored.components[-1]["components"] for part in row.get("components", [])
    ]
    row = next(part for part in stored.components[-1]["components"] if part["type"] == 1)
    row["components"][0]["custom_id"] = "wb:qc:of-another-year"
    assert "That card is gone" in text(await world.ada.click(answered.response, custom_id="wb:qc:of-another-year"))


async def test_whatever_is_typed_is_answered_and_never_shown_with_power(world: ChatWorld) -> None:
    for question in (NASTY, (NASTY * 20)[:500], "🐜" * 250, "a" * 500, "mould\n" * 80, "> " * 250):
        answered = text(await world.slash("ask", question=question))
        assert "### " in answered
        for piece in ("@everyone", "<@1>", "](https", "||"):
            assert piece not in answered
        world.clock.move(minutes=1)
    assert "Ask in 1 to 500 characters" in text(await world.slash("ask", question="  "))
    with pytest.raises(BadValueError, match="500"):
        await world.services.asking.answer(KeeperId(world.ada.id), "x" * 501, None, world.clock.now())
    assert world.env.errors


async def test_a_topic_offers_its_cards(world: ChatWorld) -> None:
    choices = await world.ada.autocomplete(world.hall, "care topic", "topic", "mould")
    assert choices
    assert all(choice["value"] in guide().topics for choice in choices)
    shown = await world.slash("care topic", topic=choices[0]["value"])
    assert shown.response is not None
    (picker,) = [part for part in parts(shown) if part.get("custom_id") == "wb:qk"]
    opened = await world.ada.select(shown.response, [picker["options"][0]["value"]], custom_id="wb:qk")
    assert f"### {picker['options'][0]['label']}" in text(opened)
    assert "-# Source: " in text(opened)
    assert "A queen alone" in text(await world.slash("care topic", topic="a queen ALONE"))
    topics = await world.services.asking.topics()
    assert len(topics) == sum(not topic.declined for topic in guide().topics.values())
    for name in topics:
        assert 1 <= len((await world.services.asking.topic(name)).cards) <= 25, "a picker holds 25"
    assert "no topic called “oos" in text(await world.slash("care topic", topic="oos-chat")), "there only to decline"
    assert world.env.errors


async def test_helped_is_counted_once_for_each_without_words_or_names(world: ChatWorld) -> None:
    answered = await world.slash("ask", question="how often do I water the nest?")
    assert answered.response is not None
    assert "I counted that" in text(await world.ada.click(answered.response, label="Helped"))
    assert "You told me already" in text(await world.ada.click(answered.response, label="Did not help"))
    await world.slash("ask", question=UNKNOWN)
    month = await world.services.feedback.monthly(GuildId(world.ada.guild.id), world.clock.moment.date())
    assert [(found.asked, found.helped, found.not_helped) for found in month.cards] == [(1, 1, 0)]
    assert [times for _, times in month.unanswered] == [1]


async def test_a_preview_is_private_and_a_post_mentions_nobody(town: Town) -> None:
    message = await said(town, "@everyone my cricket was found dead, can I feed it?")
    preview = await town.hedy.context_menu(town.news, "Answer this", message)
    assert preview.response is not None
    assert preview.response.ephemeral
    await town.set_up()
    before = first_text(preview)
    assert before.startswith("⚠️ **Danger.**")
    posted = await town.hedy.click(preview.response, label="Post in this channel")
    public = town.news.history()[-1]
    assert public.author.bot
    assert before == next(part["content"] for part in parts(public) if "content" in part)
    assert f"/{town.news.id}/{message.id}" in text(public)
    assert not public.mentions
    assert not public.mention_everyone
    assert labels(public) == ["Helped", "Did not help"]
    assert posted.acknowledged
    stored = town.world.env.backend.get_message(town.news.id, preview.response.id)
    assert "wb:qp:" not in str(stored.components)
    for who in (town.mila, town.nils, town.mila):
        pressed = await who.click(public, label="Helped")
        assert pressed.response is not None
        assert pressed.response.ephemeral, "strangers are answered alone"
    assert text(town.news.history()[-1]) == text(public)
    month = await town.world.services.feedback.monthly(town.id, town.world.clock.moment.date())
    assert [found.helped for found in month.cards] == [2], "each of them once"
    checked = text(await town.by(town.mara, "check"))
    assert "**Answers in June 2027**" in checked
    assert "helped 2, not 0" in checked


async def test_a_preview_knows_nothing_of_anybodys_colonies(town: Town) -> None:
    await town.hedy.slash(town.news, "my place", zone="Europe/Vienna")
    await town.hedy.slash(town.news, "colony add", species="Lasius niger", workers=5, name="Secret")
    message = await said(town, "how often do I water the nest?")
    preview = text(await town.hedy.context_menu(town.news, "Answer this", message))
    assert "Secret" not in preview
    assert "I don't know when your nest was last watered" in preview


async def test_an_ant_that_was_named_stays_named_in_the_post_and_in_near_cards(town: Town) -> None:
    message = await said(town, "does Messor barbarus hibernate?")
    preview = await town.hedy.context_menu(town.news, "Answer this", message)
    assert preview.response is not None
    assert "**Messor barbarus** rests" in text(preview)
    await town.set_up()
    await town.hedy.click(preview.response, label="Post in this channel")
    assert "**Messor barbarus** rests" in text(town.news.history()[-1])
    asked = await town.hedy.slash(town.news, "ask", question="does Messor barbarus hibernate?")
    near = next(name for name in buttons(asked) if name.startswith("wb:qc:"))
    assert asked.response is not None
    assert "**Messor barbarus**" in text(await town.hedy.click(asked.response, custom_id=near))


async def test_who_may_not_write_there_posts_nothing(town: Town) -> None:
    quiet = town.guild.create_text_channel(
        "rules", overwrites={town.hedy: discord.PermissionOverwrite(send_messages=False)}
    )
    message = await town.mara.send(quiet, "how often do I water the nest?")
    preview = await town.hedy.context_menu(quiet, "Answer this", message)
    assert preview.response is not None
    refused = await town.hedy.click(preview.response, label="Post in this channel")
    assert "You may not write in this channel" in text(refused)
    assert [found.id for found in quiet.history() if not found.flags.ephemeral] == [message.id]


async def test_messages_that_are_not_understood_long_or_without_words(town: Town) -> None:
    preview = await town.hedy.context_menu(town.news, "Answer this", await said(town, UNKNOWN))
    assert "I don't know" in text(preview)
    assert not any(name.startswith("wb:qp:") for name in buttons(preview)), "nothing worth posting"
    long = await said(town, ("mould in my tube and " * 100)[:2000])
    assert "### Mould" in text(await town.hedy.context_menu(town.news, "Answer this", long))
    silent = town.world.env.backend.get_message(town.news.id, long.id)
    silent.content = ""
    assert "no words in this message" in text(await town.hedy.context_menu(town.news, "Answer this", long))


async def test_a_question_reaches_the_helpers_only_after_its_asker_sends_the_form(town: Town) -> None:
    await town.set_up()
    question = f"my ants {NASTY[:20]}"
    answered = await town.mila.slash(town.news, "ask", question=UNKNOWN)
    assert "once you agree" in text(answered)
    assert answered.response is not None
    before = len(town.told())
    form = await town.mila.click(answered.response, label="Ask the helpers…")
    assert form.modal is not None
    field = form.modal["components"][0]["component"]
    assert field["value"] == UNKNOWN
    assert len(town.told()) == before, "nothing is handed over by opening the form"
    sent = await town.mila.submit_modal(form, {field["custom_id"]: question})
    assert "The helpers have your question" in text(sent)
    told = town.told()[-1]
    assert f"<@{town.mila.id}> asks: {powerless(question, 500)}" in text(told)
    sent_there = [
        found for found in town.world.env.http_requests if found.path.endswith(f"{town.backroom.id}/messages")
    ]
    assert sent_there[-1].json is not None
    assert sent_there[-1].json["allowed_mentions"] == {"parse": []}, "nobody is notified"
    assert "<@1>" not in text(told)
    town.world.env.inject_error("POST", "/channels/*/messages", status=403, code=50013)
    form = await town.mila.click(answered.response, label="Ask the helpers…")
    assert form.modal is not None
    field = form.modal["components"][0]["component"]
    assert "nothing was handed over" in text(await town.mila.submit_modal(form, {field["custom_id"]: "my ants"}))


async def test_cautions_come_back_out_of_an_identifier(handbook: Handbook) -> None:
    known = list(handbook.cautions)
    assert len({ask_marks.code(name) for name in known}) == len(known)
    longest = max(guide().cards, key=len)
    made = ask_marks.post(longest, 2**63, known[:10])
    assert made is not None
    match = ask_marks.POST.fullmatch(made)
    assert match is not None
    assert ask_marks.read(match["cautions"], known) == tuple(known[:10])
    assert ask_marks.read(match["cautions"], known[5:]) == tuple(known[5:10])
    assert ask_marks.post(longest, 2**63, known) is None, "no caution is left out to make it fit"


async def test_ants_come_back_out_of_an_identifier(handbook: Handbook) -> None:
    known = list(handbook.species)
    assert len({ask_marks.code(name) for name in known}) == len(known)
    for colony in (None, 2**63):
        match = ask_marks.CARD.fullmatch(ask_marks.card("rest-needed", colony, known[:3]))
        assert match is not None
        assert (match["card"], ask_marks.read(match["ants"], known)) == ("rest-needed", tuple(known[:3]))
    plain = ask_marks.CARD.fullmatch(ask_marks.card("rest-needed", None))
    assert plain is not None
    assert ask_marks.read(plain["ants"], known) == ()
    made = ask_marks.post("rest-needed", 2**63, list(handbook.cautions)[:6], known[:3])
    assert made is not None
    posted = ask_marks.POST.fullmatch(made)
    assert posted is not None
    assert ask_marks.read(posted["ants"], known) == tuple(known[:3])


async def test_what_was_made_powerless_can_be_read_back() -> None:
    for typed in ("a_b *c* `d` <@1> @everyone \\ [x](y)", "plain", "1. # > -"):
        assert unshown(powerless(typed, 500)) == typed


async def test_the_memory_of_presses_is_bounded() -> None:
    told = Told()
    assert told.first(1, 1)
    assert not told.first(1, 1)
    assert all(told.first(2, number) for number in range(REMEMBERED))
    assert told.first(1, 1), "the oldest was forgotten"


async def test_a_month_for_moderators() -> None:
    card = CardCounts(card="water-nest", asked=3, helped=2, not_helped=1)
    month = Month(month=date(2027, 6, 1), cards=(card,), unanswered=(("mould", 4),))
    said = month_block(month, {"water-nest": "Watering"}, {"mould": "Mould"})
    assert "**Answers in June 2027**" in said
    assert "Watering: asked 3, helped 2, not 1" in said
    assert "near to “Mould”: 4" in said
    assert "Nobody asked" in month_block(Month(month=date(2027, 6, 1), cards=(), unanswered=()), {}, {})
