"""Counts of answers: by server, month, card and topic, and nothing about anybody.

What is counted is a decision of ours (no outside source); months are those of UTC.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from bot.services.feedback import CardCounts, Feedback, Month
from bot.services.feedback_ports import NOWHERE, Reception
from bot.services.season_records import GuildId
from tests.services.kit import World

HERE, THERE = GuildId(71), GuildId(72)
JUNE = datetime(2027, 6, 14, 12, tzinfo=UTC)


@pytest.mark.asyncio
async def test_counts_add_up_by_server_and_month(world: World) -> None:
    feedback = Feedback(world.units)
    for reception, times in ((Reception.ASKED, 3), (Reception.HELPED, 2), (Reception.NOT_HELPED, 1)):
        for _ in range(times):
            await feedback.count(HERE, "water-nest", reception, JUNE)
    await feedback.count(THERE, "water-nest", Reception.HELPED, JUNE)
    await feedback.count(NOWHERE, "water-nest", Reception.HELPED, JUNE)
    await feedback.count(HERE, "water-nest", Reception.HELPED, datetime(2027, 7, 1, tzinfo=UTC))
    found = await feedback.monthly(HERE, date(2027, 6, 30))
    assert found.month == date(2027, 6, 1)
    assert found.cards == (CardCounts(card="water-nest", asked=3, helped=2, not_helped=1),)
    assert not found.unanswered
    assert (await feedback.monthly(THERE, JUNE.date())).cards[0].helped == 1
    assert (await feedback.monthly(HERE, date(2027, 7, 9))).cards[0].helped == 1


@pytest.mark.asyncio
async def test_what_helped_least_and_what_was_not_known_come_first(world: World) -> None:
    feedback = Feedback(world.units)
    await feedback.count(HERE, "good", Reception.HELPED, JUNE)
    await feedback.count(HERE, "bad", Reception.NOT_HELPED, JUNE)
    await feedback.count(HERE, "rare", Reception.ASKED, JUNE)
    for _ in range(2):
        await feedback.count(HERE, "often", Reception.ASKED, JUNE)
        await feedback.count(HERE, "mould", Reception.UNANSWERED, JUNE)
    await feedback.count(HERE, "heat", Reception.UNANSWERED, JUNE)
    found = await feedback.monthly(HERE, JUNE.date())
    assert [card.card for card in found.cards] == ["bad", "often", "rare", "good"]
    assert found.unanswered == (("mould", 2), ("heat", 1))


@pytest.mark.asyncio
async def test_an_empty_month_is_empty(world: World) -> None:
    assert await Feedback(world.units).monthly(HERE, date(2020, 2, 29)) == Month(
        month=date(2020, 2, 1), cards=(), unanswered=()
    )
