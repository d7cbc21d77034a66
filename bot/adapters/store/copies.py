"""Whole copies of SQLite files, through SQLite itself: a plain copy would miss what is in the log beside the file."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import URL

from bot.adapters.store.errors import StoreError, readable

_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}
_HELD = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}


def free_name(file: Path, suffix: str) -> Path:
    """A name beside `file` that nothing has yet: `file.suffix`, `file.suffix-2` and so on."""
    found = file.with_name(f"{file.name}.{suffix}")
    count = 1
    while found.exists():
        count += 1
        found = file.with_name(f"{file.name}.{suffix}-{count}")
    return found


def copy_database(source: Path, target: Path) -> None:
    """Copy a database as it stands at one moment, also while others write; `target` appears whole or not at all.

    Raises:
        StoreError: the source cannot be read, or the target not written.
    """
    partial = target.with_name(f"{target.name}.partial")
    partial.unlink(missing_ok=True)
    try:
        with _opened(source) as read, closing(sqlite3.connect(partial)) as written:
            read.backup(written)
            written.execute("PRAGMA journal_mode = DELETE")  # one file, without a log beside it
        partial.replace(target)
    except sqlite3.Error as error:
        blamed = source if _code(error) in _DAMAGE else target
        raise readable(error, URL.create("sqlite", database=str(blamed))) or error from error
    finally:
        partial.unlink(missing_ok=True)


def examine(file: Path) -> str:
    """The revision of a whole database.

    Raises:
        StoreError: missing, damaged, or no store of the bot.
    """
    if not file.is_file():
        raise StoreError(f"There is no file “{file}”: name a backup that was made with `python -m bot db backup`.")
    try:
        with _opened(file) as read:
            verdict = read.execute("PRAGMA integrity_check").fetchone()[0]
            orphan = read.execute("PRAGMA foreign_key_check").fetchone()
            row = read.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.Error as error:
        raise StoreError(f"“{file}” is no whole store of the bot ({error}): choose another backup.") from error
    if verdict != "ok" or orphan is not None or row is None:
        raise StoreError(f"“{file}” is damaged: choose another backup.")
    return str(row[0])


def settle(file: Path) -> bool:
    """Fold the log beside a database into it, which works only when nobody else has it open; false when it is damaged.

    Raises:
        StoreError: somebody has it open, or it cannot be written.
    """
    try:
        with _opened(file) as alone:
            alone.execute("PRAGMA journal_mode = DELETE")
            return True
    except sqlite3.Error as error:
        if _code(error) in _HELD:
            raise StoreError(f"The store “{file}” is in use: stop the bot first, then restore.") from error
        if _code(error) not in _DAMAGE:
            raise readable(error, URL.create("sqlite", database=str(file))) or error from error
        return False


@contextmanager
def _opened(file: Path) -> Iterator[sqlite3.Connection]:
    """An existing database; never creates one."""
    address = f"{file.resolve().as_uri()}?mode=rw"
    with closing(sqlite3.connect(address, uri=True, timeout=1, isolation_level=None)) as connection:
        yield connection


def _code(error: sqlite3.Error) -> int:
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF
