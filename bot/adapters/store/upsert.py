"""Insert-or-update, which both databases know but SQLAlchemy spells once for each."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import Columns
from bot.adapters.store.reading import table_of
from bot.adapters.store.tables import Base

Insert = postgresql.Insert | sqlite.Insert


def insert_into(session: AsyncSession, kind: type[Base]) -> Insert:
    """An INSERT of the session's database, which can be told what to do on a conflict."""
    return _insert(session.get_bind().dialect.name, kind)


async def put(
    session: AsyncSession, kind: type[Base], row: Columns, *, key: Sequence[str], keep: Sequence[str] = ()
) -> None:
    """Insert a row, or update the one with the same key, whose columns in `keep` stay as they are."""
    await put_all(session, kind, [row], key=key, keep=keep)


async def put_all(
    session: AsyncSession, kind: type[Base], rows: Sequence[Columns], *, key: Sequence[str], keep: Sequence[str] = ()
) -> None:
    """As `put`, for several rows with the same columns."""
    changed = tuple(name for name in rows[0] if name not in {*key, *keep})
    await session.execute(_upsert(session.get_bind().dialect.name, kind, tuple(key), changed), rows)


def _insert(dialect: str, kind: type[Base]) -> Insert:
    table = table_of(kind)
    return postgresql.insert(table) if dialect == "postgresql" else sqlite.insert(table)


@cache
def _upsert(dialect: str, kind: type[Base], key: tuple[str, ...], changed: tuple[str, ...]) -> Insert:
    """Made once: describing what was to be inserted takes longer than the statement itself."""
    insert = _insert(dialect, kind)
    new = {name: insert.excluded[name] for name in changed}
    return insert.on_conflict_do_update(index_elements=list(key), set_=new)
