"""Rows as plain tuples with named columns: no identity map, a fraction of the time, the same attribute names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar, cast

from sqlalchemy import ColumnElement, Select, Table, bindparam
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.tables import Base

R = TypeVar("R", bound=Base)


def table_of(kind: type[Base]) -> Table:
    """The table behind a mapped class."""
    return cast("Table", kind.__table__)


def among(column: ColumnElement[Any], name: str = "ids") -> ColumnElement[bool]:
    """One of several values, for a statement that is built once; they come with each use, under this name."""
    return column.in_(bindparam(name, expanding=True))


async def rows_of(
    session: AsyncSession, kind: type[R], wanted: Select[Any], values: Mapping[str, Any] | None = None
) -> Sequence[R]:
    """What a SELECT of all columns of a table finds; a row is read like the class `kind`, and is none."""
    assert wanted.selected_columns.keys() == table_of(kind).c.keys()
    return cast("Sequence[R]", (await session.execute(wanted, values)).all())
