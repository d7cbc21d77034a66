"""Column types that keep a moment a moment and a plain word a plain word, on both databases."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import Enum as PythonEnum
from enum import StrEnum

from sqlalchemy import DateTime, Dialect, Enum
from sqlalchemy.exc import DontWrapMixin
from sqlalchemy.types import TypeDecorator


class NaiveMomentError(DontWrapMixin, ValueError):
    """A datetime without a zone reached the store."""

    def __init__(self, value: datetime) -> None:
        super().__init__(f"{value.isoformat()} has no zone: a stored moment is an aware datetime, best in UTC.")


class Moment(TypeDecorator[datetime]):
    """An aware datetime, kept in UTC.

    SQLite would drop the offset without converting, and asyncpg would read a naive value in the zone of the process;
    so naive values are refused, others converted, and what is read is marked as UTC.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - given by SQLAlchemy
        """Convert to UTC.

        Raises:
            NaiveMomentError: the value has no zone.
        """
        if value is None:
            return None
        if value.utcoffset() is None:
            raise NaiveMomentError(value)
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002 - as above
        """Mark as UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def _words(enum: type[PythonEnum]) -> list[str]:
    return [str(member.value) for member in enum]


WORD = Enum(StrEnum, native_enum=False, create_constraint=False, length=40, values_callable=_words)
"""Any `StrEnum`, kept as its value. Without a check constraint: a new duty must not rewrite every table."""
