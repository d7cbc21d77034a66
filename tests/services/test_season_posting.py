"""Posting once: crashes at every point, doubt, refusals, two processes. T numbers: list 6 of the platform dossier."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta

import pytest

from bot.services.errors import BadMessageError, OutcomeUnknownError, TryLaterError
from bot.services.season import SetupChanges
from bot.services.season_desk import Step
from bot.services.season_errors import HallClosedError, NoticeGoneError
from bot.services.season_hall import HallHealth
from bot.services.season_posting import LOST, MISSED, UNFIT
from bot.services.season_records import Act, Notice, NoticeState
from tests.services.kit import Crash, World
from tests.services.season_kit import HALL, MARA, Community, open_community

pytestmark = pytest.mark.asyncio

AUGUST = datetime(2027, 8, 20, 6, 0, tzinfo=UTC)
SEPTEMBER = datetime(2027, 9, 6, 6, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def town(world: World) -> Community:
    return open_community(world)


async def scheduled(town: Community) -> Notice:
    await town.found(AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    return (await town.approve(await town.only(), SEPTEMBER)).notice


async def post(town: Community, now: datetime) -> int:
    town.hall.now = now
    return await town.dispatcher.post_due(now)


async def test_t1_a_crash_after_posting_is_folded_by_the_nonce(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.crash_after_post = True
    with pytest.raises(Crash):
        await post(town, notice.post_at)
    assert (await town.only()).state is NoticeState.POSTING
    assert await post(town, notice.post_at + MINUTE) == 0, "the lease of the dead process still runs"
    assert await post(town, notice.post_at + 2 * MINUTE) == 1
    assert len(town.hall.seen) == 1
    assert (await town.only()).message_id == 1
    assert town.hall.searched == 0


async def test_t2_a_crash_and_a_late_restart_find_the_message(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.crash_after_post = True
    with pytest.raises(Crash):
        await post(town, notice.post_at)
    assert await post(town, notice.post_at + timedelta(hours=5)) == 1
    assert len(town.hall.seen) == 1
    assert town.hall.searched == 1


async def test_a_crash_before_posting_posts_once_after_the_restart(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [Crash()]  # type: ignore[list-item]  # no exception of ours: the end of the process
    with pytest.raises(Crash):
        await post(town, notice.post_at)
    assert await post(town, notice.post_at + timedelta(hours=5)) == 1
    assert len(town.hall.seen) == 1


async def test_t5_doubt_is_tried_again_soon_with_the_same_nonce(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [OutcomeUnknownError("timeout")]
    assert await post(town, notice.post_at) == 0
    again = await town.dispatcher.next_due()
    assert again == notice.post_at + timedelta(seconds=5)
    assert await post(town, again) == 1
    assert [nonce for nonce, _ in town.hall.seen] == [notice.nonce]


async def test_t4_trouble_waits_as_long_as_the_platform_asks(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [TryLaterError(900)]
    assert await post(town, notice.post_at) == 0
    assert await post(town, notice.post_at + 14 * MINUTE) == 0
    assert await post(town, notice.post_at + 15 * MINUTE) == 1


async def test_t6_two_processes_post_once(town: Community) -> None:
    notice = await scheduled(town)
    counts = await asyncio.gather(*(town.dispatcher.post_due(notice.post_at) for _ in range(4)))
    assert sum(counts) == 1
    assert len(town.hall.seen) == 1


@pytest.mark.parametrize(
    ("refusal", "said"),
    [(HallClosedError("Grant me Send Messages."), "Grant me Send Messages."), (BadMessageError("400"), UNFIT)],
)
async def test_t36_a_refusal_pauses_tells_and_is_not_repeated(town: Community, refusal: Exception, said: str) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [refusal]
    await post(town, notice.post_at)
    paused = await town.only()
    assert (paused.state, paused.problem) == (NoticeState.PAUSED, said)
    assert town.hall.trouble_told[-1] == [said]
    assert await post(town, notice.post_at + timedelta(days=1)) == 0
    assert await town.dispatcher.next_due() is None
    await town.desk.post_now(Step(HALL, notice.id, MARA, notice.post_at + timedelta(days=1)))
    assert await post(town, notice.post_at + timedelta(days=1)) == 1


async def test_missing_rights_keep_it_back_without_a_request(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.health = HallHealth(blocking=("The channel is gone.",))
    await post(town, notice.post_at)
    assert (await town.only()).problem == "The channel is gone."
    town.hall.health = HallHealth()
    await town.season.change(HALL, SetupChanges(channel_id=900), MARA, notice.post_at)
    await town.desk.postpone(Step(HALL, notice.id, MARA, notice.post_at), 1)
    assert await post(town, notice.post_at + timedelta(days=1)) == 1
    assert (await town.only()).channel_id == 900


async def test_a_former_channel_that_is_gone_holds_nothing_back(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [HallClosedError("gone")]
    await post(town, notice.post_at)
    later = notice.post_at + timedelta(hours=2)
    await town.season.change(HALL, SetupChanges(channel_id=900), MARA, later)
    await town.desk.post_now(Step(HALL, notice.id, MARA, later))
    town.hall.trouble = [HallClosedError("the old channel cannot be read")]
    assert await post(town, later) == 1


async def test_a_channel_that_cannot_be_searched_pauses_instead_of_guessing(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.crash_after_post = True
    with pytest.raises(Crash):
        await post(town, notice.post_at)
    town.hall.trouble = [HallClosedError("Grant me Read Message History.")]
    assert await post(town, notice.post_at + timedelta(hours=5)) == 0
    assert (await town.only()).state is NoticeState.PAUSED
    assert len(town.hall.seen) == 1


async def test_a_message_removed_while_it_was_posted_is_not_posted_again(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [NoticeGoneError("10008")]
    assert await post(town, notice.post_at) == 0
    assert await post(town, notice.post_at + timedelta(days=1)) == 0
    assert not await town.notices()
    assert (await town.season.log(HALL))[0].act is Act.RETRACTED
    assert LOST


@pytest.mark.parametrize(("late", "posted"), [(timedelta(days=2), 1), (timedelta(days=4), 0)])
async def test_after_days_away_moderators_decide(town: Community, late: timedelta, posted: int) -> None:
    notice = await scheduled(town)
    assert await post(town, notice.post_at + late) == posted
    if not posted:
        assert (await town.only()).problem == MISSED


async def test_a_surprise_in_one_notice_lets_the_others_out(town: Community) -> None:
    notice = await scheduled(town)
    town.hall.trouble = [RuntimeError("a fault of ours")]
    assert await post(town, notice.post_at) == 0
    assert [str(surprise) for surprise in town.surprises] == ["a fault of ours"]
    assert await post(town, notice.post_at + 2 * MINUTE) == 1


async def test_a_cancelled_notice_is_not_posted_even_at_its_hour(town: Community) -> None:
    """T47."""
    notice = await scheduled(town)
    await town.desk.cancel(Step(HALL, notice.id, MARA, SEPTEMBER))
    assert await post(town, notice.post_at) == 0
    assert not town.hall.seen
