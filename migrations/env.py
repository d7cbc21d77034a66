"""Alembic's environment: runs inside a transaction that `bot/adapters/store/migrate.py` opened.

A maintainer calls `python -m alembic -x url=sqlite+aiosqlite:///file.sqlite3 revision --autogenerate -m "…"`.
"""

from __future__ import annotations

import asyncio
from typing import Literal

from alembic import context
from sqlalchemy import Connection, Enum

import bot.adapters.store.culture_tables  # so that Base knows every table
import bot.adapters.store.feedback_tables
import bot.adapters.store.reading_tables
import bot.adapters.store.season_tables
import bot.adapters.store.sitting_tables
import bot.adapters.store.thread_tables  # noqa: F401 - likewise
from bot.adapters.store.engine import open_engine
from bot.adapters.store.moments import Moment
from bot.adapters.store.tables import Base


def plain_type(kind: str, item: object, _context: object) -> str | Literal[False]:
    """How our own column types are written into a revision, which must not change when our code does."""
    if kind == "type" and isinstance(item, Moment):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, Enum):
        return f"sa.String({item.length})"
    return False


def run(connection: Connection) -> None:
    """Run what was asked for on an open connection."""
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        render_item=plain_type,
        compare_type=True,
        compare_server_default=True,
    )
    with context.begin_transaction():
        context.run_migrations()


async def run_on(url: str) -> None:
    """Run on a database of the command line."""
    engine = open_engine(url, migrating=True)
    try:
        async with engine.begin() as connection:
            await connection.run_sync(run)
    finally:
        await engine.dispose()


given: Connection | None = context.config.attributes.get("connection")
if given is not None:
    run(given)
elif address := context.get_x_argument(as_dictionary=True).get("url"):
    asyncio.run(run_on(address))
else:
    raise SystemExit("Say which database: python -m alembic -x url=sqlite+aiosqlite:///file.sqlite3 …")
