"""Every hot question is answered by an index on both databases, however large the tables are.

The store holds 20,000 colonies of 10,000 keepers, enough that PostgreSQL would rather read a whole table than use an
index that does not fit the question. Messages are few there, so their tables are not judged.
"""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from sqlalchemy.ext.asyncio import AsyncConnection

from bot.adapters.store import migrate
from bot.adapters.store.engine import open_engine
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.care.duty import Duty
from bot.services.ports import UnitOfWork
from bot.services.records import ColonyId, DeliveryId, KeeperId, OccurrenceId, OccurrenceState, Standing
from tests.bench.stock import FIRST, NOW, fill, handbook
from tests.store.builders import DAY, MINUTE, ZONES
from tests.store.conftest import Server

pytestmark = pytest.mark.asyncio
COLONIES = 20_000
LARGE = {"keeper", "place", "colony", "log_entry", "occurrence"}
KEEPER, COLONY = KeeperId(FIRST + 4711), ColonyId(FIRST + 9422)
BATCH = [KeeperId(FIRST + 100 * number) for number in range(50)]
THEIRS = [(ColonyId(FIRST + 200 * number), None) for number in range(100)]
PLAN = Standing(DAY, "made with")
Question = Callable[[UnitOfWork], Awaitable[object]]

HOT: dict[str, Question] = {
    "claim": lambda work: work.keepers.claim_due(NOW, NOW + MINUTE, "one", 50),
    "next wake": lambda work: work.keepers.next_wake(),
    "keeper": lambda work: work.keepers.get(KEEPER),
    "renew": lambda work: work.keepers.renew([KEEPER], "one", NOW),
    "release": lambda work: work.keepers.release(KEEPER, "one", NOW),
    "next batch": lambda work: work.keepers.ids_after(KEEPER, 100),
    "due": lambda work: work.occurrences.due([KEEPER], NOW),
    "outlook": lambda work: work.occurrences.outlook([KEEPER]),
    "open of a keeper": lambda work: work.occurrences.open_of_keeper(KEEPER),
    "open of a colony": lambda work: work.occurrences.open_of(COLONY),
    "answered": lambda work: work.occurrences.answered(COLONY, 20),
    "one occurrence": lambda work: work.occurrences.get(OccurrenceId(9)),
    "colonies and their logs": lambda work: work.colonies.of(KEEPER),
    "one colony": lambda work: work.colonies.get(COLONY),
    "keepers of a batch": lambda work: work.keepers.get_all(BATCH),
    "leases of a batch": lambda work: work.keepers.renew(BATCH, "one", NOW),
    "leases given back": lambda work: work.keepers.let_go(BATCH, "one"),
    "notes of a batch": lambda work: work.notes.due(BATCH, NOW),
    "told": lambda work: work.notes.told([DeliveryId(9)]),
    "due of a batch": lambda work: work.occurrences.due(BATCH, NOW),
    "outlook of a batch": lambda work: work.occurrences.outlook(BATCH),
    "open of many colonies": lambda work: work.occurrences.open_of_all(THEIRS),
    "several occurrences": lambda work: work.occurrences.get_all([OccurrenceId(9), OccurrenceId(7)]),
    "settling a batch": lambda work: work.occurrences.settle([DeliveryId(9)], OccurrenceState.SENT),
    "plans that stand": lambda work: work.colonies.standing(BATCH),
    "colonies of a batch": lambda work: work.colonies.of_all(BATCH, [COLONY]),
    "names of a batch": lambda work: work.colonies.names_of(BATCH),
    "names of cultures": lambda work: work.cultures.names_of(BATCH),
    "a plan stands": lambda work: work.colonies.plan_stands({COLONY: PLAN}),
    "sittings of a batch": lambda work: work.sittings.open_of_all(BATCH),
    "unlog": lambda work: work.colonies.unlog(COLONY, DAY, Duty.WATER),
}


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def large_url(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A large store on each database in turn."""
    if request.param == "sqlite":
        template: Path = request.getfixturevalue("sqlite_template")
        file = tmp_path_factory.mktemp("large") / "store.sqlite3"
        shutil.copyfile(template, file)
        url = f"sqlite+aiosqlite:///{file}"
        asyncio.run(fill(url, handbook(), COLONIES))
        yield url
        return
    server: Server = request.getfixturevalue("server")
    name = server.create()
    url = server.url(name)
    asyncio.run(migrate.upgrade(url))
    asyncio.run(fill(url, handbook(), COLONIES))
    yield url
    server.drop(name)


@pytest.mark.parametrize("name", HOT)
async def test_no_large_table_is_read_as_a_whole(large_url: str, name: str) -> None:
    for plan in await plans_of(large_url, HOT[name]):
        whole = [step for step in plan if reads_whole(step)]
        assert not whole, plan


async def test_a_claim_sorts_nothing(large_url: str) -> None:
    """Thousands of keepers of one zone wake at the same moment: each claim must only read its own batch."""
    claim = (await plans_of(large_url, HOT["claim"]))[0]
    assert any("ix_keeper_next_wake_id" in step for step in claim), claim
    assert not any("sort" in step.lower() or "b-tree" in step.lower() for step in claim), claim


async def test_what_is_due_is_found_by_its_keepers(large_url: str) -> None:
    """Nearly everything stored is in no delivery: an index that finds just that finds the whole table."""
    mine = (await plans_of(large_url, HOT["due of a batch"]))[0]
    assert any("ix_occurrence_keeper_id" in step for step in mine), mine


def reads_whole(step: str) -> bool:
    """SQLite: `SCAN table`, even by an index. PostgreSQL: `Seq Scan table`."""
    words = step.split()
    return (words[:2] == ["Seq", "Scan"] and words[2] in LARGE) or (words[0] == "SCAN" and words[1] in LARGE)


async def plans_of(url: str, question: Question) -> list[list[str]]:
    """The plans of all statements behind a question, as the database itself tells them."""
    engine, asked = open_engine(url), list[tuple[str, Any]]()

    def note(_connection: object, _cursor: object, statement: str, values: Any, *_: object) -> None:
        asked.append((statement, values))

    try:
        async with unit_of_work_maker(engine, ZONES)() as work:
            event.listen(engine.sync_engine, "before_cursor_execute", note)
            await question(work)
            event.remove(engine.sync_engine, "before_cursor_execute", note)
        async with engine.connect() as connection:
            explain = _postgresql if engine.dialect.name == "postgresql" else _sqlite
            return [await explain(connection, statement, values) for statement, values in asked]
    finally:
        await engine.dispose()


async def _sqlite(connection: AsyncConnection, statement: str, values: Any) -> list[str]:
    rows = await connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values)
    return [str(tuple(row)[3]) for row in rows]


async def _postgresql(connection: AsyncConnection, statement: str, values: Any) -> list[str]:
    rows = await connection.exec_driver_sql(f"EXPLAIN (FORMAT JSON) {statement}", values)
    return list(_steps(rows.scalar_one()[0]["Plan"]))


def _steps(node: dict[str, Any]) -> Iterator[str]:
    yield f"{node['Node Type']} {node.get('Relation Name', '-')} {node.get('Index Name', '')}"
    for below in node.get("Plans", ()):
        yield from _steps(below)
