"""Backup and restore of a SQLite store: taken while the bot runs, put back only when whole, known and not in use."""

from __future__ import annotations

import asyncio
import shutil
from pathlib import Path

from bot.adapters.store.copies import copy_database, examine, free_name, settle
from bot.adapters.store.engine import sqlite_file, store_url
from bot.adapters.store.errors import StoreError, shown
from bot.adapters.store.migrate import knows


async def backup(url: str, file: Path) -> None:
    """Copy the store to a new file; safe while the bot runs.

    Raises:
        StoreError: PostgreSQL, no store yet, a file that is there already, or a disk that does not take it.
    """
    store = _file_of(url, f"pg_dump --format=custom --file={file}")
    await asyncio.to_thread(_take, store, file)


async def restore(url: str, file: Path) -> Path | None:
    """Put a backup in the place of the store; run `upgrade` afterwards, since it may have an older revision.

    Returns:
        Where the old store was kept; `None` when there was none.

    Raises:
        StoreError: PostgreSQL, a backup that is not whole or too new, or a store in use.
    """
    store = _file_of(url, f"pg_restore --clean --if-exists --single-transaction {file}")
    return await asyncio.to_thread(_put_back, store, file)


def _take(store: Path, file: Path) -> None:
    if not store.exists():
        raise StoreError(f"There is no store “{store}” yet: nothing to back up.")
    if file.exists():
        raise StoreError(f"“{file}” is there already: name a new file, so that no older backup is lost.")
    if not file.parent.is_dir():
        raise StoreError(f"The folder of “{file}” does not exist: create it, or name another file.")
    copy_database(store, file)


def _put_back(store: Path, file: Path) -> Path | None:
    if not store.parent.is_dir():
        raise StoreError(f"The folder of the store “{store}” does not exist: create it, or name another file.")
    revision = examine(file)
    if not knows(revision):
        raise StoreError(
            f"“{file}” has revision {revision}, which this version of the bot does not know: update first."
        )
    if store.exists() and store.samefile(file):
        raise StoreError("The backup is the store itself: name the file of a backup.")
    fresh = free_name(store, "restoring")
    copy_database(file, fresh)
    try:
        kept = _keep(store)
        fresh.replace(store)
    finally:
        fresh.unlink(missing_ok=True)
    return kept


def _keep(store: Path) -> Path | None:
    """Copy the old store aside; of a damaged one also the log beside it, which may hold what the file lost."""
    if not store.exists():
        return None
    kept = free_name(store, "before-restore")
    log, spare = (file.with_name(f"{file.name}-wal") for file in (store, kept))
    if log.exists():
        shutil.copy2(log, spare)
    damaged = False
    try:
        damaged = not settle(store)
    finally:
        if not damaged:
            spare.unlink(missing_ok=True)
    shutil.copy2(store, kept)
    for ending in ("-wal", "-shm"):  # a log of the old file must not be read into the new one
        store.with_name(store.name + ending).unlink(missing_ok=True)
    return kept


def _file_of(url: str, tool: str) -> Path:
    address = store_url(url)
    file = sqlite_file(address)
    if file is None:
        raise StoreError(f"{shown(address)} is a PostgreSQL database: use its own tools, such as `{tool}`.")
    return file
