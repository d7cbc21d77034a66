"""Feeder cultures in the chat: begun, shown, looked after by a button, noted, ended; offered while typing."""

from __future__ import annotations

import pytest

from tests.chat.world import ChatWorld, button, last, line_of, text

pytestmark = pytest.mark.asyncio


async def test_a_culture_from_its_first_day_to_its_last(world: ChatWorld) -> None:
    await world.settle_in()
    assert "no feeder culture here yet" in text(await world.slash("culture show"))
    begun = text(await world.slash("culture add", kind="mealworm", name="Oat tub", started="2027-05-20", animals=200))
    assert "Oat tub" in begun
    assert begun.index("asthma") < begun.index("Oat tub"), "cautions first"
    assert "The first should be grown between" in begun
    assert "have no figure" in text(await world.slash("culture add", kind="feeder roaches", temperature=28))
    told = text(await world.slash("culture show"))
    assert told.index("feeder roaches") < told.index("Oat tub")
    assert "7 taken out" in text(await world.slash("culture done", culture="oat tub", taken=7))
    failing = text(await world.slash("culture done", culture="Oat tub", died=50))
    assert "Freeze the whole culture" in failing
    assert failing.index("takes poison out of an insect") < failing.index("Written down")
    shown = text(await world.slash("culture show"))
    assert "In the last 4 weeks: 7 taken out, 50 died." in shown
    assert "Begun Thu 20 May, about 200 animals." in shown
    assert "no more" in text(await world.slash("culture remove", culture="Oat tub"))
    assert "Oat tub" not in text(await world.slash("culture show"))
    reasons = text(await world.slash("culture show", culture="feeder roaches"))
    assert "**The rule** Cultures are looked after at a fixed interval" in reasons
    assert "Begun: not known" in reasons
    assert "How sure: our own judgement." in reasons
    assert "You have no culture called" in text(await world.slash("culture done", culture="Oat tub"))
    assert world.env.errors


async def test_its_care_comes_with_the_daily_reminder_and_is_answered_there(world: ChatWorld) -> None:
    await world.settle_in()
    await world.slash("culture add", kind="mealworm", name="Oat tub")
    message = await world.reminder()
    assert "### Oat tub" in text(message)
    assert "Oat tub: **feeder insects**" in text(await world.slash("care week", days=14))
    line = line_of(message, "Feeder insects")
    await world.ada.user.click(message, custom_id=button(message, "done", line))
    assert "✓ **Feeder insects** done. Next:" in text(world.inbox()[-1])
    assert "looked after" in text(await world.slash("culture done", culture="Oat tub"))


async def test_kinds_and_own_cultures_are_offered_while_typing(world: ChatWorld) -> None:
    await world.settle_in()
    await world.slash("culture add", kind="fruit-fly", name="Jar")
    kinds = await world.ada.autocomplete(world.hall, "culture add", "kind", "cri")
    assert {choice["value"] for choice in kinds} == {"house-cricket", "field-cricket"}
    offered = await world.ada.autocomplete(world.hall, "culture done", "culture", "j")
    assert [choice["name"] for choice in offered] == ["Jar"]
    assert await world.bela.autocomplete(world.hall, "culture done", "culture", "j") == []


@pytest.mark.parametrize("trusted", [True, False])
async def test_a_sitter_sees_the_cultures_only_where_the_keeper_says_so(world: ChatWorld, *, trusted: bool) -> None:
    await world.settle_in()
    await world.settle_in(world.bela)
    await world.register()
    await world.slash("culture add", kind="mealworm", name="Oat tub", animals=200)
    asked = await world.slash("my away", until="in 10 days", sitter=world.bela.user, feeders=trusted)
    assert ("Oat tub (mealworms)" in text(asked)) is trusted
    accepted = await world.bela.click(last(await world.slash("my requests", world.bela)), label="I will sit")
    told = text(accepted)
    assert ("Every 7 days: Take wet vegetables out" in told) is trusted
    assert ("as the keeper showed you" in told) is trusted
    noted = text(await world.slash("culture done", world.bela, culture="1", taken=3))
    assert ("Written down for **Oat tub**: 3 taken out." in noted) is trusted
    assert "200 animals" not in noted, "what the keeper knows of it is not the sitter's"
    assert "In the last 4 weeks" not in noted
    assert bool(world.env.errors) is not trusted
