"""The command line. Every failure is a sentence on standard error and an exit code of 1 (wrong use: 2)."""

from __future__ import annotations

import gc

if __name__ == "__main__":
    gc.disable()  # nothing is litter while modules load, and looking for it costs a start 0.2 to 0.4 s

import argparse
import asyncio
import json
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path

from bot.adapters.chat.shards import Shards
from bot.adapters.clock import SystemClock
from bot.adapters.handbook.errors import HandbookError
from bot.adapters.household.loading import HouseholdError, load_household
from bot.adapters.pictures.drawings import household_album
from bot.adapters.store.errors import StoreError
from bot.adapters.terminal.answer_text import answer_text
from bot.adapters.terminal.batch import read_batch
from bot.adapters.terminal.plan_json import plan_object
from bot.adapters.terminal.plan_text import plan_text
from bot.adapters.zones import TzDatabase
from bot.app import guide_of, handbook_of, run
from bot.care.agenda import plan_colony, plan_household
from bot.care.answers.guide import Guide
from bot.care.answers.named_cautions import SOMEBODY
from bot.care.answers.values import NO_FACTS, Facts
from bot.care.answers.whose import asked_about
from bot.care.colony import Colony
from bot.care.culture_agenda import plan_cultures
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.place import Household, Keeper
from bot.operations import check, database_copy, database_move, database_restore, database_restored, database_upgrade
from bot.services.answers import (
    answer_batch,
    answer_question,
    batch_line,
    country_slots,
    facts_of,
    kept_as,
    season_on,
    slots_of,
)
from bot.services.pictures import Picture
from bot.settings import Settings, SettingsError, read_settings

LONGEST_DAYS = 1500
ASK_DAYS = 60
"""How far the plan behind an answer looks ahead."""
Command = Callable[[argparse.Namespace, Settings], int]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    options = _parser().parse_args(arguments)
    command: Command = options.command
    try:
        return command(options, read_settings(dict(os.environ)))
    except (SettingsError, HandbookError, HouseholdError, StoreError, CareError, ValueError) as problem:
        print(problem, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m bot", description="Winterbrood, the memory of ant keepers.")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    running = commands.add_parser("run", help="the bot on the platform, with the token from the environment")
    running.add_argument("--shards", metavar="FROM-TO", help="one of several processes: its connections, such as 0-3")
    running.add_argument("--of", type=int, metavar="COUNT", help="how many connections there are in all")
    running.set_defaults(command=_run)

    practising = commands.add_parser("practice", help="the real bot in a local page, without token or network")
    practising.add_argument("--port", type=_port, default=8722, help="port on this machine (default: 8722)")
    practising.add_argument("--data", type=Path, help="folder that keeps the data (default: forgotten at the end)")
    practising.set_defaults(command=_practice)

    year = commands.add_parser("year", help="the whole plan of a household file, with reasons and cautions")
    year.add_argument("file", type=Path)
    year.add_argument("--from", dest="start", type=_day, help="first day, such as 2026-11-24 (default: today)")
    year.add_argument("--days", type=_days, default=365, help=f"how many days, 1 to {LONGEST_DAYS} (default: 365)")
    year.add_argument("--json", action="store_true", help="one JSON object instead of text")
    year.add_argument("--pictures", type=Path, metavar="DIR", help="write the pictures of all colonies there, too")
    year.set_defaults(command=_year)

    asking = commands.add_parser("ask", help="what /ask would answer")
    asking.add_argument("text", nargs="*", help="the question, in English, German, Spanish or French")
    asking.add_argument("--household", type=Path, help="household file of the asker")
    asking.add_argument("--colony", help="name of the colony that is meant")
    asking.add_argument("--json", action="store_true", help="one JSON object instead of text")
    asking.add_argument(
        "--batch", type=Path, metavar="FILE.jsonl", help="one question a line; prints one JSON line each"
    )
    asking.set_defaults(command=_ask)

    checking = commands.add_parser("check", help="settings, handbook and database: what is wrong, and where")
    checking.set_defaults(command=_check)

    database = commands.add_parser("db", help="upgrade, backup or restore the database")
    steps = database.add_subparsers(required=True, metavar="STEP")
    steps.add_parser("upgrade", help="bring the tables up to date").set_defaults(command=_upgrade)
    moving = steps.add_parser("move", help="copy a SQLite store into an empty PostgreSQL one, and compare both")
    moving.add_argument("source", metavar="FROM_URL")
    moving.add_argument("target", metavar="TO_URL")
    moving.set_defaults(command=_move)
    steps.add_parser(
        "restored", help="after other tools put a copy in place (pg_restore): nothing due before is told twice"
    ).set_defaults(command=_restored)
    for name, step, help_text in (
        ("backup", _backup, "copy the database to FILE, also while the bot runs"),
        ("restore", _restore, "put the copy in FILE in place; the present one is kept beside it"),
    ):
        copying = steps.add_parser(name, help=help_text)
        copying.add_argument("file", type=Path)
        copying.set_defaults(command=step)
    return parser


def _run(options: argparse.Namespace, settings: Settings) -> int:
    several = options.shards is not None or options.of is not None
    asyncio.run(run(settings, shards=Shards.of(options.shards or "", options.of or 0) if several else None))
    return 0


def _practice(options: argparse.Namespace, _settings: Settings) -> int:
    from bot.practice import practice  # noqa: PLC0415 - an optional part: it says itself what is missing

    return practice(options.port, options.data)


def _year(options: argparse.Namespace, settings: Settings) -> int:
    handbook, zones = handbook_of(settings), TzDatabase()
    today = SystemClock().now().date()
    household = load_household(options.file, handbook, zones, max(today, options.start or today))
    start = options.start or today
    plans = plan_household(household, handbook, start, options.days)
    cultures = plan_cultures(household, handbook, start, options.days)
    if options.pictures is not None:
        _write_pictures(options.pictures, household_album(household, plans, handbook, start, options.days))
    if options.json:
        print(json.dumps(plan_object(household.keeper, plans, cultures), ensure_ascii=False, indent=2))
    else:
        print(plan_text(household.keeper, plans, handbook, cultures))
    return 0


def _write_pictures(folder: Path, pictures: Mapping[str, Picture]) -> None:
    """Each as a PNG, and their words for those who cannot see them in `words.txt`.

    Raises:
        ValueError: the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, picture in pictures.items():
            (folder / name).write_bytes(picture.png)
        words = "".join(f"{name}: {picture.alt}\n" for name, picture in pictures.items())
        (folder / "words.txt").write_text(words, "utf-8")
    except OSError as refused:
        raise ValueError(f"The pictures could not be written to “{folder}” ({refused.strerror}).") from refused


def _ask(options: argparse.Namespace, settings: Settings) -> int:
    handbook = handbook_of(settings)
    guide = guide_of(settings, handbook)
    if options.batch is not None:
        for line in answer_batch(map(batch_line, read_batch(options.batch)), guide):
            print(json.dumps(line, ensure_ascii=False))
        return 0
    if not options.text:
        raise ValueError(
            'Ask something: python -m bot ask "how often do I water the nest?", or give --batch FILE.jsonl'
        )
    question = " ".join(options.text)
    facts, slots, keeper = _known(options, question, guide, handbook)
    answer = answer_question(question, facts, guide, slots, keeper)
    print(
        json.dumps(answer.as_json(), ensure_ascii=False, indent=2)
        if options.json
        else answer_text(answer, guide, handbook)
    )
    return 0


def _known(
    options: argparse.Namespace, question: str, guide: Guide, handbook: Handbook
) -> tuple[Facts, dict[str, str], Keeper]:
    """Facts and personal sentences of the colony that is meant; those of its keeper alone where none can be told."""
    if options.household is None:
        return NO_FACTS, {}, SOMEBODY
    today = SystemClock().now().date()
    household = load_household(options.household, handbook, TzDatabase(), today)
    keeper, colony = household.keeper, _meant(household, options.colony, question, guide, handbook)
    if colony is None:
        return Facts(season=season_on(today, keeper)), country_slots(keeper, handbook), keeper
    place = household.place_of(colony)
    plan = plan_colony(colony, keeper, place, handbook, today, ASK_DAYS)
    facts = facts_of(colony, plan.profile, keeper, today, plan.rest)
    return facts, slots_of(plan, keeper, handbook, today, place.temperature_c), keeper


def _meant(household: Household, name: str | None, question: str, guide: Guide, handbook: Handbook) -> Colony | None:
    """The named colony, else the only one, else the one that the question tells, else none.

    Raises:
        ValueError: no colony has this name.
    """
    meant = [colony for colony in household.colonies if name in {None, colony.name}]
    if not meant:
        names = ", ".join(colony.name for colony in household.colonies)
        raise ValueError(f"The household has no colony called “{name}”; its colonies are: {names}.")
    if len(meant) == 1:
        return meant[0]
    kept = {kept_as(colony, handbook): colony for colony in meant}
    about = asked_about(question, guide, tuple(kept))
    return None if about is None else kept[about]


def _check(_options: argparse.Namespace, settings: Settings) -> int:
    findings = asyncio.run(check(settings))
    for line in findings.lines:
        print(line)
    return 0 if findings.good else 1


def _upgrade(_options: argparse.Namespace, settings: Settings) -> int:
    print(f"The database is at revision {asyncio.run(database_upgrade(settings))}.")
    return 0


def _move(options: argparse.Namespace, _settings: Settings) -> int:
    for line in asyncio.run(database_move(options.source, options.target)):
        print(line)
    print("Moved: set WINTERBROOD_DATABASE to the new address, and keep the old file until you are content.")
    return 0


def _backup(options: argparse.Namespace, settings: Settings) -> int:
    asyncio.run(database_copy(settings, options.file))
    print(f"Copied to {options.file}.")
    return 0


def _restore(options: argparse.Namespace, settings: Settings) -> int:
    kept = asyncio.run(database_restore(settings, options.file))
    print("Restored." if kept is None else f"Restored; the former database is kept as {kept.name}.")
    return 0


def _restored(_options: argparse.Namespace, settings: Settings) -> int:
    asyncio.run(database_restored(settings))
    print("Noted: what was due before now waits for the next regular message of its keeper.")
    return 0


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"“{text}” is no day; write it like 2026-11-24") from None


def _days(text: str) -> int:
    if text.isdecimal() and 1 <= int(text) <= LONGEST_DAYS:
        return int(text)
    raise argparse.ArgumentTypeError(f"give a number of days from 1 to {LONGEST_DAYS}")


def _port(text: str) -> int:
    if text.isdecimal() and 1024 <= int(text) <= 65535:
        return int(text)
    raise argparse.ArgumentTypeError("give a port from 1024 to 65535")


if __name__ == "__main__":
    gc.enable()
    sys.exit(main())
