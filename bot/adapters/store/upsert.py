"""Insert-or-update, which both databases know but SQLAlchemy spells once for each."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import Columns
from bot.adapters.store.tables import Base

Insert = postgresql.Insert | sqlite.Insert


def insert_into(session: AsyncSession, table: type[Base]) -> Insert:
    """An INSERT of the session's database, which can be told what to do on a conflict."""
    if session.get_bind().dialect.name == "postgresql":
        return postgresql.insert(table)
    return sqlite.insert(table)


async def put(
    session: AsyncSession, table: type[Base], row: Columns, *, key: Sequence[str], keep: Sequence[str] = ()
) -> None:
    """Insert a row, or update the one with the same key, whose columns in `keep` stay as they are."""
    insert = insert_into(session, table).values(row)
    changed = {name: insert.excluded[name] for name in row if name not in {*key, *keep}}
    await session.execute(insert.on_conflict_do_update(index_elements=list(key), set_=changed))
