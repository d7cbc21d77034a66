"""Which of several processes delivers: whoever holds an advisory lock of PostgreSQL.

The server frees the lock when the process that holds it dies, whatever way it dies. Should two ever think that it is
their turn, leases and nonces still keep every reminder single. A SQLite store belongs to one process.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass

import structlog
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

_ADVISORY_LOCK = 2_718_281
"""Any number but that of the migrations, as long as every process of the bot takes the same."""
_TAKE = text("SELECT pg_try_advisory_lock(:key)")
_LIVES = text("SELECT 1")

log = structlog.get_logger("turn")


@dataclass(slots=True)
class DeliveryTurn:
    """The turn of one process. It keeps a connection of its own, since the lock lives and dies with it."""

    engine: AsyncEngine
    _held: AsyncConnection | None = None

    @property
    def is_ours(self) -> bool:
        """Whether it was this process's turn when it last looked."""
        return self.engine.dialect.name != "postgresql" or self._held is not None

    async def take(self) -> bool:
        """Whether this process delivers now: it holds the lock, or has just got it.

        Raises:
            SQLAlchemyError, OSError: no connection can be opened.
        """
        if self.engine.dialect.name != "postgresql":
            return True
        if self._held is not None and await _lives(self._held):
            return True
        await self.give_up()
        connection = await self.engine.connect()
        try:
            await connection.execution_options(isolation_level="AUTOCOMMIT")
            got = bool(await connection.scalar(_TAKE, {"key": _ADVISORY_LOCK}))
        except BaseException:
            await _drop(connection)
            raise
        if not got:
            await connection.close()
            return False
        self._held = connection
        log.info("turn_taken")
        return True

    async def give_up(self) -> None:
        """Let another process deliver; the connection is closed, not put back, for the lock would stay with it."""
        held, self._held = self._held, None
        if held is not None:
            await _drop(held)


@asynccontextmanager
async def open_turn(engine: AsyncEngine) -> AsyncIterator[DeliveryTurn]:
    """The turn of this process, given up at the end."""
    turn = DeliveryTurn(engine)
    try:
        yield turn
    finally:
        await turn.give_up()


async def _lives(connection: AsyncConnection) -> bool:
    try:
        await connection.execute(_LIVES)
    except (SQLAlchemyError, OSError):
        log.warning("turn_lost")
        return False
    return True


async def _drop(connection: AsyncConnection) -> None:
    await connection.invalidate()
    await connection.close()
