"""Very many keepers and colonies in a store: a few real ones through the use cases, copied by the database itself.

Every keeper has two colonies, every colony two open occurrences and a log entry. Keepers wake spread over the coming
days; `due` moves some of them into the past.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Table, text
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from bot.adapters.handbook.loader import load_handbook
from bot.adapters.store.engine import open_engine
from bot.adapters.store.tables import ColonyRow, KeeperRow, LogRow, OccurrenceRow, PlaceRow
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.handbook import Handbook
from bot.services.colonies import Colonies
from bot.services.keepers import Keepers, PlaceChanges
from bot.services.planner import Planner
from bot.services.ports import UnitOfWorkMaker
from bot.services.records import KeeperId
from bot.services.upheaval import ZONE_DATA
from tests.crash.stage import small_colony

CONFIG = Path(__file__).parents[2] / "config"
NOW = datetime(2027, 6, 1, 15, 30, tzinfo=UTC)
"""A Tuesday afternoon in Vienna."""
MODEL = KeeperId(1)
FIRST = 10_000
"""Ids of copied keepers and colonies begin here."""
COLONIES_EACH = 2
OPEN_EACH = 2


def handbook() -> Handbook:
    """The handbook that ships with the bot."""
    return load_handbook(CONFIG)


async def register(units: UnitOfWorkMaker, book: Handbook, ids: Iterable[int], colonies: int = COLONIES_EACH) -> None:
    """Keepers with colonies, a known door and a log, planned at `NOW`, through the use cases."""
    zones, planner = TzDatabase(), Planner(book)
    keepers, garden = Keepers(units, planner, zones), Colonies(units, planner, book)
    for number in ids:
        keeper = KeeperId(number)
        room = PlaceChanges(zone_name="Europe/Vienna", temperature_c=24.5, humidity_percent=45)
        await keepers.set_place(keeper, room, NOW)
        for colony in range(colonies):
            made = await garden.add(keeper, small_colony(f"Colony {colony + 1}", 40 + 150 * colony), NOW)
            async with units() as work:
                entry = LogEntry(day=NOW.date(), duty=Duty.WATER, outcome=Outcome.DONE)
                await work.colonies.log(made.record.id, entry, NOW)
                await work.commit()
        await keepers.door_opened(keeper, 1000 + number, NOW)


async def fill(url: str, book: Handbook, colonies: int) -> None:
    """A store at the newest revision gets this many colonies."""
    engine = open_engine(url, migrating=True)
    try:
        units = unit_of_work_maker(engine, TzDatabase())
        await register(units, book, [MODEL])
        async with units() as work:
            await work.marks.set(ZONE_DATA, TzDatabase().version)  # as after the first start of a real store
            await work.commit()
        async with engine.begin() as connection:
            await _copy(connection, colonies // COLONIES_EACH)
            if connection.dialect.name == "postgresql":  # which does so by itself, though never to an empty table
                filled = [table.name for table, _, _ in _copies("")]
                await connection.execute(text(f"ANALYZE {', '.join(filled)}"))
    finally:
        await engine.dispose()


async def due(engine: AsyncEngine, count: int, keepers: int, now: datetime = NOW) -> None:
    """Make some keepers, spread over all, due now and free. By their ids, so that nothing else is read into memory."""
    one = text("UPDATE keeper SET lease_until = NULL, next_wake = :at WHERE id = :id")
    step = max(1, keepers // count)
    async with engine.begin() as connection:
        at = _moment(connection, now - timedelta(minutes=1))
        await connection.execute(one, [{"at": at, "id": FIRST + step * number} for number in range(count)])


async def _copy(connection: AsyncConnection, keepers: int) -> None:
    """Multiply the model. Numbers of keepers and colonies are computed, so that no join by name is needed."""
    if connection.dialect.name == "postgresql":
        series = "SELECT generate_series AS n FROM generate_series(0, :last)"
    else:
        series = "WITH RECURSIVE s(n) AS (SELECT 0 UNION ALL SELECT n + 1 FROM s WHERE n < :last) SELECT n FROM s"
    numbers = {"last": keepers - 1, "first": FIRST, "model": MODEL}
    for table, changed, source in _copies(_spread(connection)):
        columns = [column.name for column in table.columns if changed.get(column.name) != ""]
        values = ", ".join(changed.get(name, f"t.{name}") for name in columns)
        wanted = f"SELECT {values} FROM ({series}) AS s, {source}"
        statement = f"INSERT INTO {table.name} ({', '.join(columns)}) {wanted}"
        told = {name: number for name, number in numbers.items() if f":{name}" in statement}
        await connection.execute(text(statement), told)
    if connection.dialect.name == "postgresql":
        numbered = "SELECT setval(pg_get_serial_sequence('colony', 'id'), (SELECT max(id) FROM colony))"
        await connection.execute(text(numbered))


def _copies(wakes: str) -> list[tuple[Table, Mapping[str, str], str]]:
    """Table, what differs from the model (empty: the database gives it), and where the model's rows come from."""
    owner, colony = ":first + s.n", f"{FIRST} + {COLONIES_EACH} * s.n + m.rank"
    ranked = "(SELECT c.*, row_number() OVER (ORDER BY c.id) - 1 AS rank FROM colony c WHERE c.keeper_id = :model) AS m"
    turns = "SELECT o.*, row_number() OVER (PARTITION BY o.colony_id ORDER BY o.due_at, o.id) AS turn FROM occurrence o"
    first_turns = f"({turns}) AS o ON o.colony_id = m.id AND o.turn <= {OPEN_EACH}"
    keeper = {"id": owner, "channel_id": f"1000 + {owner}", "next_wake": wakes}
    occurrence = {"id": "", "colony_id": colony, "keeper_id": owner, "delivery_id": "NULL"}
    return [
        (_table(KeeperRow), keeper, "keeper AS t WHERE t.id = :model"),
        (_table(PlaceRow), {"keeper_id": owner}, "place AS t WHERE t.keeper_id = :model"),
        (_table(ColonyRow), {"id": colony, "keeper_id": owner}, f"{ranked} JOIN colony AS t ON t.id = m.id"),
        (_table(LogRow), {"id": "", "colony_id": colony}, f"{ranked} JOIN log_entry AS t ON t.colony_id = m.id"),
        (_table(OccurrenceRow), occurrence, f"{ranked} JOIN {first_turns} JOIN occurrence AS t ON t.id = o.id"),
    ]


def _table(row: type) -> Table:
    table = getattr(row, "__table__", None)
    assert isinstance(table, Table)
    return table


def _spread(connection: AsyncConnection) -> str:
    """Wake moments over seven days from tomorrow on."""
    if connection.dialect.name == "postgresql":
        return f"timestamptz '{NOW.isoformat()}' + interval '1 day' + interval '1 second' * (s.n % 604800)"
    start = (NOW + timedelta(days=1)).strftime("%Y-%m-%d %H:%M:%S")
    return f"strftime('%Y-%m-%d %H:%M:%S', '{start}', '+' || (s.n % 604800) || ' seconds') || '.000000'"


def _moment(connection: AsyncConnection, at: datetime) -> datetime | str:
    """A moment as a plain statement takes it."""
    return at if connection.dialect.name == "postgresql" else at.strftime("%Y-%m-%d %H:%M:%S.%f")
