"""Migrations: from nothing to the models and back, once whoever asks, and never over what they do not know."""

from __future__ import annotations

import asyncio
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect, text
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store import migrate
from bot.adapters.store.engine import open_engine
from bot.adapters.store.errors import StoreError
from bot.adapters.store.tables import Base
from bot.adapters.store.unit_of_work import unit_of_work_maker
from tests.store.builders import ANNA, NOW, ZONES, contents, entry, settled

pytestmark = pytest.mark.asyncio

LATER = """
import sqlalchemy as sa
from alembic import op

revision = "9000"
down_revision = "{head}"
extra = sa.Column("extra", sa.Integer())


def upgrade():
    {body}
"""


async def run(url: str, work: Callable[[Connection], object]) -> None:
    """Something in a transaction of a connection that may change tables."""
    engine = open_engine(url, migrating=True)
    try:
        async with engine.begin() as connection:
            await connection.run_sync(work)
    finally:
        await engine.dispose()


async def tables(url: str) -> set[str]:
    found: set[str] = set()
    await run(url, lambda connection: found.update(inspect(connection).get_table_names()))
    return found


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def claim_revision(revision: str) -> Callable[[Connection], object]:
    """Pretend that another version of the bot wrote the database."""
    return lambda connection: connection.execute(text("UPDATE alembic_version SET version_num = :r"), {"r": revision})


@pytest.fixture
def later(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Make the bot one revision newer, with a given body of its upgrade."""

    def grow(body: str) -> None:
        folder = tmp_path_factory.mktemp("newer")
        shutil.copytree(migrate.PYPROJECT.parent / "migrations", folder / "migrations")
        revision = LATER.format(body=body, head=migrate.head())
        (folder / "migrations" / "versions" / "9000_later.py").write_text(revision)
        (folder / "pyproject.toml").write_text('[tool.alembic]\nscript_location = "%(here)s/migrations"\n')
        monkeypatch.setattr(migrate, "PYPROJECT", folder / "pyproject.toml")

    return grow


async def filled(url: str) -> dict[str, list[tuple[Any, ...]]]:
    """Put a row with children into the store; returns all there is."""
    engine = open_engine(url)
    try:
        units = unit_of_work_maker(engine, ZONES)
        record = await settled(units)
        async with units() as work:
            await work.colonies.log(record.id, entry(), NOW)
            await work.commit()
        return await contents(engine)
    finally:
        await engine.dispose()


async def test_the_numbers_of_the_files_are_the_order_of_the_revisions() -> None:
    scripts = ScriptDirectory.from_config(migrate.config())
    assert scripts.get_current_head() == migrate.head()
    for script in scripts.walk_revisions():
        assert migrate.knows(script.revision)
        assert Path(script.path).name.startswith(f"{script.revision}_")


async def test_an_empty_database_gets_every_table(empty_url: str) -> None:
    assert await migrate.current(empty_url) is None
    assert await migrate.upgrade(empty_url) == migrate.head()
    assert await migrate.current(empty_url) == migrate.head()
    assert await tables(empty_url) == {*Base.metadata.tables, "alembic_version"}


async def test_asking_for_the_revision_creates_no_file(tmp_path: Path) -> None:
    file = tmp_path / "store.sqlite3"
    assert await migrate.current(f"sqlite+aiosqlite:///{file}") is None
    assert not file.exists()


async def test_the_models_are_what_the_revisions_build(empty_url: str) -> None:
    await migrate.upgrade(empty_url)
    await run(empty_url, lambda connection: command.check(migrate.config(connection)))


async def test_a_model_that_the_revisions_lack_would_be_noticed(empty_url: str) -> None:
    await migrate.upgrade(empty_url)
    await run(empty_url, lambda connection: connection.execute(text("ALTER TABLE mark DROP COLUMN value")))
    with pytest.raises(Exception, match="New upgrade operations detected"):
        await run(empty_url, lambda connection: command.check(migrate.config(connection)))


async def test_down_to_nothing_and_up_again(empty_url: str) -> None:
    await migrate.upgrade(empty_url)
    await run(empty_url, lambda connection: command.downgrade(migrate.config(connection), "base"))
    assert await tables(empty_url) == {"alembic_version"}
    assert await migrate.current(empty_url) is None
    assert await migrate.upgrade(empty_url) == migrate.head()
    await run(empty_url, lambda connection: command.check(migrate.config(connection)))


async def test_upgrading_again_changes_nothing(url: str) -> None:
    engine = open_engine(url)
    try:
        await settled(unit_of_work_maker(engine, ZONES))
        before = await contents(engine)
        assert await migrate.upgrade(url) == migrate.head()
        assert await contents(engine) == before
    finally:
        await engine.dispose()


async def test_two_processes_that_upgrade_at_once_both_succeed(empty_url: str) -> None:
    assert await asyncio.gather(*(migrate.upgrade(empty_url) for _ in range(3))) == [migrate.head()] * 3


async def test_processes_that_open_a_new_file_at_once_wait_for_each_other(tmp_path: Path) -> None:
    """Switching a file to the write-ahead log is the one step for which SQLite ignores its own patience."""
    opened = [open_engine(f"sqlite+aiosqlite:///{tmp_path / 'new.sqlite3'}") for _ in range(2)]
    holder = sqlite3.connect(tmp_path / "new.sqlite3", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        begun = [asyncio.ensure_future(_version(engine)) for engine in opened]
        done, _ = await asyncio.wait(begun, timeout=0.12)
        assert not done, "nobody gives up while another process holds the file"
        holder.execute("COMMIT")
        assert await asyncio.gather(*begun) == ["wal", "wal"]
    finally:
        holder.close()
        for engine in opened:
            await engine.dispose()


async def _version(engine: AsyncEngine) -> str:
    async with engine.connect() as connection:
        return str(await connection.scalar(text("PRAGMA journal_mode")))


async def test_a_newer_database_is_refused_and_left_alone(empty_url: str) -> None:
    await migrate.upgrade(empty_url)
    await run(empty_url, claim_revision("9999"))
    with pytest.raises(StoreError, match="revision 9999, which this version of the bot does not know"):
        await migrate.upgrade(empty_url)
    assert await migrate.current(empty_url) == "9999"


async def test_the_tables_of_somebody_else_are_refused(empty_url: str) -> None:
    await run(empty_url, lambda connection: connection.execute(text("CREATE TABLE invoices (id INTEGER)")))
    with pytest.raises(StoreError, match="tables that are not the bot's: give the bot one of its own"):
        await migrate.upgrade(empty_url)
    assert await tables(empty_url) == {"invoices"}


async def test_a_store_without_tables_says_how_to_get_them(empty_url: str) -> None:
    engine = open_engine(empty_url)
    try:
        with pytest.raises(StoreError, match="python -m bot db upgrade"):
            async with unit_of_work_maker(engine, ZONES)() as work:
                await work.keepers.get(ANNA)
    finally:
        await engine.dispose()


async def test_an_upgrade_of_a_filled_file_copies_it_first_and_loses_no_row(
    sqlite_url: str, tmp_path: Path, later: Callable[[str], None]
) -> None:
    """The revision copies and drops a parent table; with foreign keys on, SQLite would delete every child row."""
    before, newest = await filled(sqlite_url), migrate.head()
    later('with op.batch_alter_table("colony", recreate="always") as batch:\n        batch.add_column(extra)')
    assert await migrate.upgrade(sqlite_url) == "9000"
    engine = open_engine(sqlite_url)
    assert await contents(engine) == before
    await engine.dispose()
    copy = tmp_path / "store.sqlite3.before-9000"
    assert await migrate.current(f"sqlite+aiosqlite:///{copy}") == newest
    engine = open_engine(f"sqlite+aiosqlite:///{copy}")
    assert await contents(engine) == before
    await engine.dispose()


async def test_an_upgrade_that_would_lose_a_parent_is_undone(
    sqlite_url: str, tmp_path: Path, later: Callable[[str], None]
) -> None:
    before = await filled(sqlite_url)
    later('op.execute("DELETE FROM keeper")')
    with pytest.raises(StoreError, match="would lose 2 references; nothing was changed"):
        await migrate.upgrade(sqlite_url)
    engine = open_engine(sqlite_url)
    assert await contents(engine) == before
    await engine.dispose()


async def test_a_first_upgrade_copies_nothing(tmp_path: Path) -> None:
    await migrate.upgrade(f"sqlite+aiosqlite:///{tmp_path / 'store.sqlite3'}")
    assert names(tmp_path) == ["store.sqlite3"]
