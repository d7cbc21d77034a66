"""Brings a database to the newest revision, one process at a time, and refuses what it does not know.

Each upgrade is one transaction. On SQLite foreign keys are off meanwhile, because a table that is copied and dropped
would take its children along; they are checked before anything is kept, and the file is copied first. Alembic itself
takes half a second to import, so that only a database that must change pays for it.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy import URL, Connection, inspect, text

from bot.adapters.store.copies import copy_database, free_name
from bot.adapters.store.engine import open_engine, sqlite_file, store_url
from bot.adapters.store.errors import StoreError, readable, shown

if TYPE_CHECKING:
    from alembic.config import Config

PYPROJECT = Path(__file__).parents[3] / "pyproject.toml"
_ADVISORY_LOCK = 6_283_185
"""Any number, as long as every process of the bot takes the same."""

_Result = TypeVar("_Result")


def head() -> str:
    """The newest revision this version of the bot knows."""
    known = _revisions()
    if not known:
        raise StoreError("The folder migrations/ holds no revision: it must lie beside pyproject.toml.")
    return max(known)


def knows(revision: str) -> bool:
    """Whether a revision belongs to this version of the bot."""
    return revision in _revisions()


def _revisions() -> frozenset[str]:
    """All revisions by the names of their files, which are numbered in their order."""
    files = (PYPROJECT.parent / "migrations" / "versions").glob("[0-9]*_*.py")
    return frozenset(file.name.partition("_")[0] for file in files)


async def current(url: str) -> str | None:
    """The revision of a database; `None` when it is empty or its file does not exist yet.

    Raises:
        StoreError: the database cannot be opened.
    """
    address = store_url(url)
    file = sqlite_file(address)
    if file is not None and not file.exists():
        return None
    return await _run(address, _revision)


async def upgrade(url: str) -> str:
    """Create or update the tables; returns the revision. A SQLite file that will be changed is copied beside it first.

    Raises:
        StoreError: a newer or foreign database, or one that cannot be written.
    """
    return await _run(store_url(url), _upgrade)


def config(connection: Connection | None = None) -> Config:
    """Alembic's settings, out of pyproject.toml, for a connection whose transaction the caller owns."""
    from alembic.config import Config  # noqa: PLC0415 - see the head of this file

    settings = Config(toml_file=PYPROJECT)
    settings.attributes["connection"] = connection
    return settings


async def _run(address: URL, work: Callable[[Connection], _Result]) -> _Result:
    engine = open_engine(address.render_as_string(hide_password=False), migrating=True)
    try:
        async with engine.begin() as connection:
            return await connection.run_sync(work)
    except Exception as error:
        sentence = readable(error, address)
        if sentence is None:
            raise
        raise sentence from error
    finally:
        await engine.dispose()


def _upgrade(connection: Connection) -> str:
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _ADVISORY_LOCK})
    newest = head()
    before = _revision(connection)
    if before == newest:
        return newest
    where = shown(connection.engine.url)
    if before is not None and not knows(before):
        raise StoreError(
            f"The store {where} has revision {before}, which this version of the bot does not know: it was written by "
            "a newer one. Update the bot, or restore a backup of this version."
        )
    if before is None and set(inspect(connection).get_table_names()) - {"alembic_version"}:
        raise StoreError(f"The database {where} holds tables that are not the bot's: give the bot one of its own.")
    file = sqlite_file(connection.engine.url)
    if before is not None and file is not None:
        copy_database(file, free_name(file, f"before-{newest}"))
    from alembic import command  # noqa: PLC0415 - see the head of this file

    command.upgrade(config(connection), "head")
    if file is not None and (lost := connection.exec_driver_sql("PRAGMA foreign_key_check").all()):
        raise StoreError(f"The upgrade of {where} would lose {len(lost)} references; nothing was changed.")
    return newest


def _revision(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    revision: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
    return revision
