"""Answers between members are delivered like reminders; a sitter writes care down; nobody is asked all the time."""

from __future__ import annotations

from datetime import timedelta

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.errors import NotYoursError
from bot.services.history import History, Wanted
from bot.services.sitting import ASKED_WITHIN, MOST_ASKED
from bot.services.sitting_errors import AskedOftenError, GoneError, SittingAheadError, SittingOverError
from bot.services.sitting_records import NoteKind
from tests.services.kit import ALMA, BRUNO, START, Crash, World, handbook
from tests.services.people import DAYS, TODAY, People, notes

pytestmark = pytest.mark.asyncio
EVENING = START.replace(hour=17)
"""After the digest of the day, 19:00 in Vienna."""


@pytest.fixture
def people(world: World) -> People:
    return People(world)


async def test_an_answer_comes_with_the_digest_of_the_day(people: People) -> None:
    await people.settle()
    await people.agree(heard=False)
    seen = await people.world.walk(START, START + DAYS)
    (note,) = notes(seen)
    assert note.kind is NoteKind.ACCEPTED
    assert note.about == {"member": BRUNO, "since": "2027-06-01", "until": "2027-06-11", "colonies": ["Dusk"]}
    (at,) = [at for at, digest in seen if digest.notes]
    assert at.hour == 16, "18:00 in Vienna"
    assert notes(await people.world.walk(at + timedelta(seconds=1), START + 3 * DAYS)) == []


async def test_after_the_digest_it_comes_at_once_and_takes_the_place_of_none(people: People) -> None:
    await people.settle()
    asked = await people.ask(now=EVENING)
    await people.world.walk(START, EVENING)
    await people.sitters.decline(BRUNO, asked.sitting.id, EVENING)
    (digest,) = await people.world.beat(EVENING)
    assert [note.kind for note in digest.notes] == [NoteKind.DECLINED]
    later = await people.world.walk(EVENING, START + 6 * DAYS)
    assert any(digest.lines for _, digest in later)


async def test_an_answer_outlives_a_crash_and_is_told_once(people: People) -> None:
    await people.settle()
    await people.agree(now=EVENING, heard=False)
    people.world.mailbox.crash_after_send = True
    with pytest.raises(Crash):
        await people.world.beat(EVENING)
    await people.world.walk(EVENING + timedelta(minutes=3), EVENING + 2 * DAYS)
    told = [note.kind for digest in people.world.mailbox.seen for note in digest.notes]
    assert told == [NoteKind.ACCEPTED]


async def test_either_side_hears_that_a_sitting_was_stopped(people: People) -> None:
    await people.settle()
    view = await people.agree(now=EVENING, heard=False)
    await people.world.beat(EVENING)
    await people.sitters.stop(ALMA, view.sitting.id, EVENING)
    seen = [(EVENING, digest) for digest in await people.world.beat(EVENING + timedelta(minutes=1))]
    assert [note.kind for note in notes(seen, BRUNO)] == [NoteKind.STOPPED]


async def test_a_question_taken_back_before_an_answer_tells_nobody(people: People) -> None:
    await people.settle()
    asked = await people.ask(now=EVENING)
    await people.sitters.stop(ALMA, asked.sitting.id, EVENING)
    assert notes(await people.world.walk(EVENING, EVENING + 3 * DAYS), BRUNO) == []


async def test_a_giver_hears_what_became_of_the_offer(people: People) -> None:
    colony_id = await people.settle()
    offer = (await people.handover.offer(ALMA, colony_id, BRUNO, START)).offer.id
    await people.handover.refuse(BRUNO, offer, START)
    with pytest.raises(GoneError):
        await people.handover.refuse(BRUNO, offer, START)
    again = (await people.handover.offer(ALMA, colony_id, BRUNO, START)).offer.id
    await people.handover.accept(BRUNO, again, START)
    told = notes(await people.world.walk(START, START + DAYS))
    assert [(note.kind, note.about) for note in told] == [
        (NoteKind.REFUSED, {"member": BRUNO, "colonies": ["Dusk"]}),
        (NoteKind.MOVED, {"member": BRUNO, "colonies": ["Dusk"]}),
    ]


async def test_a_sitter_writes_down_what_was_done_and_the_history_says_who(people: People) -> None:
    colony_id = await people.settle()
    await people.agree()
    assert await people.world.answers.names(BRUNO, START) == {colony_id: "Dusk (you sit)"}
    entry = LogEntry(day=TODAY, duty=Duty.WATER, outcome=Outcome.ABOUT_DRY)
    await people.world.answers.record(BRUNO, colony_id, entry, START)
    mine = LogEntry(day=TODAY, duty=Duty.SUGAR, outcome=Outcome.DONE)
    await people.world.answers.record(ALMA, colony_id, mine, START)
    history = History(people.world.units, people.world.keepers.planner, handbook())
    page = await history.page(ALMA, colony_id, Wanted(), 1)
    assert [page.sat.get(found) for found in page.entries if found in {entry, mine}] == [None, BRUNO]
    with pytest.raises(NotYoursError):
        await history.page(BRUNO, colony_id, Wanted(), 1)


async def test_a_sitter_writes_down_days_of_the_sitting_only(people: People) -> None:
    colony_id = await people.settle()
    ahead = await people.agree(since=TODAY + 2 * DAYS)
    done = LogEntry(day=TODAY, duty=Duty.WATER, outcome=Outcome.DONE)
    assert await people.world.answers.names(BRUNO, START) == {}
    with pytest.raises(SittingAheadError):
        await people.world.answers.record(BRUNO, colony_id, done, START)
    during = START + 3 * DAYS
    with pytest.raises(BadValueError, match="from 2027-06-03 up to today"):
        await people.world.answers.record(BRUNO, colony_id, done, during)
    await people.sitters.stop(ALMA, ahead.sitting.id, during)
    with pytest.raises(SittingOverError):
        await people.world.answers.record(BRUNO, colony_id, done, during)


async def test_the_same_member_is_not_asked_all_the_time(people: People) -> None:
    await people.settle()
    for _ in range(MOST_ASKED):
        asked = await people.ask()
        await people.sitters.decline(BRUNO, asked.sitting.id, START)
    with pytest.raises(AskedOftenError) as refused:
        await people.ask(now=START + DAYS, since=TODAY + DAYS)
    again = refused.value.again
    assert again == (START + ASKED_WITHIN + DAYS).date()
    late = START + (again - TODAY)
    assert (await people.ask(since=again, now=late)).sitting.since == again
