"""Allowances: of a user at the gate, of the bot towards the platform."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import discord
import pytest

from bot.adapters.chat.gate import (
    BURST,
    REMEMBERED,
    SERVER_BURST,
    Gate,
    NotAModeratorError,
    TooFastError,
    require_moderator,
)
from bot.adapters.chat.traffic import BAN_SECONDS, MOST_REFUSALS, Allowance, Fuse

NOW = datetime(2027, 6, 1, tzinfo=UTC)


def test_a_burst_is_welcome_and_a_flood_is_not() -> None:
    gate = Gate()
    for _ in range(BURST):
        gate.admit(1, NOW)
    with pytest.raises(TooFastError) as refused:
        gate.admit(1, NOW)
    assert refused.value.wait_seconds == 2
    gate.admit(2, NOW)
    gate.admit(1, NOW + timedelta(seconds=2))


def test_a_clock_set_back_gives_nothing_away() -> None:
    gate = Gate()
    for _ in range(BURST):
        gate.admit(1, NOW)
    with pytest.raises(TooFastError):
        gate.admit(1, NOW - timedelta(hours=1))


def test_the_gate_forgets_the_users_seen_longest_ago() -> None:
    gate = Gate()
    for user in range(REMEMBERED + 50):
        gate.admit(user, NOW)
    assert len(gate._members.seen) == REMEMBERED
    assert 0 not in gate._members.seen


def test_a_server_that_floods_leaves_the_others_alone() -> None:
    gate = Gate()
    for member in range(SERVER_BURST):
        gate.admit(member, NOW, 77)
    with pytest.raises(TooFastError):
        gate.admit(SERVER_BURST, NOW, 77)
    gate.admit(SERVER_BURST, NOW, 78)
    gate.admit(SERVER_BURST, NOW)
    gate.admit(SERVER_BURST, NOW + timedelta(seconds=2), 77)


def test_moderators_manage_the_server() -> None:
    require_moderator(discord.Permissions(manage_guild=True))
    require_moderator(discord.Permissions(administrator=True))
    with pytest.raises(NotAModeratorError):
        require_moderator(discord.Permissions(send_messages=True))


def test_an_allowance_fills_again() -> None:
    doors = Allowance(per_second=0.4, burst=1)
    assert doors.take(100) == 0
    assert doors.take(100) == pytest.approx(2.5)
    assert doors.take(101) == pytest.approx(1.5)
    assert doors.take(102.5) == 0


def test_twenty_six_requests_at_once_wait_for_one_twenty_fifth_of_a_second() -> None:
    overall = Allowance(per_second=25, burst=25)
    waits = [overall.reserve(0) for _ in range(27)]
    assert waits[:25] == [0] * 25
    assert waits[25:] == pytest.approx([0.04, 0.08])


def test_a_ban_stops_everything_for_ten_minutes() -> None:
    fuse = Fuse()
    assert fuse.wait(50) == 0
    fuse.blow(50)
    assert fuse.wait(50) == BAN_SECONDS
    assert fuse.wait(50 + BAN_SECONDS) == 0


def test_a_thousand_refusals_stop_us_before_the_platform_does() -> None:
    fuse = Fuse()
    for _ in range(MOST_REFUSALS - 1):
        fuse.refused(10)
    assert fuse.wait(10) == 0
    fuse.refused(10)
    assert fuse.wait(10) == BAN_SECONDS
    slow = Fuse()
    for number in range(2 * MOST_REFUSALS):
        slow.refused(number * 1.0)
    assert slow.wait(2 * MOST_REFUSALS) == 0, "one a second for half an hour is no storm"
