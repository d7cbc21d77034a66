"""A keeper's first evening: place, colony, what is due, week, why, rest; and what the bot says to what cannot be."""

from __future__ import annotations

from typing import Any

import pytest

from tests.chat.world import ChatWorld, button, buttons, last, text

pytestmark = pytest.mark.asyncio


def expected(world: ChatWorld) -> None:
    """The errors so far were meant; each got its sentence."""
    assert world.env.errors


async def test_without_a_place_every_command_says_the_first_step(world: ChatWorld) -> None:
    for command, options in (
        ("my place", {}),
        ("my reminders", {}),
        ("care due", {}),
        ("care week", {}),
        ("colony add", {"species": "Lasius niger", "workers": 1, "name": "Dusk"}),
    ):
        assert "/my place" in text(await world.slash(command, **options))
    assert "`/colony add` is the first step" in text(await world.slash("colony list"))
    expected(world)


async def test_a_zone_brings_latitude_and_country(world: ChatWorld) -> None:
    said = await world.slash("my place", zone="australia/sydney")
    assert said.ephemeral
    assert "33.9° south" in text(said)
    assert "Australia" in text(said)
    assert "I count on 22 °C" in text(said), "what was not said is shown as taken as given"


async def test_temperatures_are_read_and_shown_in_the_keepers_scale(world: ChatWorld) -> None:
    said = text(await world.slash("my place", zone="America/Chicago", units="F", temperature=75))
    assert "75 °F" in said
    keeper = await world.services.keepers.get(await world.keeper_id())
    assert keeper.places[0].temperature_c == pytest.approx(23.9, abs=0.05)


async def test_registering_shows_plan_defaults_and_cautions_first(world: ChatWorld) -> None:
    await world.settle_in()
    said = await world.slash("colony add", species="lasius niger", workers=12, name="Dusk")
    told = text(said)
    assert said.ephemeral
    assert "*Lasius niger*" in told
    assert "Until you say otherwise I count on" in told
    assert "**What comes next**" in told
    assert "wb:nest:1" in buttons(said)
    record = (await world.services.colonies.of(await world.keeper_id()))[0]
    view = await world.services.colonies.show(await world.keeper_id(), record.id, world.clock.now())
    for caution in view.cautions:
        assert caution.text in told, "whole"
        if caution.severity.value != "note":
            assert told.index(caution.text) < told.index("### Welcome"), "first"


IMPOSSIBLE_COLONIES: tuple[tuple[dict[str, Any], str], ...] = (
    ({"species": "Lasius nigr"}, "Did you mean Lasius niger"),
    ({"workers": -5}, "from 0 to 20,000,000"),
    ({"name": " "}, "1 to 40 letters"),
    ({"name": "x" * 6_000}, "1 to 40 letters"),
    ({"heater": "heat-cable", "heater_temperature": 400.0}, "between 5 and 60 °C"),
    ({"founded": "1826-05-01"}, "wrong century"),
    ({"founded": "2027-06-02"}, "up to today"),
    ({"material": "cheese"}, "is no material I know"),
    ({"water_ml": -3.0}, "0.5 to 500 ml"),
)
IMPOSSIBLE_PLACES: tuple[tuple[dict[str, Any], str], ...] = (
    ({"zone": "Europe/Viena"}, "Did you mean Europe/Vienna"),
    ({"zone": "CET"}, "abbreviation"),
    ({"zone": "Europe/Vienna", "temperature": 400}, "between -20 and 45 °C"),
    ({"zone": "Europe/Vienna", "humidity": 130}, "between 1 and 100"),
    ({"zone": "Europe/Vienna", "latitude": 95}, "between -90"),
)


async def test_what_cannot_be_is_refused_with_what_would_be_right(world: ChatWorld) -> None:
    await world.settle_in()
    for options, said in IMPOSSIBLE_COLONIES:
        told = text(await world.register(**options)).replace("\\", "")
        assert said in told
        assert "number: `" not in told
    assert not await world.services.colonies.of(await world.keeper_id()), "nothing was kept"
    expected(world)


async def test_an_impossible_place_is_refused(world: ChatWorld) -> None:
    for options, said in IMPOSSIBLE_PLACES:
        assert said in text(await world.slash("my place", **options)).replace("\\", "")
    assert await world.services.keepers.find(await world.keeper_id()) is None
    expected(world)


async def test_a_name_with_mentions_and_markup_has_no_power(world: ChatWorld) -> None:
    await world.settle_in()
    told = text(await world.register("@everyone **[x](https://a.example)**"))
    assert "@everyone" not in told
    assert "](" not in told
    assert "://" not in told
    assert "@everyone" not in text(await world.slash("colony list"))


async def test_the_same_name_twice_is_refused(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register("Dusk")
    assert "already" in text(await world.register("dusk"))
    expected(world)


async def test_edit_changes_only_what_was_said(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register(brood="some")
    said = await world.slash("colony edit", colony="dusk", workers=200, heater="heat-cable", barrier="ptfe")
    assert "200 workers" in text(said)
    record = (await world.services.colonies.of(await world.keeper_id()))[0].colony
    assert (record.workers, record.brood.level, record.nest.water_ml) == (200, "some", 60)
    assert record.heater is not None
    await world.slash("colony edit", colony="Dusk", heater="none")
    assert (await world.services.colonies.of(await world.keeper_id()))[0].colony.heater is None


async def test_a_colony_of_somebody_else_cannot_be_told_from_none(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    await world.settle_in(world.bela)
    theirs = text(await world.slash("colony show", world.bela, colony="1"))
    none = text(await world.slash("colony show", world.bela, colony="999"))
    assert theirs == none
    assert "not find that among what is yours" in theirs
    assert "You have no colony called" in text(await world.slash("colony show", world.bela, colony="Dusk"))
    expected(world)


async def test_closing_ends_the_reminders(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    assert "Farewell" in text(await world.slash("colony close", colony="Dusk", reason="given to a friend"))
    assert "no colony yet" in text(await world.slash("colony list"))
    world.clock.move(days=3)
    await world.beat()
    assert not world.reminders()


async def test_the_first_colony_opens_the_door_with_a_first_word(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    await world.register(name="Dawn")
    assert [text(message).count("Here I will write to you") for message in world.inbox()] == [1]
    keeper = await world.services.keepers.get(await world.keeper_id())
    assert keeper.channel_id == world.ada.user.dm_channel.id


async def test_a_door_that_is_closed_at_the_first_colony_is_told_at_once(world: ChatWorld) -> None:
    await world.settle_in()
    world.env.inject_error("POST", "/channels/*/messages", status=403, code=50007)
    result = await world.register()
    assert "Welcome, Dusk" in text(result)
    assert "could not reach you" in text(result.followups[-1])


async def test_due_week_why_and_rest_tell_their_reasons(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    due = await world.slash("care due")
    assert "**Water**" in text(due)
    assert any(identifier.startswith("wb:a:done:") for identifier in buttons(due))
    week = text(await world.slash("care week"))
    assert "### The next 7 days" in week
    assert "**Today**" in week
    why = text(await world.slash("care why", colony="Dusk", what="water"))
    for part in ("**The rule**", "**What went in**", "**Where it comes from**", "How sure:"):
        assert part in why
    rest = text(await world.slash("rest show", colony="Dusk"))
    assert "Winter rest of Dusk" in rest
    assert "**Cool-down**" in rest


async def test_a_rest_follows_what_the_keeper_decides(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    said = text(await world.slash("rest plan", colony="Dusk", start="2027-10-20", where="cellar", coldest=6, warmest=9))
    assert "Wed 20 October" in said
    assert "1 to 30 weeks" in text(await world.slash("rest plan", colony="Dusk", weeks=80))
    expected(world)


async def test_due_buttons_work_from_the_command(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    due = await world.slash("care due")
    pressed = await world.ada.click(last(due), custom_id=button(due, "done"))
    assert pressed.acknowledged
    assert "✓" in text(last(due))


async def test_an_answer_by_command_moves_the_plan(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register()
    fed = text(await world.slash("care fed", colony="Dusk", food="sugar-water", taken="taken"))
    assert "Written down for **Dusk**: sugar, all taken" in fed
    watered = await world.slash("care watered", colony="Dusk", found="about dry")
    assert "about dry" in text(watered)
    assert "Next:" in text(watered)
    counted = text(await world.slash("care upkeep", colony="Dusk", what="census", workers=95, day="yesterday"))
    assert "head count" in counted
    assert (await world.services.colonies.of(await world.keeper_id()))[0].colony.workers == 95
    unknown = text(await world.slash("care fed", colony="Dusk", food="pizza"))
    assert "no food called" in unknown
    future = text(await world.slash("care watered", colony="Dusk", day="in 3 days"))
    assert "up to today" in future
    expected(world)


async def test_the_form_of_a_nest(world: ChatWorld) -> None:
    await world.settle_in()
    await world.slash("colony add", species="Lasius niger", workers=12, name="Dusk")
    shown = await world.slash("colony show", colony="Dusk")
    message = last(shown)
    form = await world.ada.click(message, custom_id="wb:nest:1")
    assert form.modal is not None
    fields = {part["label"]: part["component"]["custom_id"] for part in form.modal["components"]}
    filled = {fields["Material"]: ["plaster"], fields["Water"]: "12,5", fields["Room"]: "80"}
    saved = await world.ada.submit_modal(form, filled)
    assert saved.acknowledged
    nest = (await world.services.colonies.of(await world.keeper_id()))[0].colony.nest
    assert (nest.material, nest.kind, nest.water_ml, nest.volume_cm3) == ("plaster", "nest", 12.5, 80)
    form = await world.ada.click(message, custom_id="wb:nest:1")
    assert form.modal is not None
    fields = {part["label"]: part["component"]["custom_id"] for part in form.modal["components"]}
    refused = await world.ada.submit_modal(form, {fields["Water"]: "much"})
    assert "no number I can read" in text(refused)


async def test_another_persons_nest_button_is_refused(world: ChatWorld) -> None:
    await world.settle_in()
    await world.settle_in(world.bela)
    await world.register()
    await world.slash("colony add", world.bela, species="Lasius niger", workers=3, name="Other")
    shown = await world.slash("colony show", world.bela, colony="Other")
    message = last(shown)
    stored = world.env.backend.get_message(message.channel_id, message.id)
    for row in stored.components[-1]["components"]:
        for part in row.get("components", []):
            if part["custom_id"].startswith("wb:nest:"):
                part["custom_id"] = "wb:nest:1"
    forged = await world.bela.click(message, custom_id="wb:nest:1")
    assert forged.modal is None
    assert "not find that among what is yours" in text(forged)


async def test_suggestions(world: ChatWorld) -> None:
    await world.settle_in()
    await world.register("Dusk")
    type_in = world.ada.autocomplete
    names = await type_in(world.hall, "colony add", "species", "las")
    assert {"Lasius niger"} <= {choice["name"] for choice in names}
    assert await type_in(world.hall, "colony add", "species", "Lasus nigr"), "close is enough"
    assert len(await type_in(world.hall, "my place", "zone", "a")) == 25
    assert [choice["value"] for choice in await type_in(world.hall, "my place", "zone", "vienna")] == ["Europe/Vienna"]
    mine = await type_in(world.hall, "colony show", "colony", "du")
    assert [(choice["name"], choice["value"]) for choice in mine] == [("Dusk (Lasius niger)", "1")]
    assert await world.bela.autocomplete(world.hall, "colony show", "colony", "du") == []
    assert await type_in(world.hall, "colony add", "species", "x" * 5_000) == []
    assert await type_in(world.hall, "colony add", "material", "plast")
    assert await type_in(world.hall, "colony add", "barrier", "")
    assert await type_in(world.hall, "care fed", "food", "sug", colony="1")


async def test_trouble_while_suggesting_offers_nothing(world: ChatWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(*_: object) -> None:
        raise RuntimeError

    monkeypatch.setattr(type(world.services.colonies), "of", broken)
    assert await world.ada.autocomplete(world.hall, "colony show", "colony", "du") == []


async def test_a_flood_of_commands_is_slowed(world: ChatWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    await world.settle_in()
    monkeypatch.setattr(type(world.clock), "now", lambda self: self.moment)
    said = [text(await world.slash("colony list")) for _ in range(12)]
    assert "a lot at once" in said[-1]
    expected(world)


async def test_a_surprise_shows_a_number_and_no_internals(world: ChatWorld, monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(*_: object) -> None:
        raise RuntimeError("secret of the cellar")

    monkeypatch.setattr(type(world.services.colonies), "of", broken)
    said = text(await world.slash("colony list"))
    assert "tell a moderator this number: `" in said
    assert "secret" not in said
    expected(world)
