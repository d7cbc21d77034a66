"""A whole store moves from SQLite to PostgreSQL: equal row by row, numbers go on, nothing is ever overwritten."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time
from pathlib import Path

import pytest
from sqlalchemy import Table, text
from sqlalchemy.ext.asyncio import AsyncConnection

from bot.__main__ import main
from bot.adapters.store import moving
from bot.adapters.store.engine import open_engine
from bot.adapters.store.errors import StoreError
from bot.adapters.store.moving import Moved, move
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.duty import Duty
from bot.services.records import ColonyId, OccurrenceState
from bot.services.season_records import GuildId, SeasonSetup
from tests.store.builders import ANNA, BERT, DAY, ZONES, colony, contents, delivery, entry, plan_rows, planned, settled
from tests.store.conftest import Server

asynchronous = pytest.mark.asyncio


@pytest.fixture
def target_url(server: Server) -> Iterator[str]:
    """A PostgreSQL database without any table."""
    name = server.create()
    yield server.url(name)
    server.drop(name)


async def furnish(url: str) -> None:
    """A bit of everything that is hard to carry: moments, wall times, numbers, documents, words, gaps in numbering."""
    engine = open_engine(url)
    units = unit_of_work_maker(engine, ZONES)
    first = await settled(units, colony("Ameisen ü 🐜", log=(entry(note="süß"), entry(duty=Duty.SUGAR))))
    await settled(units, colony("last", keeper_id=BERT))
    async with units() as work:
        rows = await plan_rows(work, [planned(first), planned(first, Duty.SUGAR)])
        made = await work.deliveries.add(delivery(rows[0].id))
        await work.occurrences.settle([made.id], OccurrenceState.SENT)
        await work.cautions_shown.record(ANNA, ["mould", "water-first"], DAY)
        await work.marks.set("commands", "a hash")
        setup = SeasonSetup(guild_id=GuildId(77), channel_id=78, zone_name="Europe/Berlin", post_at=time(18, 30))
        await work.seasons.save_setup(setup)
        await work.keepers.erase(BERT)
        await work.commit()
    await engine.dispose()


@asynchronous
async def test_everything_arrives_equal_and_numbers_go_on(sqlite_url: str, target_url: str) -> None:
    await furnish(sqlite_url)
    moved = {each.table: each for each in await move(sqlite_url, target_url)}
    before, after = open_engine(sqlite_url), open_engine(target_url)
    try:
        assert await contents(before) == await contents(after)
        assert (moved["keeper"].rows, moved["occurrence"].rows, moved["log_entry"].rows) == (1, 2, 2)
        fresh = await settled(unit_of_work_maker(after, ZONES), colony("next", keeper_id=BERT))
        assert fresh.id == ColonyId(3), "the number of the erased colony 2 is never given again"
    finally:
        await before.dispose()
        await after.dispose()


@asynchronous
async def test_an_empty_store_moves_too(sqlite_url: str, target_url: str) -> None:
    assert {each.rows for each in await move(sqlite_url, target_url)} == {0}


@asynchronous
async def test_a_target_that_holds_anything_is_refused_and_left_alone(sqlite_url: str, target_url: str) -> None:
    await furnish(sqlite_url)
    await move(sqlite_url, target_url)
    engine = open_engine(target_url)
    before = await contents(engine)
    with pytest.raises(StoreError, match="is not empty"):
        await move(sqlite_url, target_url)
    assert await contents(engine) == before
    await engine.dispose()


@asynchronous
async def test_a_difference_is_found_and_nothing_is_kept(
    sqlite_url: str, target_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    await furnish(sqlite_url)
    compare = moving._compare

    async def after_damage(read: AsyncConnection, written: AsyncConnection, table: Table) -> Moved:
        await written.execute(text("UPDATE log_entry SET note = 'sauer' WHERE note IS NOT NULL"))
        return await compare(read, written, table)

    monkeypatch.setattr(moving, "_compare", after_damage)
    with pytest.raises(StoreError, match="log_entry differs"):
        await move(sqlite_url, target_url)
    monkeypatch.undo()
    assert sum(each.rows for each in await move(sqlite_url, target_url)) > 0, "nothing of the first try was kept"


@asynchronous
async def test_what_cannot_be_moved_is_said(sqlite_url: str, target_url: str, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="from SQLite to PostgreSQL"):
        await move(target_url, sqlite_url)
    with pytest.raises(StoreError, match="There is no store"):
        await move(f"sqlite+aiosqlite:///{tmp_path / 'none.sqlite3'}", target_url)
    engine = open_engine(sqlite_url)
    async with engine.begin() as connection:
        await connection.execute(text("UPDATE alembic_version SET version_num = '0002'"))
    await engine.dispose()
    with pytest.raises(StoreError, match="db upgrade"):
        await move(sqlite_url, target_url)


def test_the_command_line_says_what_was_proved(
    sqlite_url: str, target_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["db", "move", sqlite_url, target_url]) == 0
    said = capsys.readouterr().out
    assert "keeper: 0 rows" in said
    assert said.splitlines()[-1].startswith("Moved: set WINTERBROOD_DATABASE")
    assert main(["db", "move", target_url, sqlite_url]) == 1
