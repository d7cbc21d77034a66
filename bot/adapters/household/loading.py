"""Reads a household file (TOML): keeper, places, colonies, feeder cultures; for `bot year` and the demo community.

Anything that is misspelt, impossible or unknown is refused with the line, the key and what would be right; all
complaints of a file come together.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from pydantic import BaseModel, ValidationError

from bot.adapters.household.sections import SECTIONS, ColonySection, CultureSection, HouseholdFile, KeeperSection
from bot.care.checks import check_colony, check_culture
from bot.care.colony import Brood, Colony, Heater, LogEntry, Nest, NestKind, Outworld, RestWishes
from bot.care.culture import Culture, CultureEntry
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.localtime import QuietHours
from bot.care.place import Household, Keeper, Place
from bot.services.ports import Zones


class HouseholdError(Exception):
    """A household file that cannot be read; `str(error)` is one line a complaint."""

    def __init__(self, file: Path, complaints: list[str]) -> None:
        super().__init__("\n".join(f"{file.name}: {complaint}" for complaint in complaints))
        self.complaints = complaints


def load_household(file: Path, handbook: Handbook, zones: Zones, today: date) -> Household:
    """Read and check a household file.

    Raises:
        HouseholdError: with every complaint, each with its line where there is one.
    """
    try:
        text = file.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise HouseholdError(file, [f"cannot be read ({problem}); give the path of a TOML file in UTF-8."]) from problem
    try:
        read = HouseholdFile.model_validate(tomllib.loads(text), strict=False)
    except tomllib.TOMLDecodeError as problem:
        raise HouseholdError(file, [f"is not TOML: {problem}."]) from problem
    except ValidationError as problem:
        raise HouseholdError(file, list(_complaints(text, problem))) from problem
    return _checked(file, text, read, handbook, zones, today)


def _checked(file: Path, text: str, read: HouseholdFile, handbook: Handbook, zones: Zones, today: date) -> Household:
    complaints: list[str] = []
    try:
        keeper = _keeper(read.keeper, zones)
    except CareError as problem:
        complaints.append(f"line {_line(text, ('keeper', 'timezone'))}, key timezone: {problem}")
        raise HouseholdError(file, complaints) from problem
    places = tuple(Place(**section.model_dump()) for section in read.place) or (Place(),)
    household = Household(
        keeper=keeper,
        places=places,
        colonies=tuple(_colony(section) for section in read.colony),
        cultures=tuple(_culture(section) for section in read.culture),
    )
    complaints += _wrong_cultures(text, household, handbook, today)
    checked: list[Colony] = []
    for number, colony in enumerate(household.colonies):
        try:
            household.place_of(colony)
            check_colony(colony, handbook, today)
            checked.append(replace(colony, species=handbook.profile(colony.species).name))
        except CareError as problem:
            complaints.append(_complaint(text, ("colony", number), problem, "species"))
    for what, kept in (("colonies", household.colonies), ("cultures", household.cultures)):
        names = _twice([each.name for each in kept])
        complaints += [f"two {what} are called “{name}”; give each its own name." for name in names]
    if complaints:
        raise HouseholdError(file, complaints)
    return replace(household, colonies=tuple(checked))


def _wrong_cultures(text: str, household: Household, handbook: Handbook, today: date) -> Iterator[str]:
    for number, culture in enumerate(household.cultures):
        try:
            household.place_of(culture)
            check_culture(culture, handbook, today)
        except CareError as problem:
            yield _complaint(text, ("culture", number), problem, "kind")


def _complaint(text: str, table: tuple[str, int], problem: CareError, otherwise: str) -> str:
    field = getattr(problem, "field", otherwise)
    where = (*table, *_TABLE_OF.get(field, (field,)))
    return f"line {_line(text, where)}, key {where[-1]}: {problem}"


def _keeper(section: KeeperSection, zones: Zones) -> Keeper:
    zone = zones.get(section.timezone)
    return Keeper(
        zone_name=section.timezone,
        zone=zone,
        latitude=zones.latitude(section.timezone) if section.latitude is None else section.latitude,
        country=section.country.upper() if section.country else zones.country(section.timezone),
        units=section.units,
        digest_at=section.digest_at,
        quiet=QuietHours(*section.quiet_hours),
    )


def _colony(section: ColonySection) -> Colony:
    kind = section.nest.kind or (NestKind.TUBE if section.nest.material in {None, "tube"} else NestKind.NEST)
    return Colony(
        key=section.name,
        name=section.name,
        species=section.species,
        workers=section.workers,
        queens=section.queens,
        brood=Brood(section.brood, section.eggs, section.larvae, section.pupae),
        stage=section.stage,
        founding=section.founding,
        founded=section.founded,
        arrived=section.arrived,
        place=section.place,
        nest=Nest(**{**section.nest.model_dump(), "kind": kind}),
        heater=Heater(**section.heater.model_dump()) if section.heater else None,
        outworld=Outworld(**section.outworld.model_dump()) if section.outworld else None,
        rest=RestWishes(**section.rest.model_dump()),
        log=tuple(LogEntry(**entry.model_dump()) for entry in sorted(section.log, key=lambda entry: entry.day)),
    )


def _culture(section: CultureSection) -> Culture:
    noted = sorted(section.noted, key=lambda entry: entry.day)
    said = section.model_dump(exclude={"noted"})
    return Culture(key=section.name, log=tuple(CultureEntry(**entry.model_dump()) for entry in noted), **said)


def _complaints(text: str, problem: ValidationError) -> Iterator[str]:
    for error in problem.errors():
        key = ".".join(str(part) for part in error["loc"] if not isinstance(part, int)) or "(the file)"
        if error["type"] == "extra_forbidden":
            sentence = f"there is no such key; known here: {_known(error['loc'])}."
        elif error["type"] == "missing":
            sentence = "is missing; it must be given."
        else:
            sentence = f"{_right(error['type'], error.get('ctx', {}))}; found {str(error['input'])[:60]}."
        yield f"line {_line(text, error['loc'])}, key {key}: {sentence}"


_RIGHT = {
    "greater_than_equal": "must be at least {ge}",
    "greater_than": "must be more than {gt}",
    "less_than_equal": "must be at most {le}",
    "enum": "must be one of {expected}",
    "literal_error": "must be one of {expected}",
    "string_pattern_mismatch": "must be two letters, such as AT",
    "bool": "must be true or false",
    "int": "must be a whole number",
    "float": "must be a number",
    "string": "must be text in quotation marks",
    "date": "must be a day such as 2026-11-24",
    "time": "must be a time such as 18:00:00",
    "tuple": "must be a list",
    "model": "must be a table",
}


def _right(kind: str, context: dict[str, object]) -> str:
    """What would be right, in our own words, for a kind of complaint of the schema library."""
    wanted = _RIGHT.get(kind) or _RIGHT.get(kind.split("_", maxsplit=1)[0]) or "has another shape than expected here"
    return wanted.format(**context)


def _known(where: tuple[int | str, ...]) -> str:
    """Keys that would be right at a place of the file."""
    model: type[BaseModel] = HouseholdFile
    for part in where[:-1]:
        if isinstance(part, str):
            model = SECTIONS.get(part, model)
    return ", ".join(model.model_fields)


_TABLE_OF: dict[str, tuple[str, ...]] = {
    "material": ("nest", "material"),
    "changed": ("nest", "changed"),
    "barrier": ("outworld", "barrier"),
    "renewed": ("outworld", "renewed"),
    "heater": ("heater", "kind"),
    "place_low_c": ("rest", "place_low_c"),
}
"""Where a value that the trade refuses stands in the file, if not in `[[colony]]` itself."""


def _line(text: str, where: tuple[int | str, ...]) -> int:
    """The line of a key, or of its table; 1 when not found. TOML readers tell no lines, so headers are counted here."""
    path = [part for part in where if isinstance(part, str)]
    index = next((part for part in where if isinstance(part, int)), None)
    table, key = path[:-1], path[-1]
    here: list[str] = []
    entry, best = -1, 1
    for at, line in enumerate(text.splitlines(), start=1):
        if header := re.match(r"\s*\[+\s*([\w.]+)\s*\]+", line):
            here = header.group(1).split(".")
            entry += here == table[:1]
            if here == table and (index is None or entry == index):
                best = at
        elif here == table and (index is None or entry == index) and re.match(rf"\s*{re.escape(key)}\s*=", line):
            return at
    return best


def _twice(names: Sequence[str]) -> list[str]:
    folded = [name.casefold() for name in names]
    return sorted({name for name in names if folded.count(name.casefold()) > 1})
