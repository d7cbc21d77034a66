"""Communities, notices, consents, figures and logs: kept as given, unique where they must be, gone with the member."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from datetime import date, time, timedelta
from typing import Any

import pytest
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.phase import Phase
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.season.figures import GroupFigures, GroupKey, GroupState, Spread
from bot.care.species import DormancyClass
from bot.care.units import Units
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId
from bot.services.season_records import (
    OPEN,
    Act,
    Consent,
    GuildId,
    LogLine,
    Notice,
    NoticeId,
    NoticeState,
    SeasonSetup,
)
from tests.store.builders import ANNA, BERT, DAY, MINUTE, NOW, ZONES, contents, keeper, settled

pytestmark = pytest.mark.asyncio

HALL = GuildId(2**60 + 9)
KEY = GroupKey(Half.NORTH, DormancyClass.ENDO, 2026)
SETUP = SeasonSetup(
    guild_id=HALL,
    channel_id=2**60 + 10,
    zone_name="Europe/Berlin",
    role_id=2**60 + 11,
    units=Units.FAHRENHEIT,
    halves=(Half.NORTH, Half.SOUTH),
    post_at=time(19, 30),
    two_approve=True,
    counted_on=DAY,
)


def notice(stage: SeasonStage = SeasonStage.PREPARE, **changes: Any) -> Notice:
    base = Notice(
        id=NoticeId(0),
        guild_id=HALL,
        year=2026,
        stage=stage,
        half=Half.NORTH,
        heading="Get ready",
        text="Line one.\nLine two.",
        numbers="About 5.",
        cautions=("REST-TOO-COLD", "WATER"),
        begins=DAY + timedelta(days=7),
        post_day=DAY,
        post_wall=time(18, 0),
        post_at=NOW,
        nonce=f"{stage.value[:20]}",
        created_at=NOW,
    )
    return replace(base, **changes)


async def founded(units: UnitOfWorkMaker, *notices: Notice, setup: SeasonSetup = SETUP) -> list[Notice]:
    async with units() as work:
        await work.seasons.save_setup(setup)
        made = [await work.seasons.add(each) for each in notices]
        await work.commit()
    return [each for each in made if each is not None]


async def test_a_setup_is_kept_and_replaced(units: UnitOfWorkMaker) -> None:
    await founded(units)
    changed = replace(
        SETUP, role_id=None, halves=(Half.TROPICS,), language="de", count=False, tended_on=date(2027, 1, 1)
    )
    async with units() as work:
        assert await work.seasons.setup(HALL) == SETUP
        assert await work.seasons.setup(GuildId(5)) is None
        await work.seasons.save_setup(changed)
        assert await work.seasons.guilds_after(GuildId(0), 10) == [changed]
        assert await work.seasons.guilds_after(HALL, 10) == []


async def test_a_notice_comes_back_as_it_was_given(units: UnitOfWorkMaker) -> None:
    (made,) = await founded(units, notice())
    changed = replace(
        made,
        state=NoticeState.POSTED,
        text="Other words.",
        approved_by=(2**60 + 3, 2**60 + 4),
        amendment="New words.",
        amended_by=2**60 + 5,
        attempts=2,
        first_try_at=NOW,
        posted_at=NOW + MINUTE,
        channel_id=2**60,
        message_id=2**61,
        problem="closed",
        lease_until=NOW,
        nudged_on=DAY,
    )
    async with units() as work:
        assert await work.seasons.notice(made.id) == made
        await work.seasons.save(changed)
        assert await work.seasons.notice(made.id) == changed
        assert await work.seasons.find(HALL, 2026, SeasonStage.PREPARE, Half.NORTH) == changed
        assert await work.seasons.find(HALL, 2026, SeasonStage.PREPARE, Half.SOUTH) is None
        assert await work.seasons.notices(HALL, OPEN) == []
        assert await work.seasons.notices(HALL, [NoticeState.POSTED]) == [changed]
        assert await work.seasons.notices(GuildId(4), [NoticeState.POSTED]) == []


async def test_a_stage_has_one_notice_whoever_asks(url: str) -> None:
    """Each process has an engine of its own; all write the same draft at once."""
    engines = [open_engine(url) for _ in range(4)]
    makers = [unit_of_work_maker(engine, ZONES) for engine in engines]
    try:
        await founded(makers[0])

        async def write(units: UnitOfWorkMaker) -> Notice | None:
            async with units() as work:
                made = await work.seasons.add(notice())
                await work.commit()
            return made

        made = await asyncio.gather(*(write(maker) for maker in makers))
        assert sum(each is not None for each in made) == 1
    finally:
        for engine in engines:
            await engine.dispose()


async def test_what_is_due_is_scheduled_come_and_not_leased(units: UnitOfWorkMaker) -> None:
    stages = list(SeasonStage)
    made = await founded(
        units,
        notice(stages[0], state=NoticeState.SCHEDULED, post_at=NOW),
        notice(stages[1], state=NoticeState.POSTING, post_at=NOW - MINUTE, lease_until=NOW),
        notice(stages[2], state=NoticeState.POSTING, post_at=NOW - MINUTE, lease_until=NOW + MINUTE),
        notice(stages[3], state=NoticeState.SCHEDULED, post_at=NOW + MINUTE),
        notice(stages[4], state=NoticeState.DRAFT, post_at=NOW - MINUTE),
        notice(stages[5], state=NoticeState.PAUSED, post_at=NOW - MINUTE),
    )
    async with units() as work:
        assert await work.seasons.due(NOW, 10) == [made[1], made[0]]
        assert await work.seasons.due(NOW, 1) == [made[1]]


@pytest.mark.parametrize(
    ("changes", "moment"),
    [
        ({"state": NoticeState.SCHEDULED}, NOW),
        ({"state": NoticeState.POSTING, "lease_until": NOW + 3 * MINUTE}, NOW + 3 * MINUTE),
        ({"state": NoticeState.POSTING, "lease_until": NOW - 3 * MINUTE}, NOW),
        ({"state": NoticeState.DRAFT}, None),
        ({"state": NoticeState.POSTED}, None),
    ],
)
async def test_the_next_moment_is_the_hour_or_the_end_of_a_lease(
    units: UnitOfWorkMaker, changes: dict[str, Any], moment: object
) -> None:
    await founded(units, notice(**changes))
    async with units() as work:
        assert await work.seasons.next_due() == moment


async def test_consent_is_by_member_and_community(units: UnitOfWorkMaker) -> None:
    other = GuildId(7)
    await founded(units)
    await founded(units, setup=replace(SETUP, guild_id=other))
    yes = Consent(guild_id=HALL, keeper_id=ANNA, counted=True, helped=True, since=NOW)
    async with units() as work:
        await work.keepers.save(keeper(ANNA))
        await work.keepers.save(keeper(BERT))
        assert await work.seasons.consent(HALL, ANNA) == Consent(guild_id=HALL, keeper_id=ANNA)
        await work.seasons.save_consent(yes)
        await work.seasons.save_consent(Consent(guild_id=HALL, keeper_id=BERT, counted=True))
        await work.seasons.save_consent(Consent(guild_id=other, keeper_id=BERT, helped=True))
        assert await work.seasons.consent(HALL, ANNA) == yes
        assert await work.seasons.counted_after(HALL, KeeperId(0), 10) == [ANNA, BERT]
        assert await work.seasons.counted_after(HALL, ANNA, 10) == [BERT]
        assert await work.seasons.helped(HALL) == [ANNA]
        assert await work.seasons.helped(other) == [BERT]


SHOWN = GroupFigures(
    key=KEY,
    taken=DAY,
    colonies=35,
    marks={Mark.PUPAE: 5},
    begins={Phase.REST: Spread(date(2026, 11, 2), date(2026, 11, 9), date(2026, 12, 7))},
    weeks={Phase.REST: {date(2026, 11, 2): 10, date(2026, 11, 9): 25}},
)


async def test_figures_come_back_as_they_were_shown(units: UnitOfWorkMaker) -> None:
    await founded(units)
    state = GroupState(shown=SHOWN, made_of={str(ANNA): "a", str(BERT): "b"})
    async with units() as work:
        await work.keepers.save(keeper(ANNA))
        await work.keepers.save(keeper(BERT))
        await work.seasons.save_group(HALL, KEY, state)
        assert await work.seasons.groups(HALL) == {KEY: state}
        hidden = replace(state, shown=None, made_of={str(ANNA): "c"})
        await work.seasons.save_group(HALL, KEY, hidden)
        await work.seasons.drop_groups(HALL, before=KEY.year)
        assert await work.seasons.groups(HALL) == {KEY: hidden}
        await work.seasons.drop_groups(HALL, before=KEY.year + 1)
        assert await work.seasons.groups(HALL) == {}
        await work.seasons.save_group(HALL, KEY, state)
        await work.seasons.drop_groups(HALL)
        assert await work.seasons.groups(HALL) == {}


async def test_an_erased_member_leaves_consent_and_digest_behind_nowhere(
    units: UnitOfWorkMaker, engine: AsyncEngine
) -> None:
    await founded(units, notice(approved_by=(int(ANNA), 5)))
    await settled(units)
    async with units() as work:
        await work.seasons.save_consent(Consent(guild_id=HALL, keeper_id=ANNA, counted=True, since=NOW))
        await work.seasons.save_group(HALL, KEY, GroupState(shown=SHOWN, made_of={str(ANNA): "a"}))
        await work.seasons.log(LogLine(guild_id=HALL, at=NOW, act=Act.APPROVED, actor=int(ANNA)))
        await work.commit()
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.seasons.forget_person(int(ANNA))
        await work.seasons.save_group(HALL, KEY, GroupState(shown=SHOWN, made_of={str(ANNA): "a"}))
        await work.commit()
    assert str(int(ANNA)) not in repr(await contents(engine))


async def test_the_log_is_read_newest_first_and_forgotten_in_time(units: UnitOfWorkMaker) -> None:
    (made,) = await founded(units, notice())
    lines = [
        LogLine(guild_id=HALL, at=NOW + n * MINUTE, act=act, actor=n, notice_id=made.id, detail=f"{n}")
        for n, act in enumerate([Act.DRAFTED, Act.APPROVED, Act.POSTED], start=1)
    ]
    async with units() as work:
        for line in lines:
            await work.seasons.log(line)
        assert await work.seasons.log_of(HALL, 2) == lines[:0:-1]
        assert await work.seasons.log_of(GuildId(1), 2) == []
        await work.seasons.forget_log_before(NOW + 3 * MINUTE)
        assert await work.seasons.log_of(HALL, 9) == lines[2:]
