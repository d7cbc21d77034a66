"""Whole stories of an absence with a sitter: who is reminded, who may answer, what is handed back, and how it ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import REST_STEPS, Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.errors import (
    AlreadyAnsweredError,
    DoorRefusedError,
    NotSetUpError,
    NotYoursError,
    OutcomeUnknownError,
)
from bot.services.keepers import ReminderChanges
from bot.services.records import KeeperId, OccurrenceId
from bot.services.sitting_end import forget_ended
from bot.services.sitting_errors import (
    GoneError,
    RemindersOffError,
    SatAlreadyError,
    SittingAheadError,
    SittingOverError,
)
from bot.services.sitting_records import NoteKind, SittingId
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, Crash, World
from tests.services.people import DAYS, TODAY, People, line, notes

pytestmark = pytest.mark.asyncio
CARLA = KeeperId(3003)


@pytest.fixture
def people(world: World) -> People:
    return People(world)


async def test_the_sitter_is_reminded_with_instructions_and_the_keeper_is_left_in_peace(people: People) -> None:
    await people.settle()
    view = await people.agree()
    assert [(colony.name, colony.species) for colony in view.colonies] == [("Dusk", "Lasius niger")]
    assert Duty.WATER in dict(view.colonies[0].tasks)
    seen = await people.world.walk(START, START + 4 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {BRUNO}
    lines = [found for _, digest in seen for found in digest.lines]
    assert {found.colony_name for found in lines} == {"Dusk (you sit)"}
    water = next(found for found in lines if found.duty is Duty.WATER)
    assert water.reason.startswith("Give about ")
    assert "after watering" not in water.reason, "the reason would tell what was before"


async def test_one_message_for_own_and_sat_colonies(people: People) -> None:
    await people.settle()
    await people.world.register(BRUNO, builders.colony(name="Dusk"))
    await people.agree()
    seen = await people.world.walk(START, START + 3 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {BRUNO}
    assert {found.colony_name for found in seen[0][1].lines} == {"Dusk", "Dusk (you sit)"}
    days = [at.date() for at, digest in seen if not any(found.urgent for found in digest.lines)]
    assert len(days) == len(set(days)), "still one digest a day"


async def test_the_sitters_hours_count(people: People) -> None:
    await people.settle(bruno_zone="America/New_York")
    await people.agree()
    at, _ = (await people.world.walk(START, START + 4 * DAYS))[0]
    assert at.hour == 22, "18:00 in New York in summer"


async def test_without_a_sitter_water_and_rest_steps_keep_coming_to_the_keeper(people: People) -> None:
    await people.settle()
    await people.ask()
    await people.absence.leave(ALMA, (TODAY, TODAY + 10 * DAYS), START)
    seen = await people.world.walk(START, START + 9 * DAYS)
    duties = {found.duty for _, digest in seen for found in digest.lines}
    assert {digest.keeper_id for _, digest in seen} == {ALMA}
    assert Duty.WATER in duties
    assert duties <= {Duty.WATER, Duty.HEAT_CHECK} | REST_STEPS


async def test_an_absence_that_lies_ahead_holds_nothing_back_before(people: People) -> None:
    await people.settle()
    await people.absence.leave(ALMA, (TODAY + 20 * DAYS, TODAY + 30 * DAYS), START)
    before = await people.world.walk(START, START + 4 * DAYS)
    assert {found.duty for _, digest in before for found in digest.lines} - {Duty.WATER, Duty.HEAT_CHECK}


async def test_the_answer_of_a_sitter_lands_in_the_log_and_moves_the_plan(people: People) -> None:
    colony_id = await people.settle()
    await people.agree()
    at, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    recorded = await people.world.answers.done(BRUNO, occurrence, at)
    assert recorded.next_day is not None
    await people.world.answers.verdict(BRUNO, occurrence, Outcome.DAMP, at)
    view = await people.world.colonies.show(ALMA, colony_id, at)
    assert [entry.outcome for entry in view.record.colony.log if entry.duty is Duty.WATER] == [Outcome.DAMP]
    with pytest.raises(AlreadyAnsweredError):
        await people.world.answers.done(ALMA, occurrence, at)
    (shown,) = await people.messages.only(BRUNO, [occurrence], at)
    assert shown.colony_name == "Dusk (you sit)"
    assert not await people.open_rows(ALMA), "the next water is told to the sitter too"


async def test_the_sitter_puts_off_undoes_and_is_shown_what_is_due(people: People) -> None:
    await people.settle()
    await people.agree()
    at, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    due = await people.world.views.due(BRUNO, at)
    assert {found.colony_name for found in due.lines} == {"Dusk (you sit)"}
    await people.world.answers.later(BRUNO, occurrence, at.date() + DAYS, at)
    again = await people.world.walk(at + timedelta(seconds=1), at + 2 * DAYS)
    assert occurrence in [line(found, Duty.WATER) for _, found in again]
    now = people.world.mailbox.now
    await people.world.answers.not_needed(BRUNO, occurrence, now)
    await people.world.answers.undo(BRUNO, occurrence, now)
    await people.world.answers.done(BRUNO, occurrence, now)


async def test_the_report_tells_what_was_done_how_it_was_found_and_what_is_open_once(people: People) -> None:
    await people.settle()
    await people.agree(days=10)
    at, digest = await people.until_water()
    water = OccurrenceId(line(digest, Duty.WATER) or 0)
    await people.world.answers.done(BRUNO, water, at)
    await people.world.answers.verdict(BRUNO, water, Outcome.ABOUT_DRY, at)
    seen = await people.world.walk(people.world.mailbox.now + timedelta(seconds=1), START + 14 * DAYS)
    told = notes(seen)
    assert [note.kind for note in told] == [NoteKind.REPORT]
    (colony,) = told[0].about["colonies"]
    assert colony["name"] == "Dusk"
    (watered,) = [done for done in colony["done"] if done["duty"] == "water"]
    assert (watered["times"], watered["found"]) == (1, {"about dry": 1})
    assert colony["open"], "sugar was never answered"
    first = next(at for at, digest in seen if digest.notes)
    assert first.date() == TODAY + 10 * DAYS
    assert {digest.keeper_id for at, digest in seen if at.date() > TODAY + 10 * DAYS} == {ALMA}


async def test_the_report_survives_a_crash_and_is_seen_once(people: People) -> None:
    await people.settle()
    view = await people.agree()
    await people.world.walk(START, START + 3 * DAYS)
    await people.sitters.stop(BRUNO, view.sitting.id, START + 3 * DAYS)
    people.world.mailbox.trouble = [OutcomeUnknownError("timeout"), Crash()]
    with pytest.raises(Crash):
        await people.world.walk(START + 3 * DAYS, START + 5 * DAYS)
    seen = await people.world.walk(people.world.mailbox.now + timedelta(minutes=3), START + 9 * DAYS)
    assert [note.kind for note in notes(seen)] == [NoteKind.REPORT, NoteKind.STOPPED]


async def test_it_ends_at_midnight_of_the_keeper_wherever_the_sitter_is(people: People) -> None:
    """Kiritimati is twelve hours ahead of Vienna in summer: the sitter's calendar says the next day by noon."""
    await people.settle(bruno_zone="Pacific/Kiritimati")
    await people.agree(days=6)
    _, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    midnight = datetime(2027, 6, 6, 22, 0, tzinfo=UTC)
    await people.world.answers.done(BRUNO, occurrence, midnight - timedelta(seconds=1))
    with pytest.raises(SittingOverError):
        await people.world.answers.undo(BRUNO, occurrence, midnight)
    await people.world.answers.undo(ALMA, occurrence, midnight)


async def test_before_the_first_day_the_keeper_is_reminded_and_the_sitter_is_refused(people: People) -> None:
    colony_id = await people.settle()
    await people.agree(since=TODAY + 12 * DAYS)
    _, digest = await people.until_water()
    assert digest.keeper_id == ALMA
    entry = LogEntry(day=TODAY, duty=Duty.WATER, outcome=Outcome.DONE)
    with pytest.raises(SittingAheadError):
        await people.world.answers.record(BRUNO, colony_id, entry, START)
    with pytest.raises(NotYoursError):
        await people.world.answers.done(BRUNO, OccurrenceId(line(digest, Duty.WATER) or 0), people.world.mailbox.now)
    later = await people.world.walk(people.world.mailbox.now + timedelta(seconds=1), START + 15 * DAYS)
    assert {found.keeper_id for at, found in later if at.date() > TODAY + 12 * DAYS} == {BRUNO}


async def test_a_stranger_changes_nothing(people: People) -> None:
    colony_id = await people.settle()
    view = await people.agree()
    await people.world.settle(CARLA)
    at, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    entry = LogEntry(day=TODAY, duty=Duty.WATER, outcome=Outcome.DONE)
    for refused in (
        people.world.answers.done(CARLA, occurrence, at),
        people.world.answers.record(CARLA, colony_id, entry, at),
        people.messages.of(CARLA, digest.delivery_id, (), at),
    ):
        with pytest.raises(NotYoursError):
            await refused
    for foul in (
        people.sitters.accept(CARLA, view.sitting.id, at),
        people.sitters.stop(CARLA, view.sitting.id, at),
        people.sitters.stop(CARLA, SittingId(99), at),
    ):
        with pytest.raises(GoneError):
            await foul
    assert not (await people.world.colonies.show(ALMA, colony_id, at)).record.colony.log


async def test_a_sitter_reaches_nothing_from_before_their_days(people: People) -> None:
    await people.settle()
    at, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    await people.world.answers.done(ALMA, occurrence, at)
    await people.agree(since=at.date(), now=at)
    for attempt in (people.world.answers.undo, people.world.answers.done):
        with pytest.raises(NotYoursError):
            await attempt(BRUNO, occurrence, at)
    assert await people.messages.only(BRUNO, [occurrence], at) == ()


async def test_a_removed_sitter_is_out_at_once_and_the_keeper_is_told_anew(people: People) -> None:
    await people.settle()
    view = await people.agree()
    at, digest = await people.until_water()
    occurrence = OccurrenceId(line(digest, Duty.WATER) or 0)
    await people.sitters.stop(ALMA, view.sitting.id, at)
    with pytest.raises((SittingOverError, NotYoursError)):
        await people.world.answers.done(BRUNO, occurrence, at)
    with pytest.raises(GoneError):
        await people.sitters.stop(BRUNO, view.sitting.id, at)
    seen = await people.world.walk(at, at + 2 * DAYS)
    assert any(digest.keeper_id == ALMA and line(digest, Duty.WATER) for _, digest in seen)
    assert {digest.keeper_id for _, digest in seen if digest.lines} == {ALMA}


async def test_who_returns_early_gets_everything_back_and_the_report(people: People) -> None:
    await people.settle()
    await people.absence.leave(ALMA, (TODAY, TODAY + 20 * DAYS), START)
    await people.agree(days=20)
    at, digest = await people.until_water()
    await people.world.answers.done(BRUNO, OccurrenceId(line(digest, Duty.WATER) or 0), at)
    back = await people.absence.back(ALMA, at)
    assert (back.was_away, back.was_silent, back.sittings) == (True, False, 1)
    again = await people.absence.back(ALMA, at)
    assert (again.was_away, again.sittings) == (False, 0), "twice changes nothing"
    seen = await people.world.walk(at + timedelta(seconds=1), at + 5 * DAYS)
    assert [note.kind for note in notes(seen)] == [NoteKind.REPORT]
    assert {digest.keeper_id for _, digest in seen} == {ALMA}
    assert {found.duty for _, digest in seen for found in digest.lines} - {Duty.WATER}


async def test_the_older_way_of_saying_back_ends_a_sitting_too(people: People) -> None:
    await people.settle()
    view = await people.agree()
    await people.world.keepers.set_reminders(ALMA, ReminderChanges(back=True), START)
    with pytest.raises(GoneError):
        await people.sitters.stop(BRUNO, view.sitting.id, START)


async def test_one_sitter_at_a_time(people: People) -> None:
    await people.settle()
    await people.ask(days=5)
    with pytest.raises(SatAlreadyError, match="Dusk"):
        await people.sitters.ask(ALMA, CARLA, (), (TODAY + 4 * DAYS, TODAY + 8 * DAYS), START)
    after = await people.sitters.ask(ALMA, CARLA, (), (TODAY + 5 * DAYS, TODAY + 8 * DAYS), START)
    await people.sitters.decline(CARLA, after.sitting.id, START)
    await people.sitters.ask(ALMA, BRUNO, (), (TODAY + 5 * DAYS, TODAY + 8 * DAYS), START)


async def test_a_question_is_answered_once(people: People) -> None:
    await people.settle()
    asked = await people.ask()
    await people.sitters.decline(BRUNO, asked.sitting.id, START)
    for answer in (people.sitters.accept, people.sitters.decline):
        with pytest.raises(GoneError):
            await answer(BRUNO, asked.sitting.id, START)
    again = await people.ask()
    with pytest.raises(GoneError):
        await people.sitters.accept(BRUNO, again.sitting.id, START + 30 * DAYS)


async def test_who_cannot_be_reminded_cannot_accept(people: People) -> None:
    await people.world.settle()
    await people.world.register()
    asked = await people.ask()
    with pytest.raises(NotSetUpError):
        await people.sitters.accept(BRUNO, asked.sitting.id, START)
    await people.world.settle(BRUNO)
    await people.world.keepers.set_reminders(BRUNO, ReminderChanges(on=False), START)
    with pytest.raises(RemindersOffError):
        await people.sitters.accept(BRUNO, asked.sitting.id, START)
    await people.world.keepers.set_reminders(BRUNO, ReminderChanges(on=True), START)
    await people.sitters.accept(BRUNO, asked.sitting.id, START)


@pytest.mark.parametrize(("since", "until"), [(-1, 5), (3, 3), (5, 2), (0, 400)])
async def test_impossible_days_are_refused(people: People, since: int, until: int) -> None:
    await people.settle()
    with pytest.raises(BadValueError, match="absence begins"):
        await people.sitters.ask(ALMA, BRUNO, (), (TODAY + since * DAYS, TODAY + until * DAYS), START)
    with pytest.raises(BadValueError, match="absence begins"):
        await people.absence.leave(ALMA, (TODAY + since * DAYS, TODAY + until * DAYS), START)


async def test_questions_that_make_no_sense_are_refused(people: People) -> None:
    colony_id = await people.settle()
    days = (TODAY, TODAY + DAYS)
    with pytest.raises(BadValueError, match="another member"):
        await people.sitters.ask(ALMA, ALMA, (), days, START)
    with pytest.raises(BadValueError, match="no colony"):
        await people.sitters.ask(BRUNO, ALMA, (), days, START)
    with pytest.raises(NotYoursError):
        await people.sitters.ask(BRUNO, ALMA, (colony_id,), days, START)


async def test_a_sitter_with_closed_doors_hands_back_and_the_keeper_is_told_once(people: People) -> None:
    await people.settle()
    await people.absence.leave(ALMA, (TODAY, TODAY + 20 * DAYS), START)
    await people.agree(days=20)
    people.world.mailbox.refuse = {BRUNO: DoorRefusedError()}
    seen = await people.world.walk(START, START + 9 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {ALMA}
    assert any(line(digest, Duty.WATER) for _, digest in seen)
    told = notes(seen)
    assert [(note.kind, note.about["colonies"]) for note in told] == [(NoteKind.UNREACHABLE, ["Dusk"])]
    people.world.mailbox.refuse = {}
    back = people.world.mailbox.now + timedelta(hours=1)
    await people.world.keepers.came_back(BRUNO, back)
    later = await people.world.walk(back, back + 6 * DAYS)
    assert {digest.keeper_id for at, digest in later} == {BRUNO}, "reached again, the sitter goes on"


async def test_a_sitter_who_turns_reminders_off_hands_back(people: People) -> None:
    await people.settle()
    await people.agree()
    await people.world.keepers.set_reminders(BRUNO, ReminderChanges(on=False), START)
    seen = await people.world.walk(START, START + 5 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {ALMA}
    assert [note.kind for note in notes(seen)] == [NoteKind.UNREACHABLE]


async def test_the_sitters_silence_and_absence_never_hold_water_back(people: People) -> None:
    await people.settle()
    await people.absence.leave(BRUNO, (TODAY, TODAY + 15 * DAYS), START)
    await people.agree(days=15)
    seen = await people.world.walk(START, START + 14 * DAYS)
    watered = [at for at, digest in seen if line(digest, Duty.WATER)]
    assert {digest.keeper_id for _, digest in seen} == {BRUNO}
    assert all(later - earlier <= 2 * DAYS for earlier, later in pairwise(watered))


async def test_a_colony_that_is_closed_while_sat_is_silent(people: People) -> None:
    colony_id = await people.settle()
    await people.agree()
    _, digest = await people.until_water()
    await people.world.colonies.close(ALMA, colony_id, "", people.world.mailbox.now)
    with pytest.raises(NotYoursError):
        await people.world.answers.done(BRUNO, OccurrenceId(line(digest, Duty.WATER) or 0), people.world.mailbox.now)
    now = people.world.mailbox.now + timedelta(seconds=1)
    assert not [digest for _, digest in await people.world.walk(now, START + 9 * DAYS) if digest.lines]


@pytest.mark.parametrize("gone", [ALMA, BRUNO])
async def test_either_side_is_erased(people: People, gone: KeeperId) -> None:
    await people.settle()
    await people.agree()
    at, _ = await people.until_water()
    async with people.world.units() as work:
        await work.keepers.erase(gone)
        await work.commit()
    seen = await people.world.walk(at + timedelta(seconds=1), at + 5 * DAYS)
    assert not people.world.surprises
    if gone is BRUNO:
        assert {digest.keeper_id for _, digest in seen} == {ALMA}
        assert any(line(digest, Duty.WATER) for _, digest in seen)
    else:
        assert seen == []
    assert not await people.sitters.of(ALMA, at)
    assert not await people.sitters.of(BRUNO, at)


async def test_a_crash_while_the_sitter_is_told_and_the_end_before_the_next_try(people: People) -> None:
    """The message left over for the sitter must not tell them of a colony that is no longer theirs to sit."""
    await people.settle()
    await people.agree(days=4)
    people.world.mailbox.trouble = [Crash()]
    with pytest.raises(Crash):
        await people.world.walk(START, START + 3 * DAYS)
    seen = await people.world.walk(START + 5 * DAYS, START + 8 * DAYS)
    assert {digest.keeper_id for _, digest in seen} == {ALMA}
    assert any(line(digest, Duty.WATER) for _, digest in seen)


async def test_both_sides_see_what_is_agreed(people: People) -> None:
    colony_id = await people.settle()
    await people.world.register(colony=replace(builders.colony(), name="Second"))
    asked = await people.sitters.ask(ALMA, BRUNO, (colony_id, colony_id), (TODAY, TODAY + DAYS), START)
    assert len(asked.colonies) == 1, "named twice is named once"
    for who in (ALMA, BRUNO):
        (found,) = await people.sitters.of(who, START)
        assert found.sitting.id == asked.sitting.id
    assert not await people.sitters.of(CARLA, START)
    assert not await people.sitters.of(ALMA, START + DAYS)


async def test_a_sitting_that_is_long_over_is_forgotten_and_others_are_not(people: People) -> None:
    await people.settle()
    asked = await people.ask()
    await people.sitters.decline(BRUNO, asked.sitting.id, START)
    for now, left in ((START + 59 * DAYS, True), (START + 61 * DAYS, False)):
        await forget_ended(people.world.units, now)
        async with people.world.units() as work:
            assert (await work.sittings.get(asked.sitting.id) is not None) is left
