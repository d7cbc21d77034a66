"""Answers for one asker: what records add, whose colony is meant, and what stays when the records cannot be reached."""

from __future__ import annotations

from types import TracebackType
from typing import Any, Self

import pytest

from bot.services.asking import Asking
from bot.services.errors import NotYoursError, RecordsError
from bot.services.records import ColonyId
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, World
from tests.shelf import guide, handbook

pytestmark = pytest.mark.asyncio
HANDBOOK = handbook()
EMERGENCIES = {
    "my throat swells after an ant sting": "STG-01",
    "the lid was open and they escaped": "BAR-13",
    "hitzewelle, 38 grad im nest": "FIX-03",
}


class NoRecords:
    """A unit of work of a store that is down."""

    async def __aenter__(self) -> Self:
        raise RecordsError("the disk is gone")

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...


def no_records() -> Any:
    return NoRecords()


@pytest.mark.parametrize(("question", "caution"), EMERGENCIES.items())
async def test_an_emergency_is_answered_without_records(question: str, caution: str) -> None:
    asking = Asking(no_records, HANDBOOK, guide)
    advice = await asking.answer(ALMA, question, ColonyId(7), START)
    assert advice.card is not None
    assert caution in {found.id for found in advice.cautions}
    assert advice.impersonal


async def test_a_near_card_and_the_helpers_need_no_records_either() -> None:
    asking = Asking(no_records, HANDBOOK, guide)
    advice = await asking.card(ALMA, "escape-now", START)
    assert advice.impersonal
    assert advice.cautions
    assert await asking.helpers(5) is None


async def test_with_records_nothing_is_said_about_them() -> None:
    advice = await Asking(no_records, HANDBOOK, guide).preview("the lid was open and they escaped")
    assert not advice.impersonal


async def test_what_is_said_of_some_ants_is_not_said_of_whatever_the_asker_keeps() -> None:
    asking = Asking(no_records, HANDBOOK, guide)
    for advice in (
        await asking.preview("do I need to hibernate my ants"),
        await asking.card(ALMA, "rest-needed", START),
    ):
        (said,) = (found.text for found in advice.cautions if found.id == "REST-ENDO")
        assert said == f"Species with an inner clock: {HANDBOOK.cautions['REST-ENDO'].text}"


async def test_the_named_ant_is_told_with_its_sources_instead_of_the_only_colony(world: World) -> None:
    await world.settle()
    await world.register(colony=builders.colony(name="Anna", species="Lasius niger"))
    advice = await Asking(world.units, HANDBOOK, guide).answer(ALMA, "does Messor barbarus hibernate?", None, START)
    assert advice.about.startswith("**Messor barbarus** rests")
    assert "Anna" not in advice.about + advice.text
    weeks = HANDBOOK.species["Messor barbarus"].evidence["rest_weeks"]
    assert HANDBOOK.sources[weeks.sources[0]].citation in advice.about_citations


async def test_a_near_card_and_a_post_are_about_the_ants_that_were_named() -> None:
    asking = Asking(no_records, HANDBOOK, guide)
    for found in (
        await asking.card(ALMA, "rest-needed", START, ants=("Atta cephalotes", "gone since")),
        await asking.public("rest-needed", ("REST-TROPICAL",), ("Atta cephalotes",)),
    ):
        assert "Atta cephalotes needs none." in found.text
        said = next(caution.text for caution in found.cautions if caution.id == "REST-TROPICAL")
        assert said.startswith("Atta cephalotes: ")


async def test_a_near_card_is_about_the_colony_that_was_named(world: World) -> None:
    await world.settle()
    for name in ("Anna", "Bea"):
        await world.register(colony=builders.colony(name=name))
    mine = {record.colony.name: record.id for record in await world.colonies.of(ALMA)}
    asking = Asking(world.units, HANDBOOK, guide)
    named = await asking.answer(ALMA, "the tube is nearly dry", mine["Bea"], START)
    near = await asking.card(ALMA, "watering-nest", START, colony_id=named.colony_id)
    assert "Bea" in near.text
    assert "Bea" not in (await asking.card(ALMA, "watering-nest", START)).text
    await world.settle(BRUNO)
    with pytest.raises(NotYoursError):
        await asking.card(BRUNO, "watering-nest", START, colony_id=mine["Bea"])


async def test_of_several_colonies_the_one_that_the_question_tells_is_meant(world: World) -> None:
    await world.settle()
    for name in ("Anna", "Bea"):
        await world.register(colony=builders.colony(name=name))
    mine = {record.colony.name: record.id for record in await world.colonies.of(ALMA)}
    asking = Asking(world.units, HANDBOOK, guide)
    for name, colony_id in mine.items():
        advice = await asking.answer(ALMA, f"how do i water {name.lower()}", None, START)
        assert advice.colony_id == colony_id
        assert name in advice.text
        assert not advice.unsaid
    vague = await asking.answer(ALMA, "how do i water my ants", None, START)
    assert vague.colony_id is None
    assert vague.unsaid
    told_of_the_species = await asking.answer(ALMA, "how do i water lasius niger", None, START)
    assert told_of_the_species.colony_id is None
    assert not (await asking.answer(ALMA, "can ants see colours", None, START)).unsaid
