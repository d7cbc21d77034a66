"""What moderators do on the simulated platform, who may do it, and what is told when the platform is in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import discord
import pytest
import pytest_asyncio
from simcord.results import InteractionResult

from bot.adapters.chat.season_layout import words_fit
from bot.care.cautions import Severity
from bot.care.season.words import LONGEST_NUMBERS
from bot.services.season_desk import LONGEST_TEXT
from bot.services.season_records import NoticeState
from tests.chat.season_world import Town, draw_pictures, gallery, heading, on_day, open_town
from tests.chat.world import ChatWorld, buttons, parts, text

pytestmark = pytest.mark.asyncio

DRAFTS = on_day(2027, 9, 6, 6)
"""Inside the ten days before the call to prepare, for Vienna."""
NO = "Only moderators of this server"


@pytest_asyncio.fixture
async def town(world: ChatWorld) -> Town:
    return open_town(world)


async def drafted(town: Town, **options: object) -> discord.Message:
    """Set up and walk to the first draft; returns what moderators were told."""
    await town.set_up(**options)
    await town.at(DRAFTS)
    return town.told()[-1]


def fields(form: InteractionResult) -> dict[str, str]:
    assert form.modal is not None
    return {part["label"]: part["component"]["custom_id"] for part in form.modal["components"]}


def error_told(shown: InteractionResult) -> str:
    return text(shown.followups[-1]) if shown.followups else text(shown)


async def test_setup_says_how_the_season_is_led(town: Town) -> None:
    said = text(await town.set_up())
    assert f"in <#{town.news.id}>, mentioning <@&{town.keepers.id}>" in said
    assert "Europe/Vienna, at 18:00" in said
    assert "north" in said
    assert "In the way" not in said
    again = text(await town.by(town.mara, "setup", two_approve=True, mention_nobody=True, at="7:30 pm", units="F"))
    assert "two moderators" in again
    assert "mentioning nobody" in again
    assert "at 19:30; temperatures in °F" in again
    assert text(await town.by(town.mara, "setup")) == again


async def test_a_setup_that_cannot_be_is_refused_with_what_would_be_right(town: Town) -> None:
    for wrong, said in (
        ({"zone": None}, "first time I need the channel"),
        ({"zone": "Nowhere/Land"}, "no time zone called"),
        ({"at": "25:00"}, "no time I can read"),
        ({"days_ahead": 99}, "0 to 28 days"),
    ):
        usual: dict[str, object] = {"channel": town.news, "zone": "Europe/Vienna", **wrong}
        given = {name: value for name, value in usual.items() if value is not None}
        answer = await town.by(town.mara, "setup", **given)
        assert said in text(answer).replace("\\", "")
    assert town.world.env.errors


async def test_everyone_is_never_mentioned(town: Town) -> None:
    said = text(await town.set_up(role=town.guild.default_role))
    assert "never mention everyone" in said
    assert town.world.env.errors


async def test_a_draft_is_told_in_the_moderators_channel_as_members_will_see_it(town: Town) -> None:
    told = await drafted(town)
    shown = text(told)
    assert shown.index("⚠️ **Danger.**") < shown.index("### Time to prepare the winter rest")
    assert "**Draft** for Wed 15 September, 18:00" in shown
    assert "Waits for an approval" in shown
    assert "*Species of the warm tropics:* This ant comes from the warm tropics" in shown
    assert {"Approve", "Edit text…", "Day and hour…", "Post now", "Do not post"} <= set(buttons(told).values())
    assert not any(name.startswith("wb:sn:") for name in buttons(told)), "members' buttons only under the real notice"
    assert not town.posted()


async def test_approve_then_it_appears_at_its_hour_with_the_role_and_nobody_else(town: Town) -> None:
    told = await drafted(town)
    approved = await town.nils.click(told, label="Approve")
    assert approved.acknowledged
    assert f"Approved by <@{town.nils.id}>" in text(town.told()[-1])
    assert "Approve" not in buttons(town.told()[-1]).values()
    assert await town.at(on_day(2027, 9, 15, 15)) == 0
    assert await town.at(on_day(2027, 9, 15, 16)) == 1
    (message,) = town.posted()
    assert f"<@&{town.keepers.id}>" in text(message)
    sent = [e.json for e in town.world.env.http_requests if e.path == f"/channels/{town.news.id}/messages" and e.json]
    assert sent[-1]["allowed_mentions"] == {"parse": [], "roles": [town.keepers.id]}
    assert sent[-1]["enforce_nonce"] is True
    assert list(buttons(message).values()) == ["Plan my colonies", "Remind me", "Not for me"]
    assert await town.at(on_day(2027, 9, 15, 17)) == 0


async def test_every_button_of_the_desk_survives_a_restart(town: Town) -> None:
    told = await drafted(town)
    await town.world.restart()
    await town.mara.click(told, label="A week later")
    assert "**Draft** for Wed 22 September, 18:00" in text(town.told()[-1])
    await town.mara.click(town.told()[-1], label="A day later")
    assert "**Draft** for Thu 23 September, 18:00" in text(town.told()[-1])
    await town.mara.click(town.told()[-1], label="Do not post")
    assert "**Cancelled**" in text(town.told()[-1])
    assert not buttons(town.told()[-1])


async def test_an_edit_leaves_cautions_and_figures_whole(town: Town) -> None:
    told = await drafted(town)
    form = await town.mara.click(told, label="Edit text…")
    assert form.modal is not None
    assert "Leave a thermometer there" in form.modal["components"][0]["component"]["value"]
    await town.mara.submit_modal(form, {fields(form)["Text"]: "Our **own** words for @everyone."})
    shown = text(town.told()[-1])
    assert "Our **own** words" in shown
    assert "⚠️ **Danger.** No colony needs less than 2 °C, and 0 °C or lower can kill it." in shown
    assert "No figures this time" in shown
    await town.mara.click(town.told()[-1], label="Post now")
    assert await town.at(town.world.clock.moment) == 1
    sent = [e.json for e in town.world.env.http_requests if e.path == f"/channels/{town.news.id}/messages" and e.json]
    assert sent[-1]["allowed_mentions"]["parse"] == [], "typed mentions reach nobody"


async def test_day_and_hour_are_those_of_the_server(town: Town) -> None:
    told = await drafted(town)
    form = await town.mara.click(told, label="Day and hour…")
    wrong = await town.mara.submit_modal(form, {fields(form)["Day"]: "2027-02-30", fields(form)["Hour"]: "9:00"})
    assert "no day" in error_told(wrong)
    form = await town.mara.click(told, label="Day and hour…")
    await town.mara.submit_modal(form, {fields(form)["Day"]: "2027-10-05", fields(form)["Hour"]: "9:00"})
    assert "**Draft** for Tue 5 October, 09:00" in text(town.told()[-1])
    (notice,) = await town.notices()
    assert notice.post_at == on_day(2027, 10, 5, 7)


async def test_two_approvals_are_two_people(town: Town) -> None:
    told = await drafted(town, two_approve=True)
    await town.mara.click(told, label="Approve")
    again = await town.mara.click(town.told()[-1], label="Approve")
    assert "approved it already" in error_told(again)
    assert await town.at(on_day(2027, 9, 15)) == 0
    await town.hedy.click(town.told()[-1], label="Approve")
    assert await town.at(on_day(2027, 9, 15, 17)) == 1


async def test_amend_and_take_back_after_posting(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Post now")
    await town.at(town.world.clock.moment)
    listed = (await town.by(town.mara, "draft")).response
    assert listed is not None
    assert "**Posted** Prepare · north 2027" in text(listed)
    (notice,) = await town.notices()
    opened = await town.mara.select(listed, [str(notice.id)], custom_id="wb:sl")
    assert opened.acknowledged
    shown = await town.desk("prepare")
    form = await town.mara.click(shown, label="Amend text…")
    await town.mara.submit_modal(form, {fields(form)["Text"]: "Amended words."})
    assert "Amended words." in text(town.posted()[0])
    assert heading(town.posted()[0]) == "Time to prepare the winter rest"
    shown = await town.desk("prepare")
    await town.mara.click(shown, label="Take it back")
    assert not town.posted()
    log = text(await town.by(town.mara, "log"))
    acts = ["retracted", "amended", "posted", "called to post now", "drafted", "set up"]
    places = [log.index(act) for act in acts]
    assert places == sorted(places), "newest first"
    assert f"<@{town.mara.id}>: amended “Prepare · north 2027”" in log


async def test_a_second_press_on_an_old_message_changes_nothing(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Post now")
    await town.at(town.world.clock.moment)
    stored = town.world.env.backend.get_message(told.channel.id, told.id)
    stored.components = [component.to_dict() for component in told.components]  # type: ignore[misc]  # plain payloads
    again = await town.nils.click(told, label="Do not post")
    assert "this notice is posted" in error_told(again)
    assert len(town.posted()) == 1


COMMANDS: Sequence[tuple[str, dict[str, object]]] = [
    ("setup", {"days_ahead": 3}),
    ("draft", {}),
    ("draft", {"stage": "prepare"}),
    ("schedule", {}),
    ("check", {}),
    ("log", {}),
]


async def test_commands_are_for_those_who_lead(town: Town) -> None:
    await drafted(town)
    for command, options in COMMANDS:
        town.world.clock.move(minutes=1)
        for may in (town.mara, town.hedy):
            assert NO not in text(await town.by(may, command, **options))
        assert NO in text(await town.by(town.mila, command, **options))
    backend, chiefs = town.world.env.backend, town.guild.roles["chiefs"]
    backend.remove_member_role(town.guild.id, town.hedy.id, town.leaders.id)
    backend.remove_member_role(town.guild.id, town.mara.id, chiefs.id)
    for command, options in COMMANDS:
        town.world.clock.move(minutes=1)
        for former in (town.hedy, town.mara):
            assert NO in text(await town.by(former, command, **options)), "no longer"
    assert town.world.env.errors


async def test_buttons_look_at_rights_with_every_press(town: Town) -> None:
    told = await drafted(town)
    (before,) = await town.notices()
    town.world.env.backend.remove_member_role(town.guild.id, town.nils.id, town.guild.roles["chiefs"].id)
    for label in buttons(told).values():
        town.world.clock.move(minutes=1)
        for stranger in (town.mila, town.nils):
            assert NO in error_told(await stranger.click(told, label=label))
    (after,) = await town.notices()
    assert after == before


async def test_a_form_that_was_open_when_the_right_went_does_nothing(town: Town) -> None:
    told = await drafted(town)
    form = await town.hedy.click(told, label="Edit text…")
    town.world.env.backend.remove_member_role(town.guild.id, town.hedy.id, town.leaders.id)
    refused = await town.hedy.submit_modal(form, {fields(form)["Text"]: "Taken over."})
    assert NO in error_told(refused)
    (notice,) = await town.notices()
    assert "Taken over" not in notice.text


async def test_moderators_of_another_server_reach_nothing(town: Town) -> None:
    told = await drafted(town)
    other = open_town(town.world, "Far Away")
    await other.set_up()
    shown = await other.desk("wind-down")
    stored = town.world.env.backend.get_message(other.news.id, shown.id)
    forged = next(name for name, label in buttons(told).items() if label == "Post now")
    row = stored.components[-1]["components"][-1]
    row["components"][0]["custom_id"] = forged
    pressed = await other.mara.click(shown, custom_id=forged)
    assert "not find that" in error_told(pressed)
    assert await town.at(town.world.clock.moment) == 0


async def test_a_helper_cannot_hand_the_season_to_another_role(town: Town) -> None:
    await town.set_up()
    assert NO in text(await town.by(town.hedy, "setup", leader_role=town.keepers))
    assert town.world.env.errors


async def test_outside_of_a_server_it_says_where_to_go(town: Town) -> None:
    said = text(await town.mara.user.slash("season draft"))
    assert "inside the server" in said
    assert town.world.env.errors


def deny(town: Town, channel_id: int, *rights: str) -> None:
    from simcord.backend.models import Overwrite  # noqa: PLC0415 - the simulation's own value, for one helper
    from simcord.enums import OverwriteType  # noqa: PLC0415 - as above

    bot = town.world.client.user
    assert bot is not None
    denied = discord.Permissions(**dict.fromkeys(rights, True))
    overwrite = Overwrite(target_id=bot.id, type=OverwriteType.MEMBER, allow=0, deny=denied.value)
    town.world.env.backend.set_overwrite(channel_id, overwrite)


async def test_missing_rights_are_told_days_ahead_with_what_to_grant(town: Town) -> None:
    await town.set_up()
    deny(town, town.news.id, "send_messages", "read_message_history")
    await town.world.env.settle()
    await town.at(DRAFTS)
    said = "\n".join(text(message) for message in town.told())
    assert f"I lack rights in <#{town.news.id}>. Grant me there: Send Messages, Read Message History." in said


async def test_a_refusal_at_the_hour_pauses_and_says_so(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Approve")
    town.world.env.inject_error("POST", f"/channels/{town.news.id}/messages", status=403, code=50013, times=1)
    assert await town.at(on_day(2027, 9, 15)) == 0
    assert "Grant me these rights in the channel: View Channel, Send Messages" in text(town.told()[-1])
    assert await town.at(on_day(2027, 9, 15, 20)) == 0, "not tried again and again"
    shown = await town.desk("prepare")
    assert "**Paused** for Wed 15 September" in text(shown)
    await town.mara.click(shown, label="Post now")
    assert await town.at(town.world.clock.moment) == 1


async def test_a_deleted_channel_pauses_until_another_is_named(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Approve")
    town.world.env.backend.delete_channel(town.news.id)
    await town.world.env.settle()
    assert await town.at(on_day(2027, 9, 15)) == 0
    assert "The channel for season notices is gone" in text(town.told()[-1])
    town.news = town.guild.create_text_channel("new-news")
    await town.set_up()
    shown = await town.desk("prepare")
    await town.mara.click(shown, label="Post now")
    assert await town.at(town.world.clock.moment) == 1
    assert len(town.posted()) == 1


async def test_a_deleted_role_is_told_and_mentions_nobody(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Approve")
    town.world.env.backend.delete_role(town.guild.id, town.keepers.id)
    await town.world.env.settle()
    shown = await town.desk("prepare")
    assert "The role to mention is gone" in text(shown)
    assert await town.at(on_day(2027, 9, 15)) == 1
    assert "<@&" not in text(town.posted()[0])


async def test_a_role_that_cannot_be_called_is_told(town: Town) -> None:
    silent = town.guild.create_role("silent")
    deny(town, town.news.id, "mention_everyone")
    await town.world.env.settle()
    said = text(await town.set_up(role=silent))
    assert f"I may not mention <@&{silent.id}>" in said


async def test_t35_an_outage_defers_and_cancels_nothing(town: Town) -> None:
    told = await drafted(town)
    await town.mara.click(told, label="Approve")
    guild = town.world.client.get_guild(town.guild.id)
    assert guild is not None
    guild.unavailable = True
    assert await town.at(on_day(2027, 9, 15)) == 0
    guild.unavailable = False
    assert await town.at(on_day(2027, 9, 15, 17)) == 1


async def test_a_crash_after_posting_posts_once(town: Town, monkeypatch: pytest.MonkeyPatch) -> None:
    """The simulation folds no nonces, so the second try must find the message by its buttons."""
    told = await drafted(town)
    await town.mara.click(told, label="Approve")
    hall = town.world.client.hall
    post = hall.post

    async def dies(*arguments: object) -> object:
        await post(*arguments)  # type: ignore[arg-type]  # passed on as they came
        raise KeyboardInterrupt

    monkeypatch.setattr(hall, "post", dies)
    with pytest.raises(KeyboardInterrupt):
        await town.at(on_day(2027, 9, 15))
    monkeypatch.undo()
    assert len(town.posted()) == 1
    await town.world.restart()
    assert await town.at(on_day(2027, 9, 15, 20)) == 1, "found, and recorded as posted"
    assert len(town.posted()) == 1
    (notice,) = await town.notices()
    assert notice.state is NoticeState.POSTED
    assert notice.message_id == town.posted()[0].id


async def test_schedule_shows_dates_figures_and_states(town: Town) -> None:
    await drafted(town)
    said = text(await town.by(town.mara, "schedule"))
    assert "prepare, by calendar · draft for Wed 15 September, 18:00" in said
    assert "welcome back, by calendar · notice about" in said
    assert "no figures yet" in said
    await town.join(6)
    town.world.clock.move(days=1)
    said = text(await town.by(town.mara, "schedule"))
    assert "by members’ plans" in said
    assert "about 5 colonies, of these 5 that rest by an inner clock (north)" in said


async def test_schedule_brings_a_picture_of_the_weeks_where_one_can_be_drawn(town: Town) -> None:
    await town.set_up()
    draw_pictures(town)
    assert not (await town.by(town.mara, "schedule")).followups, "nothing to draw yet"
    await town.join(6)
    town.world.clock.move(days=1)
    shown = (await town.by(town.mara, "schedule")).followups[-1]
    shown_picture = gallery(shown)
    assert shown_picture is not None
    assert shown_picture["items"][0]["description"].startswith("The season of a community. North: wind-down")


async def posted_with_picture(town: Town, **options: object) -> discord.Message:
    """A posted call to prepare of a community with figures."""
    await town.set_up(**options)
    draw_pictures(town)
    await town.join(6)
    await town.mara.click(await town.desk("prepare"), label="Post now")
    await town.at(town.world.clock.moment)
    return town.posted()[0]


async def test_a_notice_carries_its_picture_in_the_servers_language(town: Town) -> None:
    message = await posted_with_picture(town, language="fr")
    shown = gallery(message)
    assert shown is not None
    assert shown["items"][0]["description"].startswith("La saison d’une communauté. Nord: fin de saison du 1")
    assert [attachment.filename for attachment in message.attachments] == ["season.png"]
    said = text(message)
    assert "### Il est temps de préparer le repos hivernal" in said
    assert "⚠️ **Danger.** Aucune colonie n’a besoin de moins de 2 °C" in said
    assert list(buttons(message).values()) == ["Planifier mes colonies", "Me le rappeler", "Pas pour moi"]
    desk = await town.desk("prepare")
    form = await town.mara.click(desk, label="Amend text…")
    await town.mara.submit_modal(form, {fields(form)["Text"]: "D’autres mots."})
    (amended,) = town.posted()
    assert "D’autres mots." in text(amended)
    assert gallery(amended) is not None
    assert [attachment.filename for attachment in amended.attachments] == ["season.png"]


async def test_the_desk_shows_the_picture_members_will_see(town: Town) -> None:
    await town.set_up()
    draw_pictures(town)
    assert gallery(await town.desk("prepare")) is None, "no figures, no picture"
    await town.join(6)
    town.world.clock.move(days=1)
    assert gallery(await town.desk("prepare")) is not None


async def test_without_the_right_to_attach_it_goes_out_without_its_picture_and_says_so(town: Town) -> None:
    deny(town, town.news.id, "attach_files")
    message = await posted_with_picture(town)
    assert gallery(message) is None
    assert not message.attachments
    assert "grant me Attach Files" in text(await town.by(town.mara, "setup"))


async def test_a_picture_the_platform_refuses_holds_no_notice_back(town: Town) -> None:
    await town.set_up()
    draw_pictures(town)
    await town.join(6)
    await town.mara.click(await town.desk("prepare"), label="Post now")
    town.world.env.inject_error("POST", f"/channels/{town.news.id}/messages", status=400, code=40005)
    await town.at(town.world.clock.moment)
    (message,) = town.posted()
    assert gallery(message) is None
    (notice,) = await town.notices()
    assert (notice.state, notice.attempts) == (NoticeState.POSTED, 1)


async def test_new_words_of_a_posted_notice_need_the_second_moderator(town: Town) -> None:
    await drafted(town, two_approve=True)
    await town.mara.click(town.told()[-1], label="Approve")
    await town.nils.click(town.told()[-1], label="Approve")
    await town.at(on_day(2027, 9, 15, 16))
    form = await town.mara.click(await town.desk("prepare"), label="Amend text…")
    await town.mara.submit_modal(form, {fields(form)["Text"]: "Amended words."})
    assert "Amended words." not in text(town.posted()[0])
    told = town.told()[-1]
    assert "Amended words." in text(told)
    assert f"**New words** from <@{town.mara.id}>, shown above, wait for a second moderator" in text(told)
    assert "second moderator has to approve" in error_told(await town.mara.click(told, label="Approve"))
    assert "Amended words." not in text(town.posted()[0])
    await town.nils.click(town.told()[-1], label="Approve")
    assert "Amended words." in text(town.posted()[0])
    assert "Drop the new words" not in buttons(town.told()[-1]).values()


async def test_the_longest_notice_stays_inside_one_message(town: Town) -> None:
    await drafted(town)
    await town.join(6)
    handbook = town.world.services.handbook
    words = town.world.services.languages["fr"]
    for stage in ("wind-down", "cool-down", "mid-rest check", "warm-up", "welcome back"):
        await town.by(town.mara, "draft", stage=stage)
    for notice in await town.notices():
        longest = replace(notice, text="x" * LONGEST_TEXT, numbers="y" * LONGEST_NUMBERS)
        assert words_fit(longest, handbook, words), notice.stage
        assert any(handbook.cautions[found].severity is not Severity.NOTE for found in notice.cautions)


async def test_a_caution_that_left_the_handbook_does_not_hold_a_notice_back(town: Town) -> None:
    await drafted(town)
    (notice,) = await town.notices()
    async with town.world.services.units() as work:
        await work.seasons.save(replace(notice, cautions=("GONE", *notice.cautions)))
        await work.commit()
    assert "This ant comes from the warm tropics" in text(await town.desk("prepare"))


async def test_the_check_shows_who_agreed_to_be_helped(town: Town) -> None:
    await town.set_up()
    assert "Nobody has agreed to be helped yet" in text(await town.by(town.mara, "check"))
    world = town.world
    await town.mila.slash(town.news, "my place", zone="Europe/Vienna", temperature=24)
    await town.mila.slash(
        town.news, "colony add", species="Lasius niger", workers=50, name="Dusk", material="aerated-concrete"
    )
    await town.by(town.mila, "share", help_me=True)
    world.clock.move(days=20)
    said = text(await town.by(town.mara, "check"))
    assert f"<@{town.mila.id}> · Dusk · water" in said
    assert "late" in said
    town.guild.remove_member(town.mila)
    await world.env.settle()
    assert "Dusk" not in text(await town.by(town.mara, "check")), "who left is named no more"


async def test_components_stay_within_the_platforms_forty(town: Town) -> None:
    told = await drafted(town)
    assert len(list(parts(told))) <= 40
