"""A colony's records in the chat: history, notes, counts, observations, pictures, calendar and loggers."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any
from unittest.mock import AsyncMock

import pytest
from icalendar import Calendar
from simcord.components import walk_components
from simcord.results import InteractionResult, ResponseMessage

from bot.adapters.chat.attachments import NOT_DRAWN
from bot.care.agenda import plan_colony
from bot.care.duty import Duty, Outcome
from bot.care.growth.observations import CHECKS, DEATH_CAUTIONS, Losses
from bot.services import history
from bot.services.colony_pictures import ColonyPictures
from bot.services.records import ColonyId, ColonyRecord
from tests.chat.world import ChatWorld, buttons, last, parts, text

pytestmark = pytest.mark.asyncio
PNG = b"\x89PNG\r\n\x1a\n"


async def colony(world: ChatWorld) -> ColonyRecord:
    return (await world.services.colonies.of(await world.keeper_id()))[0]


def messages(shown: InteractionResult) -> Sequence[ResponseMessage]:
    return [message for message in (shown.response, *shown.followups) if message is not None]


def galleries(shown: InteractionResult) -> list[dict[str, Any]]:
    return [part for message in messages(shown) for part in parts(message) if part["type"] == 12]


async def settled(world: ChatWorld, **options: Any) -> None:
    await world.settle_in()
    await world.register(**options)


async def test_a_note_and_an_observation_stand_in_the_history_and_move_no_date(world: ChatWorld) -> None:
    await settled(world)
    before = {duty: await world.next_day(duty) for duty in (Duty.WATER, Duty.SUGAR, Duty.NEST_CHANGE, Duty.CENSUS)}
    assert "“moved to the *north* shelf”".replace("*", "\\*") in text(
        await world.slash("colony note", colony="Dusk", text="moved to the *north* shelf", day="yesterday")
    )
    for what in ("pupae", "alates", "mites", "clustered"):
        await world.slash("colony seen", colony="dusk", what=what)
    assert before == {duty: await world.next_day(duty) for duty in before}
    told = text(await world.slash("colony history", colony="Dusk"))
    order = ["clustered together", "mites seen", "winged ants seen", "pupae seen", "moved to the"]
    places = [told.index(word) for word in order]
    assert places == sorted(places), "newest first"
    assert "Mon 31 May 2027" in told


async def test_history_is_paged_and_filtered(world: ChatWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(history, "PAGE_LINES", 3)
    await settled(world)
    for number in range(4):
        await world.slash("colony note", colony="Dusk", text=f"note number {number}")
    await world.slash("care watered", colony="Dusk")
    first = await world.slash("colony history", colony="Dusk")
    assert "Page 1 of 2, 5 lines" in text(first)
    assert list(buttons(first)) == ["wb:hist:1:all:2", "wb:draw:growth:1", "wb:draw:foods:1"]
    older = await world.ada.click(last(first), custom_id="wb:hist:1:all:2")
    assert "note number 0" in text(older)
    assert "Newer" in buttons(older).values()
    water = text(await world.slash("colony history", colony="Dusk", only="water"))
    assert "1 line about water" in water
    assert "note number" not in water
    seen = text(await world.slash("colony history", colony="Dusk", only="seen"))
    assert "4 lines" in seen
    assert "Nothing is written down about space yet" in text(
        await world.slash("colony history", colony="Dusk", only="space")
    ), "notes stand under a duty, but are none of it"


async def test_the_history_of_a_closed_colony_stays_and_nobody_else_reads_it(world: ChatWorld) -> None:
    await settled(world)
    await world.slash("colony note", colony="Dusk", text="found under the oak")
    await world.slash("colony close", colony="Dusk")
    assert "found under the oak" in text(await world.slash("colony history", colony="Dusk"))
    await world.settle_in(world.bela)
    for said in ("Dusk", "1"):
        told = text(await world.slash("colony history", world.bela, colony=said))
        assert "oak" not in told
    page = await world.slash("colony history", colony="Dusk")
    assert page.ephemeral
    assert world.env.errors


async def test_counts_change_the_colony_and_comparisons_do_not(world: ChatWorld) -> None:
    await settled(world)
    told = text(await world.slash("colony census", colony="Dusk", workers=120))
    assert "120 workers" in told
    assert "counted on 80" in told
    assert (await colony(world)).colony.workers == 120
    told = text(await world.slash("colony census", colony="Dusk", compared="fewer"))
    assert "fewer than before" in told
    assert "go on counting on 120 workers" in told
    record = (await colony(world)).colony
    assert record.workers == 120
    assert [entry.outcome for entry in record.log] == [Outcome.DONE, Outcome.FEWER]
    assert await world.next_day(Duty.CENSUS) > date(2027, 6, 14), "a comparison counts as a look"
    both = text(await world.slash("colony census", colony="Dusk", workers=3, compared="same"))
    assert "one of the two" in both
    assert "one of the two" in text(await world.slash("colony census", colony="Dusk"))
    assert world.env.errors


async def test_eggs_of_a_founding_queen_bring_a_date_with_a_band(world: ChatWorld) -> None:
    """Lasius niger from egg to worker: the handbook's degree-days (`tests/care/test_thermal_time.py` checks them)."""
    await settled(world, workers=0)
    told = text(await world.slash("colony seen", colony="Dusk", what="eggs"))
    assert "First workers about 2027-" in told
    assert "between 2027-" in told
    assert "24 °C" in told
    await world.slash("colony census", colony="Dusk", workers=5)
    assert "First workers" not in text(await world.slash("colony seen", colony="Dusk", what="eggs"))


async def test_many_deaths_bring_a_list_and_cautions_first(world: ChatWorld) -> None:
    await settled(world)
    told = text(await world.slash("colony seen", colony="Dusk", what="deaths", number=3))
    assert "within the usual" in told
    assert CHECKS[0] not in told
    shown = await world.slash("colony seen", colony="Dusk", what="deaths", number=9)
    told = text(shown)
    assert "12 dead within a week" in told, "deaths of a week add up"
    assert all(check in told for check in CHECKS)
    for name in DEATH_CAUTIONS:
        assert world.services.handbook.cautions[name].text in told
    assert told.index(world.services.handbook.cautions["PST-01"].text) < told.index("Look now")


@pytest.mark.parametrize(
    ("dead", "workers", "alarming"),
    [(None, 80, True), (1, 5, False), (2, 5, True), (8, 80, False), (9, 80, True), (2, 0, True)],
)
async def test_when_deaths_are_many(dead: int | None, workers: int, alarming: bool) -> None:  # noqa: FBT001 - a table
    """More than a tenth of the workers: common practice, no source; in a week, and from two on: our judgement."""
    assert Losses(dead, workers).alarming is alarming


async def test_mould_on_a_side_reaches_the_engines(world: ChatWorld) -> None:
    await settled(world)
    told = text(await world.slash("colony seen", colony="Dusk", what="mould", side="A", note="a spot by the door"))
    assert world.services.handbook.cautions["MOULD-SPECK"].text in told
    reason = text(await world.slash("care why", colony="Dusk", what="nest_change"))
    assert "Mould was seen" in reason


async def test_pictures_stand_beside_the_words_with_words_of_their_own(world: ChatWorld) -> None:
    await settled(world)
    for command, options, said in (
        ("colony show", {"colony": "Dusk"}, "The year of Dusk"),
        ("rest show", {"colony": "Dusk"}, "The year of Dusk"),
    ):
        shown = await world.slash(command, **options)
        (gallery,) = galleries(shown)
        (item,) = gallery["items"]
        assert said in item["description"]
        assert shown.followups[-1].attachments
        assert (await shown.followups[-1].attachments[0].read()).startswith(PNG)
        assert all(message.ephemeral for message in messages(shown))


async def test_pictures_come_when_they_are_asked_for(world: ChatWorld) -> None:
    await settled(world)
    await world.slash("colony census", colony="Dusk", workers=90)
    await world.slash("care fed", colony="Dusk", food="honey-water", taken="taken")
    shown = await world.slash("colony show", colony="Dusk")
    week = await world.slash("care week", days=14)
    assert not galleries(week), "no wall of pictures"
    history_page = await world.slash("colony history", colony="Dusk")
    for message, identifier, said in (
        (shown, "wb:draw:growth:1", "Growth of Dusk: 90 workers"),
        (shown, "wb:draw:foods:1", "Foods of Dusk: honey water, 1 part honey to 3 parts water taken 1"),
        (week, "wb:draw:water:1", "Water of Dusk"),
        (history_page, "wb:draw:growth:1", "Growth of Dusk"),
    ):
        assert message.response is not None
        pressed = await world.ada.click(message.response, custom_id=identifier)
        (gallery,) = galleries(pressed)
        assert said in gallery["items"][0]["description"]
        assert pressed.followups[-1].ephemeral
    assert "Water of Dusk" in buttons(week).values()


async def test_a_picture_without_anything_to_show_says_what_would_fill_it(world: ChatWorld) -> None:
    await settled(world)
    shown = await world.slash("colony show", colony="Dusk")
    assert shown.response is not None
    pressed = await world.ada.click(shown.response, custom_id="wb:draw:growth:1")
    assert "`/colony census` writes down a count" in text(pressed.followups[-1])


async def test_nobody_draws_the_colony_of_another(world: ChatWorld) -> None:
    await settled(world)
    await world.settle_in(world.bela)
    await world.slash("colony add", world.bela, species="Lasius niger", workers=5, name="Other")
    shown = await world.slash("colony show", world.bela, colony="Other")
    assert shown.response is not None
    forge(world, shown.response, "wb:draw:growth:2", "wb:draw:growth:1")
    pressed = await world.bela.click(shown.response, custom_id="wb:draw:growth:1")
    assert "not find that among what is yours" in text(pressed.followups[-1])
    assert not galleries(pressed)


async def test_a_failed_picture_takes_nothing_from_the_words(world: ChatWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    await settled(world)
    monkeypatch.setattr(ColonyPictures, "year", AsyncMock(side_effect=MemoryError("no room")))
    told = text(await world.slash("colony show", colony="Dusk"))
    assert "**What comes next**" in told
    assert NOT_DRAWN in told


async def test_the_calendar_holds_the_plan_of_the_coming_months(world: ChatWorld) -> None:
    """Read back by the iCalendar library; `tests/reference/test_calendar_file.py` checks the format itself."""
    assert "/my place" in text(await world.slash("care calendar"))
    await world.settle_in()
    assert "/colony add" in text(await world.slash("care calendar"))
    await world.register()
    shown = await world.slash("care calendar")
    (file,) = shown.followups[-1].attachments
    assert file.filename == "ant-care.ics"
    events = Calendar.from_ical(await file.read()).walk("VEVENT")
    view = await world.services.colonies.show(await world.keeper_id(), ColonyId(1), world.clock.now())
    plan = plan_colony(
        view.record.colony, view.keeper.settings, view.place, world.services.handbook, date(2027, 6, 1), 120
    )
    assert {str(event["summary"]).split(":")[0] for event in events} == {"Dusk"}
    assert len(events) == len({found.day for found in plan.occurrences})
    assert world.env.errors


def forge(world: ChatWorld, message: ResponseMessage, real: str, forged: str) -> None:
    """Change the identifier of a stored button, as only an attacker could."""
    stored = world.env.backend.get_message(world.hall.id, message.id)
    for part in walk_components(stored.components):
        if part.get("custom_id") == real:
            part["custom_id"] = forged


def logger_file(degrees: float, days: int = 6) -> bytes:
    """Readings each hour from our own scenario."""
    start = datetime(2027, 5, 20)  # noqa: DTZ001 - a logger writes its own wall clock
    lines = [f"{start + timedelta(hours=hour):%Y-%m-%d %H:%M};{degrees:.1f}" for hour in range(24 * days)]
    return "\n".join(["time;temperature C", *lines]).encode()


async def test_a_loggers_file_is_shown_before_it_is_kept(world: ChatWorld) -> None:
    await settled(world)
    shown = await world.slash("care logger", colony="Dusk", where="in the room", file=("box.csv", logger_file(27.0)))
    told = text(shown)
    assert "144 of 144 lines are readings" in told
    assert "a room of 27 °C" in told
    assert "143 above the wanted band" in galleries(shown)[0]["items"][0]["description"]
    keeper = await world.services.keepers.get(await world.keeper_id())
    assert keeper.places[0].temperature_c == 24, "nothing is kept yet"
    assert shown.response is not None
    (keep,) = buttons(shown.response)
    assert keep == "wb:logger:1"
    await world.ada.click(shown.response, custom_id=keep)
    keeper = await world.services.keepers.get(await world.keeper_id())
    assert keeper.places[0].temperature_c == 27


async def test_kept_readings_are_shown_without_a_file_and_can_be_forgotten(world: ChatWorld) -> None:
    await settled(world)
    assert "I keep no readings of **Dusk**" in text(await world.slash("care logger", colony="Dusk"))
    shown = await world.slash("care logger", colony="Dusk", where="in the nest", file=("box.csv", logger_file(27.0)))
    assert shown.response is not None
    await world.ada.click(shown.response, custom_id="wb:logger:1")
    kept = await world.slash("care logger", colony="Dusk")
    assert "What the logger of Dusk saw: in the nest" in text(kept)
    assert galleries(kept)[0]["items"][0]["description"].startswith("Dusk, nest: lowest 27 °C")
    assert kept.response is not None
    await world.ada.click(kept.response, label="Forget all its readings")
    assert "I keep no readings of **Dusk**" in text(await world.slash("care logger", colony="Dusk"))


async def test_where_a_logger_lay_is_asked(world: ChatWorld) -> None:
    await settled(world)
    told = text(await world.slash("care logger", colony="Dusk", file=("box.csv", logger_file(27.0))))
    assert "Say where the logger lay" in told
    assert world.env.errors


async def test_a_file_that_is_no_loggers_gets_a_sentence(world: ChatWorld) -> None:
    await settled(world)
    told = text(await world.slash("care logger", colony="Dusk", where="in the room", file=("box.csv", b"hello")))
    assert "Not this time" in told
    assert "incident" not in told
    assert "number: `" not in told
    large = text(
        await world.slash("care logger", colony="Dusk", where="in the room", file=("box.csv", b"x" * 1_000_001))
    )
    assert "too large" in large
    assert world.env.errors
