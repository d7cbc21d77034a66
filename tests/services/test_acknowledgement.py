"""Answers: idempotent, checked for ownership, written into the log, and moving the plan on."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError
from bot.services.errors import AlreadyAnsweredError, NotYoursError
from bot.services.ports import Digest
from bot.services.records import OccurrenceId
from tests.care import builders
from tests.services.kit import ALMA, BRUNO, START, World

pytestmark = pytest.mark.asyncio
DAYS = timedelta(days=1)


async def water_reminder(world: World) -> OccurrenceId:
    """Walk until water is due; returns the occurrence behind the line."""
    await world.settle()
    await world.register()
    for _, digest in await world.walk(START, START + 15 * DAYS):
        found = line_of(digest, Duty.WATER)
        if found is not None:
            return found
    raise AssertionError("no water within two weeks")


def line_of(digest: Digest, duty: Duty) -> OccurrenceId | None:
    return next((line.occurrence_id for line in digest.lines if line.duty is duty), None)


async def test_done_moves_the_next_date_and_asks_how_it_was(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now + timedelta(minutes=5)
    recorded = await world.answers.done(ALMA, occurrence, now)
    assert recorded.next_day is not None
    assert recorded.next_day > now.date()
    assert Outcome.ABOUT_DRY in recorded.ask


async def test_a_second_press_changes_nothing(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now + timedelta(minutes=5)
    first = await world.answers.done(ALMA, occurrence, now)
    with pytest.raises(AlreadyAnsweredError):
        await world.answers.done(ALMA, occurrence, now + timedelta(seconds=2))
    view = await world.colonies.show(ALMA, first.colony.id, now)
    assert [entry.duty for entry in view.record.colony.log].count(Duty.WATER) == 1


async def test_a_damp_look_in_the_cold_waters_nothing(world: World) -> None:
    winter = START + 170 * DAYS
    await world.settle(now=winter)
    view = await world.register(now=winter)
    before = view.record.colony.nest.watered_side
    for _, digest in await world.walk(winter, winter + 40 * DAYS):
        occurrence = line_of(digest, Duty.WATER)
        line = next((line for line in digest.lines if line.duty is Duty.WATER), None)
        if occurrence is not None and line is not None and "gives" in line.facts:
            break
    else:
        raise AssertionError("no look at the water in a rest")
    await world.answers.done(ALMA, occurrence, world.mailbox.now)
    found = await world.answers.verdict(ALMA, occurrence, Outcome.DAMP, world.mailbox.now)
    entry = found.colony.colony.log[-1]
    assert (entry.outcome, entry.side, found.colony.colony.nest.watered_side) == (Outcome.DAMP, None, before)


async def test_somebody_elses_reminder_is_refused_and_nothing_changes(world: World) -> None:
    occurrence = await water_reminder(world)
    await world.settle(BRUNO)
    with pytest.raises(NotYoursError):
        await world.answers.done(BRUNO, occurrence, world.mailbox.now)
    await world.answers.done(ALMA, occurrence, world.mailbox.now)


async def test_an_identifier_that_never_was_is_answered_like_a_stranger(world: World) -> None:
    await world.settle()
    with pytest.raises(NotYoursError):
        await world.answers.done(ALMA, OccurrenceId(987654), START)


async def test_still_damp_lengthens_and_bone_dry_shortens_the_next_interval(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now
    await world.answers.done(ALMA, occurrence, now)
    plain = await world.answers.verdict(ALMA, occurrence, Outcome.ABOUT_DRY, now)
    dry = await world.answers.verdict(ALMA, occurrence, Outcome.BONE_DRY, now)
    assert plain.next_day is not None
    assert dry.next_day is not None
    assert dry.next_day <= plain.next_day
    view = await world.colonies.show(ALMA, dry.colony.id, now)
    water = [entry for entry in view.record.colony.log if entry.duty is Duty.WATER]
    assert [entry.outcome for entry in water] == [Outcome.BONE_DRY], "the verdict replaces the Done of that day"


async def test_the_other_side_is_next(world: World) -> None:
    occurrence = await water_reminder(world)
    before = (await world.colonies.of(ALMA))[0].colony.nest.watered_side
    recorded = await world.answers.done(ALMA, occurrence, world.mailbox.now)
    assert recorded.colony.colony.nest.watered_side is before.other


async def test_later_comes_back_at_the_digest_hour_of_that_day(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now
    until = now.date() + DAYS
    await world.answers.later(ALMA, occurrence, until, now)
    seen = await world.walk(now + timedelta(seconds=1), now + 2 * DAYS)
    again = [at for at, digest in seen if line_of(digest, Duty.WATER) == occurrence]
    assert [at.date() for at in again] == [until]


async def test_later_in_the_past_or_next_year_is_refused(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now
    for until in (now.date(), now.date() + 31 * DAYS):
        with pytest.raises(BadValueError, match="tomorrow"):
            await world.answers.later(ALMA, occurrence, until, now)


async def test_not_needed_brings_a_second_look_sooner_than_a_watering(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now
    done = await world.answers.done(ALMA, occurrence, now)
    await world.answers.undo(ALMA, occurrence, now)
    looked = await world.answers.not_needed(ALMA, occurrence, now)
    assert done.next_day is not None
    assert looked.next_day is not None
    assert now.date() < looked.next_day < done.next_day


async def test_undo_takes_the_log_entry_back(world: World) -> None:
    occurrence = await water_reminder(world)
    now = world.mailbox.now
    recorded = await world.answers.done(ALMA, occurrence, now)
    await world.answers.undo(ALMA, occurrence, now)
    view = await world.colonies.show(ALMA, recorded.colony.id, now)
    assert view.record.colony.last(Duty.WATER) is None
    await world.answers.done(ALMA, occurrence, now)


async def test_an_old_message_still_counts_and_closes_the_newer_reminder(world: World) -> None:
    occurrence = await water_reminder(world)
    seen = await world.walk(world.mailbox.now + timedelta(seconds=1), world.mailbox.now + 5 * DAYS)
    newer = [line_of(digest, Duty.WATER) for _, digest in seen]
    newest = next(found for found in reversed(newer) if found is not None)
    assert newest != occurrence
    await world.answers.done(ALMA, occurrence, world.mailbox.now)
    with pytest.raises(AlreadyAnsweredError):
        await world.answers.done(ALMA, newest, world.mailbox.now)


async def test_feeding_by_command_sets_the_leftovers_reminder(world: World) -> None:
    await world.settle()
    view = await world.register()
    entry = LogEntry(day=START.date(), duty=Duty.PROTEIN, outcome=Outcome.DONE, food="fruit-fly")
    recorded = await world.answers.record(ALMA, view.record.id, entry, START)
    assert recorded.leftovers_day is not None
    assert START.date() <= recorded.leftovers_day <= START.date() + 3 * DAYS


async def test_a_day_in_the_future_is_refused(world: World) -> None:
    await world.settle()
    view = await world.register()
    entry = LogEntry(day=START.date() + DAYS, duty=Duty.WATER, outcome=Outcome.DONE)
    with pytest.raises(BadValueError, match="up to today"):
        await world.answers.record(ALMA, view.record.id, entry, START)


async def test_a_census_sets_the_workers(world: World) -> None:
    await world.settle()
    view = await world.register(colony=builders.colony(workers=20))
    entry = LogEntry(day=START.date(), duty=Duty.CENSUS, outcome=Outcome.DONE, count=34)
    recorded = await world.answers.record(ALMA, view.record.id, entry, START)
    assert recorded.colony.colony.workers == 34


async def test_any_answer_ends_a_silence(world: World) -> None:
    await world.settle()
    await world.register()
    seen = await world.walk(START, START + 60 * DAYS)
    now = world.mailbox.now
    await world.answers.done(ALMA, seen[-1][1].lines[0].occurrence_id, now)
    async with world.units() as work:
        keeper = await work.keepers.get(ALMA)
    assert keeper is not None
    assert keeper.unanswered == 0
    week = await world.walk(now + timedelta(seconds=1), now + 7 * DAYS)
    assert {line.duty for _, digest in week for line in digest.lines} - {Duty.WATER}


async def test_names_are_unique_per_keeper_whatever_the_case(world: World) -> None:
    await world.settle()
    await world.register(colony=builders.colony(name="Amber"))
    await world.settle(BRUNO)
    await world.register(BRUNO, builders.colony(name="Amber"))
    with pytest.raises(Exception, match="AMBER"):
        await world.register(colony=replace(builders.colony(), name="AMBER"))
