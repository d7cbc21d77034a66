"""Moves a whole store from SQLite to PostgreSQL, and proves that nothing was lost or changed on the way.

Rows travel as values of the mapped columns, table by table in the order of their references, inside one transaction of
the target. Then both sides are read again: a count and a digest for each table, the sum of the digests of its rows, so
that no order of sorting matters. Only when all agree is the target kept.
"""

from __future__ import annotations

import hashlib
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

from sqlalchemy import Table, func, insert, select, text
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

import bot.adapters.store.culture_tables
import bot.adapters.store.reading_tables
import bot.adapters.store.season_tables
import bot.adapters.store.sitting_tables
import bot.adapters.store.thread_tables  # noqa: F401 - all, so that Base knows every table
from bot.adapters.store import migrate
from bot.adapters.store.engine import open_engine, sqlite_file, store_url
from bot.adapters.store.errors import StoreError, readable, shown
from bot.adapters.store.tables import Base

_BATCH = 1000
"""Rows read and written at once: bounded memory, however large the store."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One table on both sides: how many rows, and the digest of them all."""

    table: str
    rows: int
    digest: str

    def __str__(self) -> str:
        return f"{self.table}: {self.rows} rows, digest {self.digest[:16]} on both sides"


async def move(source: str, target: str) -> Sequence[Moved]:
    """Copy everything into an empty database. The source is only read; whoever would write to it has to wait.

    Returns:
        What was proved equal, a table each.

    Raises:
        StoreError: the target holds anything, the source is missing or of another revision, or they differ afterwards.
    """
    await _check(source, target)
    await migrate.upgrade(target)
    engines = open_engine(source, migrating=True), open_engine(target, migrating=True)
    try:
        async with engines[0].connect() as read, engines[1].begin() as written:
            await _check_empty(written, engines[1])
            tables = Base.metadata.sorted_tables
            for table in tables:
                await _copy(read, written, table)
            return [await _compare(read, written, table) for table in tables]
    except Exception as error:
        sentence = readable(error, store_url(target))
        if sentence is None:
            raise
        raise sentence from error
    finally:
        for engine in engines:
            await engine.dispose()


async def _check(source: str, target: str) -> None:
    """What can be refused before anything is touched."""
    if sqlite_file(store_url(source)) is None or sqlite_file(store_url(target)) is not None:
        raise StoreError("A move goes from SQLite to PostgreSQL: sqlite+aiosqlite:///FILE postgresql+asyncpg://…")
    where, newest = shown(store_url(source)), migrate.head()
    revision = await migrate.current(source)
    if revision is None:
        raise StoreError(f"There is no store {where}: name the one that the bot used so far.")
    if revision != newest:
        raise StoreError(
            f"The store {where} has revision {revision}, and this bot {newest}: run `python -m bot db upgrade` on it."
        )
    if await migrate.current(target) not in {None, newest}:
        raise StoreError(f"{shown(store_url(target))} holds a store of another revision: move into a new database.")


async def _check_empty(target: AsyncConnection, engine: AsyncEngine) -> None:
    for table in Base.metadata.sorted_tables:
        if await target.scalar(select(table.select().limit(1).exists())):
            raise StoreError(
                f"The store {shown(engine.url)} is not empty ({table.name} has rows): move into a new database, "
                "so that nothing is mixed or overwritten."
            )


async def _copy(read: AsyncConnection, written: AsyncConnection, table: Table) -> None:
    async for rows in _rows(read, table):
        await written.execute(insert(table), [dict(row) for row in rows])
    highest = await _highest(read, table)
    if highest:
        sequence = func.pg_get_serial_sequence(table.name, "id")
        await written.execute(select(func.setval(sequence, highest)))


async def _highest(read: AsyncConnection, table: Table) -> int:
    """The highest number that was ever given, of rows that are gone too: some are never given twice. 0: none was."""
    column = table.autoincrement_column
    if column is None:
        return 0
    if not table.dialect_options["sqlite"]["autoincrement"]:
        return await read.scalar(select(func.max(column))) or 0
    given = text("SELECT seq FROM sqlite_sequence WHERE name = :name")
    return await read.scalar(given, {"name": table.name}) or 0


async def _compare(read: AsyncConnection, written: AsyncConnection, table: Table) -> Moved:
    before, after = await _digest(read, table), await _digest(written, table)
    if before != after:
        raise StoreError(
            f"The table {table.name} differs after the move ({before.rows} rows before, {after.rows} after): nothing "
            "was kept."
        )
    return after


async def _digest(connection: AsyncConnection, table: Table) -> Moved:
    total, count = 0, 0
    async for rows in _rows(connection, table):
        for row in rows:
            text_of_row = repr([_plain(value) for value in row.values()])
            total += int.from_bytes(hashlib.sha256(text_of_row.encode()).digest())
            count += 1
    return Moved(table.name, count, f"{total % 2**256:064x}")


async def _rows(connection: AsyncConnection, table: Table) -> AsyncIterator[Sequence[Any]]:
    """All rows, in batches."""
    result = await connection.stream(select(table))
    async for rows in result.mappings().partitions(_BATCH):
        yield rows


def _plain(value: Any) -> Any:
    """A value whose text is the same wherever it was read: words for enums, sorted keys for documents."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, dict):
        return sorted((key, _plain(each)) for key, each in value.items())
    if isinstance(value, list):
        return [_plain(each) for each in value]
    return value
