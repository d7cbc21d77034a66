"""The life of season notices as use cases: drafts, the moderators' desk, figures under their floor, consent."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from bot.care.errors import BadValueError, UnknownNameError
from bot.care.season.community import Half, SeasonStage
from bot.care.units import Units
from bot.services.errors import NotSetUpError, NotYoursError, TryLaterError
from bot.services.records import Door, KeeperId
from bot.services.season import SetupChanges
from bot.services.season_desk import LONGEST_TEXT, Step
from bot.services.season_errors import HallClosedError, NoticeGoneError, SeasonError
from bot.services.season_hall import HallHealth
from bot.services.season_records import Act, GuildId, NoticeState
from tests.services.kit import World
from tests.services.season_kit import CHANNEL, HALL, LANGUAGES, MARA, NILS, OTHER, Community, open_community

pytestmark = pytest.mark.asyncio

AUGUST = datetime(2027, 8, 20, 6, 0, tzinfo=UTC)
SEPTEMBER = datetime(2027, 9, 6, 6, 0, tzinfo=UTC)
"""Inside the ten days before the call to prepare, for Vienna."""


@pytest.fixture
def town(world: World) -> Community:
    return open_community(world)


def step(town: Community, notice_id: int, now: datetime = SEPTEMBER, actor: int = MARA) -> Step:
    return Step(HALL, notice_id, actor, now)  # type: ignore[arg-type]  # plain numbers will do


async def test_nothing_is_known_before_a_setup(town: Community) -> None:
    for asked in (
        town.season.setup(HALL),
        town.season.log(HALL),
        town.desk.list(HALL),
        town.check.community(HALL, AUGUST),
    ):
        with pytest.raises(SeasonError, match="/season setup"):
            await asked
    assert await town.counting.shown(HALL, AUGUST) is None
    with pytest.raises(SeasonError, match="channel for notices and the server’s time zone"):
        await town.season.change(HALL, SetupChanges(channel_id=CHANNEL), MARA, AUGUST)


@pytest.mark.parametrize(
    ("zone", "halves"),
    [
        ("Europe/Vienna", (Half.NORTH,)),
        ("Australia/Melbourne", (Half.SOUTH,)),
        ("Asia/Singapore", (Half.TROPICS,)),
        ("UTC", (Half.NORTH,)),
    ],
)
async def test_the_half_follows_the_zone_until_said_otherwise(
    town: Community, zone: str, halves: tuple[Half, ...]
) -> None:
    assert (await town.found(AUGUST, zone_name=zone)).halves == halves
    changed = await town.season.change(HALL, SetupChanges(halves=(Half.NORTH, Half.SOUTH)), MARA, AUGUST)
    assert changed.halves == (Half.NORTH, Half.SOUTH)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"halves": ()}, "at least one half"),
        ({"lead_days": 29}, "0 to 28 days"),
        ({"prepare_days": 3}, "no later than other notices"),
        ({"draft_days": 0}, "1 to 28 days"),
        ({"role_id": int(HALL)}, "never mention everyone"),
        ({"leader_role_id": int(HALL)}, "Everyone would lead"),
    ],
)
async def test_a_setup_that_cannot_be_is_refused(town: Community, changes: dict[str, Any], said: str) -> None:
    await town.found(AUGUST)
    with pytest.raises(BadValueError, match=said):
        await town.season.change(HALL, replace(SetupChanges(), **changes), MARA, AUGUST)
    with pytest.raises(UnknownNameError):
        await town.found(AUGUST, zone_name="Europe/Atlantis")


async def test_choices_can_be_taken_back(town: Community) -> None:
    await town.found(AUGUST, role_id=5, leader_role_id=6)
    after = await town.season.change(
        HALL, SetupChanges(role_id=0, helper_channel_id=0, leader_role_id=0, units=Units.FAHRENHEIT), MARA, AUGUST
    )
    assert (after.role_id, after.helper_channel_id, after.leader_role_id) == (None, None, None)
    assert after.units is Units.FAHRENHEIT


async def test_who_may_lead(town: Community) -> None:
    assert await town.season.may_lead(HALL, manages=True, roles=())
    assert not await town.season.may_lead(HALL, manages=False, roles=(6,))
    await town.found(AUGUST, leader_role_id=6)
    assert await town.season.may_lead(HALL, manages=False, roles=(5, 6))
    assert not await town.season.may_lead(HALL, manages=False, roles=(5,))
    assert not await town.season.may_lead(OTHER, manages=False, roles=(6,)), "the role of another server"


async def test_drafts_come_by_themselves_and_once(town: Community) -> None:
    await town.found(AUGUST)
    assert await town.drafts.draft_due(AUGUST) == 0
    assert await town.drafts.draft_due(SEPTEMBER) == 1
    assert await town.drafts.draft_due(SEPTEMBER) == 0
    assert await town.drafts.draft_due(SEPTEMBER + timedelta(days=1)) == 0
    notice = await town.only()
    assert (notice.stage, notice.half, notice.year) == (SeasonStage.PREPARE, Half.NORTH, 2027)
    assert notice.state is NoticeState.DRAFT
    assert notice.post_wall == time(18, 0)
    assert notice.post_at.hour == 16, "18:00 in Vienna in summer"
    assert notice.numbers == LANGUAGES["en"].figures.none
    assert [line.act for line in await town.season.log(HALL)] == [Act.DRAFTED, Act.SET_UP]


async def test_a_setup_in_the_middle_of_a_season_writes_only_what_lies_ahead(town: Community) -> None:
    late = datetime(2027, 10, 20, 6, 0, tzinfo=UTC)
    await town.found(late)
    await town.drafts.draft_due(late)
    assert [notice.stage for notice in await town.notices()] == [SeasonStage.COOL_DOWN]
    assert (await town.only()).post_at > late


async def test_moderators_are_told_of_a_draft_once_and_daily_when_its_hour_is_near(town: Community) -> None:
    await town.found(AUGUST)
    day = SEPTEMBER
    told = []
    while day < SEPTEMBER + timedelta(days=12):
        before = len(town.hall.waiting)
        await town.beat(day)
        told.append(len(town.hall.waiting) - before)
        day += timedelta(days=1)
    assert told[0] == 1
    assert sum(told) == len(town.hall.waiting)
    assert set(told[1:6]) == {0}
    assert told[9:] == [1, 1, 1], "every day from two days before its hour until somebody decides"
    assert not town.hall.seen, "nothing is posted without approval"


async def test_a_draft_that_nobody_approves_is_let_go(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    await town.drafts.draft_due(SEPTEMBER + timedelta(days=60))
    stages = {notice.stage for notice in await town.notices()}
    assert SeasonStage.PREPARE not in stages
    assert Act.LAPSED in {line.act for line in await town.season.log(HALL)}


async def test_an_approved_notice_appears_at_its_hour_with_its_words(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    view = await town.approve(notice, SEPTEMBER)
    assert view.notice.state is NoticeState.SCHEDULED
    assert await town.dispatcher.next_due() == notice.post_at
    assert await town.dispatcher.post_due(notice.post_at - timedelta(seconds=1)) == 0
    assert await town.dispatcher.post_due(notice.post_at) == 1
    assert await town.dispatcher.post_due(notice.post_at + timedelta(hours=1)) == 0
    assert await town.dispatcher.next_due() is None
    (_, seen), *rest = town.hall.seen
    assert not rest
    assert seen.text == notice.text
    posted = await town.only()
    assert (posted.state, posted.channel_id, posted.message_id) == (NoticeState.POSTED, CHANNEL, 1)


async def test_two_must_approve_where_the_community_wants_it(town: Community) -> None:
    await town.found(AUGUST, two_approve=True)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    assert (await town.approve(notice, SEPTEMBER)).missing == 1
    with pytest.raises(SeasonError, match="approved it already"):
        await town.approve(notice, SEPTEMBER)
    with pytest.raises(SeasonError, match="approved it already"):
        await town.desk.post_now(step(town, notice.id))
    assert await town.dispatcher.post_due(notice.post_at) == 0
    assert (await town.approve(notice, SEPTEMBER, NILS)).notice.state is NoticeState.SCHEDULED
    assert await town.dispatcher.post_due(notice.post_at) == 1


async def test_post_now_alone_is_refused_while_a_second_approval_is_missing(town: Community) -> None:
    await town.found(AUGUST, two_approve=True)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    with pytest.raises(SeasonError, match="second moderator"):
        await town.desk.post_now(step(town, notice.id))
    assert await town.only() == notice


async def test_an_edit_takes_approvals_back_and_leaves_cautions_and_figures(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    await town.approve(notice, SEPTEMBER)
    view = await town.desk.edit(step(town, notice.id), "  Our own words.  ")
    assert (view.notice.text, view.notice.state, view.notice.approved_by) == ("Our own words.", NoticeState.DRAFT, ())
    assert (view.notice.cautions, view.notice.numbers) == (notice.cautions, notice.numbers)
    assert await town.dispatcher.post_due(notice.post_at) == 0
    for wrong in ("", "   ", "x" * (LONGEST_TEXT + 1)):
        with pytest.raises(BadValueError, match="1 to 1,"):
            await town.desk.edit(step(town, notice.id), wrong)


async def test_schedule_and_postpone_move_the_hour_on_the_wall(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    moved = (await town.desk.schedule(step(town, notice.id), date(2027, 10, 31), time(2, 30))).notice
    assert moved.post_at == datetime(2027, 10, 31, 0, 30, tzinfo=UTC), "the first of the two 02:30"
    assert moved.state is NoticeState.DRAFT
    later = (await town.desk.postpone(step(town, notice.id), 1)).notice
    assert later.post_at == datetime(2027, 11, 1, 1, 30, tzinfo=UTC)
    for day in (date(2027, 9, 5), date(2028, 9, 5)):
        with pytest.raises(BadValueError, match="lie ahead, at most 60 days"):
            await town.desk.schedule(step(town, notice.id), day, time(9, 0))


async def test_another_zone_keeps_day_and_hour_on_the_wall(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    before = await town.only()
    await town.season.change(HALL, SetupChanges(zone_name="America/New_York"), MARA, SEPTEMBER)
    after = await town.only()
    assert (after.post_day, after.post_wall) == (before.post_day, before.post_wall)
    assert after.post_at - before.post_at == timedelta(hours=6)


async def test_post_now_is_one_step_where_one_moderator_is_enough(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    view = await town.desk.post_now(step(town, notice.id))
    assert view.notice.approved_by == (MARA,)
    assert await town.dispatcher.post_due(SEPTEMBER) == 1


async def test_cancel_and_take_up_again(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    await town.approve(notice, SEPTEMBER)
    await town.desk.cancel(step(town, notice.id))
    assert await town.dispatcher.post_due(notice.post_at) == 0
    await town.drafts.draft_due(SEPTEMBER + timedelta(days=1))
    assert not await town.notices(), "the bot does not bring it back by itself"
    again = await town.drafts.write(HALL, SeasonStage.PREPARE, Half.NORTH, NILS, SEPTEMBER)
    assert (again.id, again.state) == (notice.id, NoticeState.DRAFT)
    assert again.nonce != notice.nonce
    assert await town.drafts.write(HALL, SeasonStage.PREPARE, Half.NORTH, NILS, SEPTEMBER) == await town.only()


async def test_amend_and_retract_after_posting(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    await town.desk.post_now(step(town, notice.id))
    await town.dispatcher.post_due(SEPTEMBER)
    await town.desk.edit(step(town, notice.id), "Better words.")
    assert town.hall.seen[0][1].text == "Better words."
    assert (await town.only()).state is NoticeState.POSTED
    town.hall.trouble = [HallClosedError("Grant me the right."), NoticeGoneError("gone"), TryLaterError(5)]
    for said in ("Grant me the right", "no longer in the channel", "did not answer"):
        with pytest.raises(SeasonError, match=said):
            await town.desk.edit(step(town, notice.id), "Other words.")
    assert (await town.only()).text == "Better words."
    await town.desk.retract(step(town, notice.id))
    assert town.hall.removed == [1]
    assert not await town.notices()
    with pytest.raises(SeasonError, match="is retracted"):
        await town.desk.retract(step(town, notice.id))
    acts = [line.act for line in reversed(await town.season.log(HALL))]
    assert acts == [Act.SET_UP, Act.DRAFTED, Act.CALLED, Act.POSTED, Act.AMENDED, Act.RETRACTED]


DeskStep = Callable[[Community, Step], Awaitable[object]]
STEPS: list[DeskStep] = [
    lambda town, at: town.desk.look(at),
    lambda town, at: town.desk.edit(at, "x"),
    lambda town, at: town.desk.approve(at),
    lambda town, at: town.desk.schedule(at, date(2027, 9, 20), time(9, 0)),
    lambda town, at: town.desk.postpone(at, 1),
    lambda town, at: town.desk.post_now(at),
    lambda town, at: town.desk.cancel(at),
    lambda town, at: town.desk.retract(at),
    lambda town, at: town.desk.drop(at),
]


async def test_another_server_reaches_nothing(town: Community) -> None:
    await town.found(AUGUST)
    await town.found(AUGUST, OTHER)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    for act in STEPS:
        with pytest.raises(NotYoursError):
            await act(town, Step(OTHER, notice.id, MARA, SEPTEMBER))
    assert await town.only() == notice


async def test_what_is_on_its_way_is_left_alone(town: Community) -> None:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    async with town.world.units() as work:
        await work.seasons.save(replace(notice, state=NoticeState.POSTING))
        await work.commit()
    for act in STEPS[1:]:
        with pytest.raises(SeasonError, match="on its way right now"):
            await act(town, step(town, notice.id))


async def test_four_members_are_not_counted_and_five_are(town: Community) -> None:
    await town.found(AUGUST)
    await town.join(4, AUGUST)
    assert await town.counting.shown(HALL, AUGUST) == ()
    await town.join(1, AUGUST, first=5)
    assert await town.counting.shown(HALL, AUGUST) == (), "the same for all views of a day"
    (shown,) = await town.counting.shown(HALL, AUGUST + timedelta(days=1)) or ()
    assert shown.colonies == 5


async def test_one_who_joins_or_leaves_changes_no_figure(town: Community) -> None:
    await town.found(AUGUST)
    ids = await town.join(7, AUGUST)
    first = await town.counting.shown(HALL, AUGUST)
    await town.join(1, AUGUST, first=8)
    assert await town.counting.shown(HALL, AUGUST + timedelta(days=1)) == first
    await town.season.agree(HALL, ids[0], counted=False, helped=None, now=AUGUST)
    assert await town.counting.shown(HALL, AUGUST + timedelta(days=2)) == first
    async with town.world.units() as work:
        await work.keepers.erase(ids[1])
        await work.commit()
    assert await town.counting.shown(HALL, AUGUST + timedelta(days=3)) == first
    for keeper_id in ids[2:]:
        await town.season.agree(HALL, keeper_id, counted=False, helped=None, now=AUGUST)
    assert await town.counting.shown(HALL, AUGUST + timedelta(days=4)) == ()


async def test_a_community_that_stops_counting_forgets_its_figures(town: Community) -> None:
    await town.found(AUGUST)
    await town.join(5, AUGUST)
    assert await town.counting.shown(HALL, AUGUST)
    await town.season.change(HALL, SetupChanges(count=False), MARA, AUGUST)
    assert await town.counting.shown(HALL, AUGUST) is None
    async with town.world.units() as work:
        assert await work.seasons.groups(HALL) == {}
    await town.drafts.draft_due(SEPTEMBER)
    assert (await town.only()).numbers == ""


async def test_figures_and_dates_of_a_draft_come_from_the_plans(town: Community) -> None:
    await town.found(AUGUST)
    await town.join(6, AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    assert "About **5** colonies" in notice.numbers
    assert notice.begins.weekday() == 0


async def test_north_and_south_each_get_theirs(town: Community) -> None:
    await town.found(AUGUST, halves=(Half.NORTH, Half.SOUTH))
    await town.join(5, AUGUST)
    await town.join(5, datetime(2027, 1, 10, tzinfo=UTC), zone="Australia/Melbourne", first=11)
    ahead = await town.drafts.ahead(HALL, AUGUST)
    assert {found.half for found in ahead} == {Half.NORTH, Half.SOUTH}
    nearest = {found.half: found.stage for found in reversed(ahead)}
    assert nearest[Half.NORTH] is SeasonStage.PREPARE
    assert nearest[Half.SOUTH] in {SeasonStage.WARM_UP, SeasonStage.WELCOME_BACK}
    assert all(found.begins.counted for found in ahead[:2])


async def test_consent_is_asked_never_assumed(town: Community) -> None:
    with pytest.raises(SeasonError):
        await town.season.agree(HALL, KeeperId(1), counted=True, helped=None, now=AUGUST)
    await town.found(AUGUST)
    with pytest.raises(NotSetUpError):
        await town.season.agree(HALL, KeeperId(1), counted=True, helped=None, now=AUGUST)
    (member,) = await town.join(1, AUGUST)
    consent = await town.season.agree(HALL, member, counted=None, helped=True, now=AUGUST)
    assert (consent.counted, consent.helped) == (True, True)
    assert not (await town.season.consent(OTHER, member)).counted, "in this server only"


async def test_the_check_names_only_who_agreed_and_is_still_here(town: Community) -> None:
    await town.found(AUGUST)
    asked, _silent, left = await town.join(3, AUGUST)
    for member in (asked, left):
        await town.season.agree(HALL, member, counted=None, helped=True, now=AUGUST)
    town.hall.gone = {left}
    async with town.world.units() as work:
        keeper = await work.keepers.get(asked)
        assert keeper is not None
        await work.keepers.save(replace(keeper, door=Door.REFUSED))
        await work.commit()
    found = await town.check.community(HALL, AUGUST + timedelta(days=12))
    assert {line.keeper_id for line in found.overdue} == {asked}
    assert {line.duty.value for line in found.overdue} == {"water"}
    assert found.unreachable == (asked,)
    assert found.helped == 1
    assert not (await town.season.consent(HALL, left)).counted, "who left is no longer counted or named"


async def test_the_check_is_silent_about_members_while_the_platform_is(town: Community) -> None:
    await town.found(AUGUST)
    (asked,) = await town.join(1, AUGUST)
    await town.season.agree(HALL, asked, counted=None, helped=True, now=AUGUST)
    town.hall.trouble = [TryLaterError(60)]
    found = await town.check.community(HALL, AUGUST + timedelta(days=12))
    assert (found.overdue, found.unreachable, found.silent) == ((), (), True)
    assert (await town.season.consent(HALL, asked)).helped, "an outage takes nothing away"


async def test_the_check_names_the_longest_overdue_first_and_counts_the_others(town: Community) -> None:
    await town.found(AUGUST)
    members = await town.join(22, AUGUST)
    for member in members:
        await town.season.agree(HALL, member, counted=None, helped=True, now=AUGUST)
    assert (await town.check.community(HALL, AUGUST)).overdue == ()
    found = await town.check.community(HALL, AUGUST + timedelta(days=12))
    assert len({line.keeper_id for line in found.overdue}) == 20
    assert (found.more, found.helped) == (2, 22)
    late = [line.days_late for line in found.overdue]
    assert late == sorted(late, reverse=True)


async def test_missing_rights_are_told_days_before_the_hour(town: Community) -> None:
    await town.found(AUGUST)
    town.hall.health = HallHealth(blocking=("Grant me Send Messages.",))
    await town.drafts.draft_due(SEPTEMBER)
    assert town.hall.trouble_told == [("Grant me Send Messages.",)]
    assert (await town.only()).post_at > SEPTEMBER + timedelta(days=5)
    assert (await town.check.community(HALL, SEPTEMBER)).health.blocking


async def test_one_broken_community_does_not_keep_the_others_waiting(town: Community) -> None:
    await town.found(AUGUST, GuildId(1))
    await town.found(AUGUST, GuildId(2))
    async with town.world.units() as work:
        setup = await work.seasons.setup(GuildId(1))
        assert setup is not None
        await work.seasons.save_setup(replace(setup, zone_name="Nowhere/Land"))
        await work.commit()
    assert await town.drafts.draft_due(SEPTEMBER) == 1
    assert len(town.surprises) == 1


async def test_figures_of_seasons_long_past_are_forgotten(town: Community) -> None:
    await town.found(AUGUST)
    await town.join(5, AUGUST)
    await town.counting.shown(HALL, AUGUST)
    later = AUGUST + timedelta(days=1000)
    await town.counting.shown(HALL, later)
    async with town.world.units() as work:
        assert {key.year for key in await work.seasons.groups(HALL)} == {2030}
