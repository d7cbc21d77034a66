"""Reminders in threads and keepers who were looked for, on both databases."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.services.absentee_ports import Absentee
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import Door, KeeperId
from bot.services.season_records import Consent, GuildId, SeasonSetup
from tests.store.builders import ANNA, BERT, DAY, MINUTE, NOW, entry, keeper, settled, thread_reminder

pytestmark = pytest.mark.asyncio


async def test_a_thread_reminder_comes_back_as_it_was_kept(units: UnitOfWorkMaker) -> None:
    await settled(units)
    kept = thread_reminder(message_id=3, sent_at=NOW, problem="ThreadGoneError", lease_until=NOW + MINUTE)
    async with units() as work:
        await work.threads.save(thread_reminder())
        await work.threads.save(kept)
        await work.commit()
    async with units() as work:
        assert await work.threads.get(ANNA) == kept
        assert await work.threads.get(BERT) is None


async def test_ways_are_where_keeper_and_moderators_both_agreed(units: UnitOfWorkMaker) -> None:
    await settled(units)
    agreed = {1: (720, True), 2: (None, True), 3: (720, False), 4: (730, True)}
    async with units() as work:
        for number, (channel, yes) in agreed.items():
            guild = GuildId(number)
            setup = SeasonSetup(guild_id=guild, channel_id=9, zone_name="UTC", thread_channel_id=channel)
            await work.seasons.save_setup(setup)
            await work.seasons.save_consent(Consent(guild_id=guild, keeper_id=ANNA, threads=yes, since=NOW))
        await work.commit()
    async with units() as work:
        assert [setup.guild_id for setup in await work.threads.ways(ANNA)] == [1, 4]
        assert (await work.seasons.consent(GuildId(1), ANNA)).threads
        assert await work.threads.ways(BERT) == []


async def test_due_ones_are_handed_out_unless_somebody_holds_them(units: UnitOfWorkMaker) -> None:
    people = [KeeperId(number) for number in range(1, 5)]
    moments = {1: NOW - MINUTE, 2: NOW, 3: NOW + MINUTE, 4: None}
    async with units() as work:
        for who in people:
            await work.keepers.save(keeper(who))
            await work.threads.save(thread_reminder(keeper_id=who, next_at=moments[who]))
        await work.commit()
    async with units() as work:
        assert [found.keeper_id for found in await work.threads.due(NOW, 9)] == [1, 2]
        assert [found.keeper_id for found in await work.threads.due(NOW, 1)] == [1]
        assert await work.threads.next_due() == NOW - MINUTE
        held = replace(thread_reminder(keeper_id=people[0], next_at=moments[1]), lease_until=NOW + 2 * MINUTE)
        await work.threads.save(held)
        assert [found.keeper_id for found in await work.threads.due(NOW, 9)] == [2]
        assert [found.keeper_id for found in await work.threads.due(NOW + 2 * MINUTE, 9)] == [1, 2, 3]
        assert await work.threads.next_due() == NOW
        await work.threads.save(thread_reminder(keeper_id=people[1], next_at=None))
        assert await work.threads.next_due() == NOW + MINUTE


async def test_who_was_not_heard_of_is_looked_for_the_longest_ago_first(units: UnitOfWorkMaker) -> None:
    states = {
        1: keeper(KeeperId(1), door=Door.REFUSED),
        2: keeper(KeeperId(2), door=Door.OPEN),
        3: keeper(KeeperId(3), door=Door.GONE),
        4: keeper(KeeperId(4), reminders_on=False),
        5: keeper(KeeperId(5), unanswered=11),
        6: keeper(KeeperId(6), unanswered=10),
    }
    async with units() as work:
        for who in states.values():
            await work.keepers.save(who)
        await work.absentees.save(Absentee(keeper_id=KeeperId(1), since=None, checked_at=NOW))
        await work.absentees.save(Absentee(keeper_id=KeeperId(3), since=NOW, checked_at=NOW - MINUTE))
        await work.commit()
    async with units() as work:
        assert await work.absentees.to_check(NOW, 11, 9) == [4, 5, 3]
        assert await work.absentees.to_check(NOW + MINUTE, 11, 2) == [4, 5]
        assert await work.absentees.get(KeeperId(3)) == Absentee(
            keeper_id=KeeperId(3), since=NOW, checked_at=NOW - MINUTE
        )
        assert [await work.absentees.met(KeeperId(each)) is None for each in (1, 3, 99)] == [False, False, True]
        third, fourth = await work.absentees.met(KeeperId(3)), await work.absentees.met(KeeperId(4))
        assert third is not None
        assert fourth is not None
        assert (third[1], fourth[1]) == (True, False)
        await work.absentees.forget(KeeperId(3))
        assert await work.absentees.get(KeeperId(3)) is None


async def test_the_log_knows_the_sitter_until_they_are_erased(units: UnitOfWorkMaker) -> None:
    record = await settled(units)
    watered = LogEntry(day=DAY, duty=Duty.WATER, outcome=Outcome.DONE)
    async with units() as work:
        await work.keepers.save(keeper(BERT))
        await work.colonies.log(record.id, watered, NOW, BERT)
        await work.colonies.log(record.id, entry(duty=Duty.SUGAR), NOW)
        await work.commit()
    async with units() as work:
        assert await work.colonies.sat(record.id) == {watered: BERT}
        await work.keepers.erase(BERT)
        await work.commit()
    async with units() as work:
        assert await work.colonies.sat(record.id) == {}
        kept = await work.colonies.get(record.id)
    assert kept is not None
    assert watered in kept.colony.log
