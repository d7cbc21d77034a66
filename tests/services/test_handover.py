"""A colony changes hands for good, and a silent keeper comes back with one step."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.care.colony import LogEntry, RestWishes
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.errors import NotSetUpError, NotYoursError, TooManyError
from bot.services.records import ColonyId, KeeperId, OccurrenceId, OccurrenceState
from bot.services.silence import ASK_AFTER
from bot.services.sitting_errors import GoneError
from bot.services.sitting_records import OfferId
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, World
from tests.services.people import DAYS, TODAY, People, line

pytestmark = pytest.mark.asyncio
CARLA = KeeperId(3003)


@pytest.fixture
def people(world: World) -> People:
    return People(world)


async def give(people: People, colony_id: ColonyId) -> OfferId:
    """Alma confirms that Bruno shall have the colony."""
    return (await people.handover.offer(ALMA, colony_id, BRUNO, START)).offer.id


async def test_a_colony_moves_with_its_history_and_the_old_keeper_keeps_nothing(people: People) -> None:
    colony_id = await people.settle()
    entry = LogEntry(day=TODAY, duty=Duty.SUGAR, outcome=Outcome.DONE)
    await people.world.answers.record(ALMA, colony_id, entry, START)
    moved = await people.handover.accept(BRUNO, await give(people, colony_id), START)
    assert moved.renamed is None
    assert [record.id for record in await people.world.colonies.of(BRUNO)] == [colony_id]
    assert await people.world.colonies.of(ALMA) == []
    view = await people.world.colonies.show(BRUNO, colony_id, START)
    assert view.record.colony.log == (entry,)
    with pytest.raises(NotYoursError):
        await people.world.colonies.show(ALMA, colony_id, START)
    assert not await people.open_rows(ALMA)
    seen = await people.world.walk(START, START + 12 * DAYS)
    assert {digest.keeper_id for _, digest in seen if digest.lines} == {BRUNO}
    assert any(line(digest, Duty.WATER) for _, digest in seen)


async def test_an_old_message_of_the_giver_is_refused(people: People) -> None:
    colony_id = await people.settle()
    at, digest = await people.until_water()
    await people.handover.accept(BRUNO, await give(people, colony_id), at)
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    with pytest.raises(NotYoursError):
        await people.world.answers.done(ALMA, occurrence, at)
    assert await people.messages.of(ALMA, digest.delivery_id, (), at) == ()
    async with people.world.units() as work:
        row = await work.occurrences.get(occurrence)
        await work.keepers.erase(ALMA)
        assert await work.occurrences.get(occurrence) == row, "the history does not go with the giver"
    assert row is not None
    assert row.keeper_id == BRUNO
    again = await people.world.walk(at + timedelta(seconds=1), at + 2 * DAYS)
    assert any(digest.keeper_id == BRUNO and line(digest, Duty.WATER) for _, digest in again), "water is told anew"


async def test_the_new_place_counts_and_the_old_one_stays_behind(people: People) -> None:
    await people.world.settle()
    await people.world.settle(BRUNO, "Australia/Sydney")
    rest = RestWishes(place="cellar", place_low_c=5.0, place_high_c=8.0, weeks=14.0)
    colony = replace(builders.colony(), rest=rest)
    colony_id = (await people.world.register(colony=colony)).record.id
    moved = (await people.handover.accept(BRUNO, await give(people, colony_id), START)).colony.colony
    assert (moved.place, moved.arrived, moved.rest.place, moved.rest.place_low_c) == (None, TODAY, None, None)
    assert moved.rest.from_other_hemisphere_since == TODAY
    assert moved.rest.weeks == 14.0
    rows = await people.open_rows(BRUNO)
    assert {row.occurrence.due_at.hour for row in rows} <= {8, 22}, "18:00 or 08:00 in Sydney"


async def test_a_name_that_is_taken_gets_a_number(people: People) -> None:
    colony_id = await people.settle()
    await people.world.register(BRUNO)
    await people.world.register(BRUNO, builders.colony(name="dusk 2"))
    moved = await people.handover.accept(BRUNO, await give(people, colony_id), START)
    assert (moved.renamed, moved.colony.colony.name) == ("Dusk", "Dusk 3")


async def test_a_full_household_takes_no_more(people: People, monkeypatch: pytest.MonkeyPatch) -> None:
    colony_id = await people.settle()
    await people.world.register(BRUNO, builders.colony(name="Own"))
    monkeypatch.setattr("bot.services.handover.MOST_COLONIES", 1)
    offer = await give(people, colony_id)
    with pytest.raises(TooManyError):
        await people.handover.accept(BRUNO, offer, START)
    assert [record.id for record in await people.world.colonies.of(ALMA)] == [colony_id]


async def test_only_the_one_it_was_offered_to_may_accept_and_only_once(people: People) -> None:
    colony_id = await people.settle()
    await people.world.settle(CARLA)
    offer = await give(people, colony_id)
    for who in (CARLA, ALMA):
        with pytest.raises(GoneError):
            await people.handover.accept(who, offer, START)
    with pytest.raises(GoneError):
        await people.handover.refuse(CARLA, offer, START)
    await people.handover.accept(BRUNO, offer, START)
    with pytest.raises(GoneError):
        await people.handover.accept(BRUNO, offer, START)


async def test_either_side_may_think_better_of_it(people: People) -> None:
    colony_id = await people.settle()
    for who in (ALMA, BRUNO):
        offer = await give(people, colony_id)
        assert [view.name for view in await people.handover.of(who, START)] == ["Dusk"]
        await people.handover.refuse(who, offer, START)
        with pytest.raises(GoneError):
            await people.handover.accept(BRUNO, offer, START)
        assert not await people.handover.of(who, START)


async def test_an_offer_ends_after_two_weeks_or_with_the_colony(people: People) -> None:
    colony_id = await people.settle()
    offer = await give(people, colony_id)
    with pytest.raises(GoneError):
        await people.handover.accept(BRUNO, offer, START + 14 * DAYS)
    assert not await people.handover.of(BRUNO, START + 14 * DAYS)
    await people.world.colonies.close(ALMA, colony_id, "", START)
    with pytest.raises(GoneError):
        await people.handover.accept(BRUNO, offer, START)


async def test_offers_that_make_no_sense_are_refused(people: People) -> None:
    colony_id = await people.settle()
    with pytest.raises(BadValueError, match="yours already"):
        await people.handover.offer(ALMA, colony_id, ALMA, START)
    with pytest.raises(NotYoursError):
        await people.handover.offer(BRUNO, colony_id, CARLA, START)
    offer = (await people.handover.offer(ALMA, colony_id, CARLA, START)).offer.id
    with pytest.raises(NotSetUpError):
        await people.handover.accept(CARLA, offer, START)


async def test_a_sat_colony_leaves_its_sitter_when_it_moves(people: People) -> None:
    colony_id = await people.settle()
    await people.world.settle(CARLA)
    asked = await people.sitters.ask(ALMA, CARLA, (), (TODAY, TODAY + 9 * DAYS), START)
    await people.sitters.accept(CARLA, asked.sitting.id, START)
    await people.handover.accept(BRUNO, await give(people, colony_id), START)
    assert not await people.open_rows(CARLA)
    entry = LogEntry(day=TODAY, duty=Duty.WATER, outcome=Outcome.DONE)
    with pytest.raises(NotYoursError):
        await people.world.answers.record(CARLA, colony_id, entry, START)
    seen = await people.world.walk(START, START + 12 * DAYS)
    assert {digest.keeper_id for _, digest in seen if digest.lines} == {BRUNO}


async def test_a_message_on_its_way_to_the_giver_is_dropped(people: People) -> None:
    colony_id = await people.settle()
    offer = await give(people, colony_id)

    async def take() -> None:
        await people.handover.accept(BRUNO, offer, people.world.mailbox.now)

    people.world.mailbox.meanwhile = {ALMA: take}
    at, _ = await people.until_water()
    async with people.world.units() as work:
        rows = await work.occurrences.open_of(colony_id)
    assert {row.reader for row in rows} == {BRUNO}
    assert all(row.state is OccurrenceState.PLANNED for row in rows)
    seen = await people.world.walk(at + timedelta(seconds=1), at + 3 * DAYS)
    assert {digest.keeper_id for _, digest in seen if digest.lines} == {BRUNO}


async def test_after_the_kind_question_one_step_brings_everything_back(people: People) -> None:
    await people.settle()
    keeper = await people.keeper()
    async with people.world.units() as work:
        await work.keepers.save(replace(keeper, unanswered=ASK_AFTER - 2))
        await work.commit()
    silent = [digest for _, digest in await people.world.walk(START, START + 12 * DAYS)]
    asked = next(index for index, digest in enumerate(silent) if digest.notice)
    assert asked == 2
    assert "I am back" in (silent[asked].notice or "")
    assert all(digest.resting for digest in silent[asked:])
    assert not any(digest.resting for digest in silent[:asked])
    assert {found.duty for digest in silent[asked + 1 :] for found in digest.lines} <= {Duty.WATER, Duty.HEAT_CHECK}
    now = people.world.mailbox.now + timedelta(hours=1)
    back = await people.absence.back(ALMA, now)
    assert (back.was_silent, back.keeper.unanswered) == (True, 0)
    assert not (await people.absence.back(ALMA, now)).was_silent
    week = await people.world.walk(now, now + 8 * DAYS)
    assert {found.duty for _, digest in week for found in digest.lines} - {Duty.WATER, Duty.HEAT_CHECK}
    assert not any(digest.resting for _, digest in week)
