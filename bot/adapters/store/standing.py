"""How many keepers wait, and since when: counted for whoever watches, outside of any unit of work's business."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select, text
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.tables import KeeperRow
from bot.services.records import Door


@dataclass(frozen=True, slots=True)
class Waiting:
    """Keepers whose moment has come, since when the first of them waits, and whom messages do not reach."""

    due: int
    oldest: datetime | None
    refused: int
    gone: int


async def waiting(engine: AsyncEngine, now: datetime) -> Waiting:
    """Count; over a million keepers it takes some tenths of a second."""
    due = select(func.count(), func.min(KeeperRow.next_wake)).where(KeeperRow.next_wake <= now)
    shut = select(KeeperRow.door, func.count().label("number")).where(KeeperRow.door.in_([Door.REFUSED, Door.GONE]))
    async with engine.connect() as connection:
        count, oldest = (await connection.execute(due)).one()
        doors = {row.door: row.number for row in await connection.execute(shut.group_by(KeeperRow.door))}
    return Waiting(count, oldest, doors.get(Door.REFUSED, 0), doors.get(Door.GONE, 0))


async def answers(engine: AsyncEngine) -> None:
    """Return when the database answers.

    Raises:
        Exception: whatever the driver says; the caller need not know.
    """
    async with engine.connect() as connection:
        await connection.execute(text("SELECT 1"))
