"""What members do under a notice and with `/season share`: in private, by choice, and across restarts."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import discord
import pytest
import pytest_asyncio
from simcord.results import InteractionResult

from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase
from bot.services.records import KeeperId
from tests.chat.season_world import Town, on_day, open_town
from tests.chat.world import ChatWorld, buttons, text

pytestmark = pytest.mark.asyncio

WINTER = on_day(2028, 2, 1)


@pytest_asyncio.fixture
async def town(world: ChatWorld) -> Town:
    return open_town(world)


async def noticed(town: Town, stage: str = "prepare") -> discord.Message:
    """A posted notice."""
    await town.set_up()
    await town.mara.click(await town.desk(stage), label="Post now")
    await town.at(town.world.clock.moment)
    return town.posted()[-1]


async def settled(town: Town, *names: str) -> None:
    """Mila gets a place and colonies."""
    await town.mila.slash(town.news, "my place", zone="Europe/Vienna", temperature=24)
    for name in names:
        await town.mila.slash(town.news, "colony add", species="Lasius niger", workers=50, name=name)


def fields(form: InteractionResult) -> dict[str, str]:
    assert form.modal is not None
    return {part["label"]: part["component"]["custom_id"] for part in form.modal["components"]}


def last(shown: InteractionResult) -> str:
    return text(shown.followups[-1]) if shown.followups else text(shown)


async def test_a_newcomer_is_led_to_the_first_steps_in_private(town: Town) -> None:
    message = await noticed(town)
    pressed = await town.mila.click(message, label="Plan my colonies")
    assert "First tell me where your ants live" in last(pressed)
    await settled(town)
    pressed = await town.mila.click(message, label="Plan my colonies")
    assert "`/colony add`" in text(pressed)
    assert pressed.response is not None
    assert pressed.response.ephemeral
    assert len(town.posted()) == 1
    assert "/colony add" not in text(town.posted()[0]), "the notice itself stays as it is"


async def test_plan_my_colonies_walks_through_all_of_them_after_a_restart(town: Town) -> None:
    message = await noticed(town)
    await settled(town, "Dusk", "Fern")
    await town.world.restart()
    pressed = await town.mila.click(message, label="Plan my colonies")
    assert "Colony 1 of 2" in text(pressed)
    assert "Winter rest of Dusk" in text(pressed)
    assert pressed.response is not None
    turned = await town.mila.click(pressed.response, label="Next colony")
    assert turned.acknowledged
    stored = town.world.env.backend.get_message(town.news.id, pressed.response.id)
    shown = str(stored.components)
    assert "Colony 2 of 2" in shown
    assert "Winter rest of Fern" in shown
    assert "Next colony" not in shown


async def test_the_form_of_a_rest_moves_the_plan(town: Town) -> None:
    message = await noticed(town)
    await settled(town, "Dusk")
    pressed = await town.mila.click(message, label="Plan my colonies")
    assert pressed.response is not None
    form = await town.mila.click(pressed.response, label="Where and when…")
    said = {"First day of the wind-down": "2027-11-02", "Coldest there": "5", "Warmest there": "8,5"}
    filled: dict[str, object] = {fields(form)[label]: value for label, value in said.items()}
    filled[fields(form)["Place"]] = ["cellar"]
    await town.mila.submit_modal(form, filled)
    (record,) = await town.world.services.colonies.of(KeeperId(town.mila.id))
    rest = record.colony.rest
    assert (rest.place, rest.place_low_c, rest.place_high_c) == ("cellar", 5.0, 8.5)
    assert rest.start is not None
    assert rest.start.isoformat() == "2027-11-02"
    form = await town.mila.click(pressed.response, label="Where and when…")
    refused = await town.mila.submit_modal(form, {fields(form)["Weeks in the cold"]: "many"})
    assert "no number I can read" in last(refused)


async def test_another_members_form_is_refused(town: Town) -> None:
    message = await noticed(town)
    await settled(town, "Dusk")
    pressed = await town.mila.click(message, label="Plan my colonies")
    assert pressed.response is not None
    await town.hedy.slash(town.news, "my place", zone="Europe/Vienna")
    await town.hedy.slash(town.news, "colony add", species="Lasius niger", workers=5, name="Other")
    theirs = await town.hedy.click(message, label="Plan my colonies")
    assert theirs.response is not None
    stored = town.world.env.backend.get_message(town.news.id, theirs.response.id)
    forged = next(name for name in buttons(pressed.response) if name.startswith("wb:sf:"))
    row = next(part for part in stored.components[-1]["components"] if part["type"] == 1)
    row["components"][0]["custom_id"] = forged
    refused = await town.hedy.click(theirs.response, custom_id=forged)
    assert refused.modal is None
    assert "not find that among what is yours" in last(refused)


async def test_remind_me_opens_the_door_and_turns_reminders_on(town: Town) -> None:
    message = await noticed(town)
    await settled(town, "Dusk")
    await town.mila.slash(town.news, "my reminders", on=False)
    pressed = await town.mila.click(message, label="Remind me")
    assert "I remind you by direct message, at 18:00 your time" in text(pressed)
    keeper = await town.world.services.keepers.get(KeeperId(town.mila.id))
    assert keeper.reminders_on
    assert "Here I will write to you" in text(town.world.inbox(town.mila)[-1])
    before = len(town.world.inbox(town.mila))
    await town.mila.click(message, label="Remind me")
    assert len(town.world.inbox(town.mila)) == before, "an open door is greeted once"


async def test_a_closed_door_is_told(town: Town) -> None:
    message = await noticed(town)
    await settled(town)
    town.world.env.inject_error("POST", "/channels/*/messages", status=403, code=50007)
    pressed = await town.mila.click(message, label="Remind me")
    assert "Allow messages from members" in last(pressed)


async def test_my_queen_is_awake_asks_which_and_feeds_the_log(town: Town) -> None:
    message = await noticed(town, "mid-rest check")
    await settled(town, "Dusk", "Fern")
    assert "nothing to write down" in text(await town.mila.click(message, label="My queen is awake"))
    town.world.clock.moment = WINTER
    pressed = await town.mila.click(message, label="My queen is awake")
    assert pressed.response is not None
    mine = await town.world.services.colonies.of(KeeperId(town.mila.id))
    await town.mila.select(pressed.response, [str(mine[1].id)], custom_id="wb:sa")
    (first, second) = await town.world.services.colonies.of(KeeperId(town.mila.id))
    assert not first.colony.log
    entry = second.colony.log[-1]
    assert (entry.duty, entry.outcome, entry.day) == (Duty.REST_CHECK, Outcome.AWAKE, WINTER.date())


async def test_one_resting_colony_is_written_down_at_once(town: Town) -> None:
    message = await noticed(town, "mid-rest check")
    await settled(town, "Dusk")
    town.world.clock.moment = WINTER
    pressed = await town.mila.click(message, label="My queen is awake")
    assert "**Dusk** was seen awake today" in text(pressed)
    (record,) = await town.world.services.colonies.of(KeeperId(town.mila.id))
    assert record.colony.log[-1].outcome is Outcome.AWAKE


async def test_awake_late_in_the_warm_up_begins_the_season_of_that_colony(town: Town) -> None:
    message = await noticed(town, "welcome back")
    await settled(town, "Dusk")
    (record,) = await town.world.services.colonies.of(KeeperId(town.mila.id))
    rest = town.world.services.rest
    view = await rest.show(KeeperId(town.mila.id), record.id, WINTER)
    warm = next(span.start for span in view.plan.phases if span.phase is Phase.WARM_UP)
    town.world.clock.moment = datetime.combine(warm + timedelta(days=8), time(12), UTC)
    pressed = await town.mila.click(message, label="My queen is awake")
    assert "Its new season begins today" in text(pressed)
    view = await rest.show(KeeperId(town.mila.id), record.id, town.world.clock.moment)
    assert view.plan.phase_on(view.today) is Phase.RESUME


async def test_eggs_or_pupae_hold_the_cool_down_of_that_colony_back(town: Town) -> None:
    message = await noticed(town, "wind-down")
    await settled(town, "Dusk")
    assert "winds down or cools down just now" in text(
        await town.mila.click(message, label="I still see eggs or pupae")
    )
    keeper_id = KeeperId(town.mila.id)
    (record,) = await town.world.services.colonies.of(keeper_id)
    before = await town.world.services.rest.show(keeper_id, record.id, town.world.clock.moment)
    cool = next(span.start for span in before.plan.phases if span.phase is Phase.COOL_DOWN)
    town.world.clock.moment = datetime.combine(cool - timedelta(days=2), time(12), UTC)
    pressed = await town.mila.click(message, label="I still see eggs or pupae")
    assert "**Dusk** still has eggs or pupae today. Next comes the cool-down, now on" in text(pressed)
    after = await town.world.services.rest.show(keeper_id, record.id, town.world.clock.moment)
    assert next(span.start for span in after.plan.phases if span.phase is Phase.COOL_DOWN) > cool
    assert after.colony.colony.log[-1].outcome is Outcome.PUPAE


async def test_not_for_me_withdraws_everything_here(town: Town) -> None:
    message = await noticed(town)
    assert "you are not counted here" in text(await town.mila.click(message, label="Not for me"))
    await settled(town, "Dusk")
    await town.by(town.mila, "share", count_me=True, help_me=True)
    await town.mila.click(message, label="Not for me")
    consent = await town.world.client.season_acts.season.consent(town.id, KeeperId(town.mila.id))
    assert (consent.counted, consent.helped) == (False, False)


async def test_sharing_is_off_until_said_and_for_this_server_only(town: Town) -> None:
    await town.set_up()
    said = text(await town.by(town.mila, "share"))
    assert "**Count me** no" in said
    assert "**Help me** no" in said
    refused = await town.by(town.mila, "share", count_me=True)
    assert "First tell me where your ants live" in text(refused)
    await settled(town, "Dusk")
    assert "**Count me** yes" in text(await town.by(town.mila, "share", count_me=True))
    assert "**Help me** no" in text(await town.by(town.mila, "share"))
    other = open_town(town.world, "Far Away")
    consent = await town.world.client.season_acts.season.consent(other.id, KeeperId(town.mila.id))
    assert not consent.counted
    assert town.world.env.errors


async def test_buttons_under_an_old_notice_still_answer_a_year_later(town: Town) -> None:
    message = await noticed(town)
    await settled(town, "Dusk")
    await town.world.restart()
    town.world.clock.move(days=370)
    assert "Winter rest of Dusk" in text(await town.mila.click(message, label="Plan my colonies"))
