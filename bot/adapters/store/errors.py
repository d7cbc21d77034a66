"""Turns trouble of a database into one sentence that says what is wrong and what would be right."""

from __future__ import annotations

import sqlite3

from sqlalchemy import URL
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from bot.services.errors import RecordsError


class StoreError(RecordsError):
    """The store cannot do its work; the sentence is for the operator, since it may name a file."""


_NOT_UPGRADED = "The store has no tables yet, or old ones: run `python -m bot db upgrade` first."

_SQLITE = {
    sqlite3.SQLITE_READONLY: "The store {where} cannot be written: give the bot write permission for file and folder.",
    sqlite3.SQLITE_CANTOPEN: "The store {where} cannot be opened: its folder must exist and be writable for the bot.",
    sqlite3.SQLITE_PERM: "The store {where} cannot be opened: give the bot permission to read and write it.",
    sqlite3.SQLITE_FULL: "The disk under the store {where} is full: free some room; nothing of this change was kept.",
    sqlite3.SQLITE_IOERR: "The disk under the store {where} fails to read or write: look at the disk before going on.",
    sqlite3.SQLITE_BUSY: "The store {where} is busy: another process holds it; nothing of this change was kept.",
    sqlite3.SQLITE_LOCKED: "The store {where} is busy: another process holds it; nothing of this change was kept.",
    sqlite3.SQLITE_CORRUPT: "The store {where} is damaged: run `python -m bot db restore` with your newest backup.",
    sqlite3.SQLITE_NOTADB: "The file {where} is no SQLite database: name another file, or restore a backup.",
}

_POSTGRESQL = {
    "3D000": "The server has no such database for {where}: create it first, or correct the name.",
    "28P01": "The server refuses the password of {where}: correct the user or the password.",
    "28000": "The server refuses the user of {where}: correct the user, or allow it in pg_hba.conf.",
    "25006": "The server of {where} is read-only: the bot needs the primary server.",
    "53100": "The disk of the server of {where} is full: free some room; nothing of this change was kept.",
    "53300": "The server of {where} has no free connection: raise max_connections, or stop other clients.",
    "57014": "The server of {where} took too long over one statement: see what loads it; this change was not kept.",
    "57P01": "The server of {where} is shutting down: the bot can go on when it is back.",
    "57P03": "The server of {where} is starting up: try again in a moment.",
    "42501": "The user of {where} lacks a permission: let it own the database, or grant what is missing.",
    "42P01": _NOT_UPGRADED,
    "42703": _NOT_UPGRADED,
}


def shown(url: URL) -> str:
    """The address for people: the file of SQLite, else the address without its password."""
    return f"“{url.database if url.get_backend_name() == 'sqlite' else url.render_as_string(hide_password=True)}”"


def readable(error: BaseException, url: URL) -> StoreError | None:
    """The sentence for an error of driver or server, or `None` where it is no trouble of that kind."""
    cause = error.orig if isinstance(error, DBAPIError) and error.orig is not None else error
    if isinstance(cause, sqlite3.Error):
        sentence = _about_sqlite(cause)
    elif isinstance(error, PoolTimeoutError):
        sentence = "Every connection to {where} is taken: something holds them too long."
    elif isinstance(cause, OSError):
        sentence = "The server of {where} cannot be reached: start it, or correct host and port."
    else:
        state = getattr(cause, "sqlstate", None) or ""
        sentence = _POSTGRESQL.get(state)
        if sentence is None and state.startswith("08"):
            sentence = "The connection to {where} broke: the bot can go on when the server is back."
    return None if sentence is None else StoreError(sentence.format(where=shown(url)))


def _about_sqlite(error: sqlite3.Error) -> str | None:
    if str(error).startswith(("no such table", "no such column")):
        return _NOT_UPGRADED
    return _SQLITE.get(getattr(error, "sqlite_errorcode", 0) & 0xFF)
