"""What `check` and `db` do: look at everything without changing it; upgrade, copy, restore and move the database."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from bot.adapters.clock import SystemClock
from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.overlay import overrides
from bot.adapters.store.backup import backup, restore
from bot.adapters.store.engine import open_engine
from bot.adapters.store.errors import StoreError
from bot.adapters.store.migrate import current, head, knows, upgrade
from bot.adapters.store.moving import move
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.app import guide_of, handbook_of, languages_of, open_core
from bot.services.alarms import standing
from bot.services.upheaval import LAST_BEAT
from bot.settings import Settings


@dataclass(frozen=True, slots=True)
class Findings:
    """What `check` found, a line each, and whether the bot could start."""

    lines: tuple[str, ...]
    good: bool


async def check(settings: Settings) -> Findings:
    """Look at settings, handbook and database without changing anything."""
    lines, good = [f"settings: token {'given' if settings.token else 'not given (only `run` needs it)'}."], True
    try:
        book = handbook_of(settings)
        lines.append(f"handbook: {len(book.species)} profiles, {len(book.cautions)} cautions, all with sources.")
        lines.append(f"guide: {len(guide_of(settings, book).cards)} cards, all with sources.")
        languages = ", ".join(words.name for words in languages_of(settings, book).values())
        lines.append(f"season: notices in {languages}.")
        if settings.overlay is not None:
            lines += [f"overlay: {line}" for line in overrides(settings.config, settings.overlay)]
    except HandbookError as problem:
        lines, good = [*lines, *(f"handbook: {line}" for line in str(problem).splitlines())], False
    try:
        revision = await current(settings.database)
        if revision is None:
            lines.append("database: not there yet; the first start creates it.")
        elif revision == head():
            lines.append(f"database: up to date (revision {revision}).")
            said, calm = await _watched(settings)
            lines, good = [*lines, *said], good and calm
        elif knows(revision):
            lines.append(f"database: revision {revision}; run `python -m bot db upgrade` (a start does it by itself).")
        else:
            lines.append(f"database: revision {revision} is newer than this bot knows; update the bot.")
            good = False
    except StoreError as problem:
        lines, good = [*lines, f"database: {problem}"], False
    return Findings(tuple(lines), good)


async def _watched(settings: Settings) -> tuple[list[str], bool]:
    """When the bot beat last, and every alarm that stands; whether there is none."""
    engine = open_engine(settings.database)
    try:
        async with unit_of_work_maker(engine, TzDatabase())() as work:
            beat, alarms = await work.marks.get(LAST_BEAT), await standing(work)
    finally:
        await engine.dispose()
    lines = [f"alarm: {alarm.trouble.value}, incident {alarm.incident}. {alarm.sentence}" for alarm in alarms]
    if beat is not None:
        age = SystemClock().now() - datetime.fromisoformat(beat)
        lines.insert(0, f"heartbeat: the last one {round(age / timedelta(minutes=1))} minutes ago.")
    return lines, not alarms


async def database_upgrade(settings: Settings) -> str:
    """Bring the tables up to date; returns the revision.

    Raises:
        StoreError: what is wrong and what would be right.
    """
    return await upgrade(settings.database)


async def database_move(source: str, target: str) -> tuple[str, ...]:
    """Move a SQLite store into an empty PostgreSQL database; returns a line about each table that was proved equal.

    Raises:
        StoreError: what is wrong and what would be right.
    """
    return tuple(str(moved) for moved in await move(source, target))


async def database_copy(settings: Settings, file: Path) -> None:
    """Copy the database to a file, also while the bot runs.

    Raises:
        StoreError: what is wrong and what would be right.
    """
    await backup(settings.database, file)


async def database_restore(settings: Settings, file: Path) -> Path | None:
    """Put a copy in place; returns where the former database is kept.

    Raises:
        StoreError: what is wrong and what would be right.
    """
    kept = await restore(settings.database, file)
    await database_restored(settings)
    return kept


async def database_restored(settings: Settings) -> None:
    """Remember that a copy was put in place: what was due before may have been told already.

    Raises:
        StoreError: what is wrong and what would be right.
    """
    async with open_core(settings, SystemClock()) as core:
        await core.upheaval.mark_restored(core.clock.now())
