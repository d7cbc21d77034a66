"""Feeder cultures of a keeper: in the daily digest with answers, sat for where the keeper allows, gone at the end."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.duty import Duty
from bot.care.errors import BadValueError, UnknownNameError
from bot.services.cultures import Cultures, CultureView
from bot.services.errors import AlreadyAnsweredError, DuplicateNameError, NoLongerDueError, NotYoursError
from bot.services.line_answers import LineAnswers
from bot.services.ports import Digest, DigestLine
from tests.services.kit import ALMA, BRUNO, START, World, handbook
from tests.services.people import People

pytestmark = pytest.mark.asyncio
DAYS = timedelta(days=1)
TODAY = START.date()
TUB = Culture(key="", name="Oat  tub", kind="Mealworm", started=TODAY - 30 * DAYS, animals=200)


def cases(world: World) -> Cultures:
    return Cultures(world.units, world.keepers.planner, handbook())


def answers(world: World) -> LineAnswers:
    return LineAnswers(world.units, world.answers)


async def begun(world: World) -> CultureView:
    await world.settle()
    return await cases(world).add(ALMA, TUB, START)


def line_of(digest: Digest) -> DigestLine | None:
    return next((line for line in digest.lines if line.duty is Duty.FEEDER_CARE), None)


async def first_line(world: World, days: int = 10) -> DigestLine:
    for _, digest in await world.walk(START, START + days * DAYS):
        if (line := line_of(digest)) is not None:
            return line
    raise AssertionError("no care of a culture")


async def test_a_culture_is_begun_by_name_and_told_with_cautions(world: World) -> None:
    view = await begun(world)
    culture = view.record.culture
    assert (culture.name, culture.kind, culture.registered) == ("Oat tub", "mealworm", TODAY)
    assert "between" in view.plan.growth
    assert {"FEEDER-ALLERGY", "FEEDER-ESCAPE"} <= {caution.id for caution in view.cautions}
    with pytest.raises(DuplicateNameError):
        await cases(world).add(ALMA, TUB, START)
    with pytest.raises(UnknownNameError, match="mealworm"):
        await cases(world).add(ALMA, Culture(key="", name="Pond", kind="whales"), START)
    with pytest.raises(BadValueError, match="up to today"):
        await cases(world).add(ALMA, Culture(key="", name="Jar", kind="mealworm", started=date(2031, 1, 1)), START)


async def test_its_care_comes_in_the_digest_of_the_colonies(world: World) -> None:
    await begun(world)
    await world.register()
    seen = [digest for _, digest in await world.walk(START, START + 9 * DAYS, answering=True)]
    days = [digest for digest in seen if line_of(digest) is not None]
    assert len(days) == 1
    assert {line.colony_name for line in days[0].lines} > {"Oat tub"}


async def test_done_moves_the_next_care_and_undo_brings_it_back(world: World) -> None:
    await begun(world)
    line = await first_line(world)
    now = world.mailbox.now
    await answers(world).done(ALMA, line.occurrence_id, now)
    with pytest.raises(AlreadyAnsweredError):
        await answers(world).not_needed(ALMA, line.occurrence_id, now)
    found = (await cases(world).of(ALMA, now))[0]
    assert found.cared_on == now.date()
    assert found.plan.occurrences[0].day == now.date() + 7 * DAYS
    await answers(world).undo(ALMA, line.occurrence_id, now)
    assert (await cases(world).of(ALMA, now))[0].cared_on is None
    await world.settle(BRUNO)
    with pytest.raises(NotYoursError):
        await answers(world).done(BRUNO, line.occurrence_id, now)


async def test_later_puts_it_off_and_nothing_is_asked_afterwards(world: World) -> None:
    await begun(world)
    line = await first_line(world)
    now = world.mailbox.now
    await answers(world).later(ALMA, line.occurrence_id, now.date() + 2 * DAYS, now)
    again = [digest for _, digest in await world.walk(now, now + 3 * DAYS) if line_of(digest) is not None]
    assert len(again) == 1
    with pytest.raises(NoLongerDueError):
        await answers(world).undo(ALMA, line.occurrence_id, now)


async def test_care_and_deaths_are_noted_without_a_reminder(world: World) -> None:
    view = await begun(world)
    note = cases(world).note
    await note(ALMA, view.record.id, CultureEntry(day=TODAY, event=CultureEvent.TAKEN, animals=30), START)
    found = await note(ALMA, view.record.id, CultureEntry(day=TODAY, event=CultureEvent.DIED, animals=40), START)
    assert (found.taken, found.died, found.plan.failing) == (30, 40, True)
    assert "PREY-POISON" in {caution.id for caution in found.cautions}
    line = await first_line(world, days=1)
    assert "Freeze the whole culture" in line.reason
    with pytest.raises(BadValueError, match="up to today"):
        await note(ALMA, view.record.id, CultureEntry(day=TODAY + DAYS, event=CultureEvent.CARE), START)
    await world.settle(BRUNO)
    with pytest.raises(NotYoursError):
        await note(BRUNO, view.record.id, CultureEntry(day=TODAY, event=CultureEvent.CARE), START)


async def test_nothing_is_said_of_a_culture_that_ended(world: World) -> None:
    view = await begun(world)
    await world.settle(BRUNO)
    with pytest.raises(NotYoursError):
        await cases(world).remove(BRUNO, view.record.id, START)
    await cases(world).remove(ALMA, view.record.id, START)
    assert not await cases(world).of(ALMA, START)
    assert not [digest for _, digest in await world.walk(START, START + 9 * DAYS) if line_of(digest) is not None]


async def test_a_trusted_sitter_is_reminded_answers_and_hands_back(world: World) -> None:
    people = People(world)
    await people.settle()
    await cases(world).add(ALMA, TUB, START)
    days = (TODAY, TODAY + 20 * DAYS)
    asked = await people.sitters.ask(ALMA, BRUNO, (), days, START, feeders=True)
    view = await people.sitters.accept(BRUNO, asked.sitting.id, START)
    assert [(feeder.name, feeder.every_days) for feeder in view.feeders] == [("Oat tub", 7)]
    seen = await world.walk(START, START + 9 * DAYS)
    told = [(digest.keeper_id, line) for _, digest in seen if (line := line_of(digest)) is not None]
    assert [keeper for keeper, _ in told] == [BRUNO]
    line = told[0][1]
    assert line.colony_name == "Oat tub (you sit)"
    assert "as the keeper showed you" in line.reason
    now = world.mailbox.now
    await answers(world).done(BRUNO, line.occurrence_id, now)
    found = (await cases(world).of(ALMA, now))[0]
    assert found.cared_on == now.date()
    await people.sitters.stop(ALMA, asked.sitting.id, now)
    with pytest.raises(NotYoursError):
        await answers(world).undo(BRUNO, line.occurrence_id, now)
    async with world.units() as work:
        (note,) = await work.notes.due([ALMA], now + 2 * DAYS)
        rows = await work.occurrences.open_of_all([found.record.subject])
    assert {one["name"] for one in note.about["colonies"]} == {"Dusk", "Oat tub"}
    assert all(row.recipient_id is None for row in rows)


async def test_a_sitter_who_was_not_trusted_with_them_hears_nothing_of_cultures(world: World) -> None:
    people = People(world)
    await people.settle()
    view = await cases(world).add(ALMA, TUB, START)
    agreed = await people.agree()
    assert agreed.feeders == ()
    with pytest.raises(NotYoursError):
        await cases(world).note(BRUNO, view.record.id, CultureEntry(day=TODAY, event=CultureEvent.CARE), START)
    seen = await world.walk(START, START + 8 * DAYS)
    assert BRUNO not in [digest.keeper_id for _, digest in seen if line_of(digest) is not None]
