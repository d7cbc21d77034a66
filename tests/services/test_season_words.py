"""A community in another language, its picture, and words of a posted notice that need a second moderator."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from bot.care.errors import BadValueError
from bot.care.season.figures import GroupFigures
from bot.care.season.language import SeasonWords
from bot.services import season_pictures
from bot.services.pictures import Picture
from bot.services.season import SetupChanges
from bot.services.season_desk import NoticeView, Step
from bot.services.season_errors import NoticeGoneError, SeasonError
from bot.services.season_records import Act, Notice, NoticeState
from tests.services.kit import Crash, World
from tests.services.season_kit import HALL, MARA, NILS, Community, open_community

pytestmark = pytest.mark.asyncio

AUGUST = datetime(2027, 8, 20, 6, 0, tzinfo=UTC)
SEPTEMBER = datetime(2027, 9, 6, 6, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def town(world: World) -> Community:
    return open_community(world)


async def posted(town: Community, members: int = 0, **changes: object) -> Notice:
    """A posted call to prepare."""
    await town.found(AUGUST, HALL, **changes)
    await town.join(members, AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    await town.approve(await town.only(), SEPTEMBER)
    if changes.get("two_approve"):
        await town.approve(await town.only(), SEPTEMBER, NILS)
    await town.beat((await town.only()).post_at)
    return await town.only()


async def edit(town: Community, notice: Notice, text: str, actor: int = MARA) -> NoticeView:
    return await town.desk.edit(Step(HALL, notice.id, actor, SEPTEMBER), text)


async def test_drafts_are_written_in_the_language_of_the_server_and_keep_it(town: Community) -> None:
    await town.found(AUGUST, language="de")
    await town.drafts.draft_due(SEPTEMBER)
    notice = await town.only()
    assert (notice.language, notice.heading) == ("de", "Zeit, die Winterruhe vorzubereiten")
    await town.season.change(HALL, SetupChanges(language="es"), MARA, SEPTEMBER)
    assert (await town.only()).heading == notice.heading, "moderators may have edited it"
    notice = await town.drafts.write(HALL, notice.stage.WIND_DOWN, notice.half, MARA, SEPTEMBER)
    assert notice.heading == "Empieza el cierre de la temporada"


async def test_a_language_without_words_is_refused_with_those_there_are(town: Community) -> None:
    await town.found(AUGUST)
    with pytest.raises(BadValueError, match=r"English \(en\)"):
        await town.season.change(HALL, SetupChanges(language="tlh"), MARA, AUGUST)


async def test_the_picture_shows_the_notices_own_half_and_season(town: Community) -> None:
    await posted(town, 6, language="fr")
    ((figures, today, language),) = town.drawing.drawn
    assert {(group.key.half.value, group.key.year) for group in figures} == {("north", 2027)}
    assert (today, language) == (date(2027, 9, 13), "fr")
    assert town.hall.picture is not None
    assert town.hall.picture.alt == "La saison d’une communauté."


async def test_without_figures_there_is_no_picture(town: Community) -> None:
    await posted(town)
    assert town.hall.picture is None
    assert not town.drawing.drawn
    assert len(town.hall.seen) == 1


async def test_a_picture_that_cannot_be_drawn_holds_nothing_back(town: Community) -> None:
    town.drawing.trouble = RuntimeError("no font")
    notice = await posted(town, 6)
    assert notice.state is NoticeState.POSTED
    assert town.hall.picture is None
    assert [str(surprise) for surprise in town.surprises] == ["no font"]


async def test_a_picture_that_takes_too_long_is_left_out(town: Community, monkeypatch: pytest.MonkeyPatch) -> None:
    waits = threading.Event()

    def slow(_: Sequence[GroupFigures], __: date, ___: SeasonWords) -> Picture | None:
        waits.wait(10)
        return None

    monkeypatch.setattr(season_pictures, "SECONDS", 0.05)
    town = replace(town, dispatcher=replace(town.dispatcher, pictures=replace(town.dispatcher.pictures, draw=slow)))
    notice = await posted(town, 6)
    waits.set()
    assert notice.state is NoticeState.POSTED
    assert town.hall.picture is None


async def test_a_crash_while_posting_with_a_picture_still_posts_once(town: Community) -> None:
    await town.found(AUGUST)
    await town.join(6, AUGUST)
    await town.drafts.draft_due(SEPTEMBER)
    notice = (await town.approve(await town.only(), SEPTEMBER)).notice
    town.hall.crash_after_post = True
    with pytest.raises(Crash):
        await town.beat(notice.post_at)
    assert await town.beat(notice.post_at + 3 * MINUTE) == 1
    assert len(town.hall.seen) == 1
    assert len(town.drawing.drawn) == 1, "the message was found, so nothing was drawn for a second one"


async def test_new_words_of_a_posted_notice_wait_for_another_moderator(town: Community) -> None:
    notice = await posted(town, two_approve=True)
    view = await edit(town, notice, "New words.")
    assert (view.missing, view.notice.text) == (1, notice.text)
    assert town.hall.seen[-1][1].text == notice.text
    with pytest.raises(SeasonError, match="yours"):
        await town.approve(notice, SEPTEMBER)
    view = await town.approve(notice, SEPTEMBER, NILS)
    assert (view.notice.text, view.notice.amendment, view.notice.amended_by) == ("New words.", None, None)
    assert town.hall.seen[-1][1].text == "New words."
    acts = [(line.act, line.actor) for line in await town.season.log(HALL)]
    assert acts[:2] == [(Act.AMENDED, NILS), (Act.PROPOSED, MARA)]


async def test_words_that_were_changed_again_need_the_other_one_again(town: Community) -> None:
    notice = await posted(town, two_approve=True)
    await edit(town, notice, "First.")
    await edit(town, notice, "Second.", NILS)
    with pytest.raises(SeasonError, match="yours"):
        await town.approve(notice, SEPTEMBER, NILS)
    assert (await town.approve(notice, SEPTEMBER, MARA)).notice.text == "Second."


async def test_new_words_can_be_dropped(town: Community) -> None:
    notice = await posted(town, two_approve=True)
    await edit(town, notice, "New words.")
    step = Step(HALL, notice.id, MARA, SEPTEMBER)
    view = await town.desk.drop(step)
    assert (view.notice.text, view.notice.amendment) == (notice.text, None)
    with pytest.raises(SeasonError, match="No new words"):
        await town.desk.drop(step)


async def test_new_words_that_the_platform_refuses_go_on_waiting(town: Community) -> None:
    notice = await posted(town, two_approve=True)
    await edit(town, notice, "New words.")
    town.hall.trouble = [NoticeGoneError("gone")]
    with pytest.raises(SeasonError, match="no longer in the channel"):
        await town.approve(notice, SEPTEMBER, NILS)
    assert (await town.only()).amendment == "New words."
