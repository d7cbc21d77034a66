"""Reads a keeper's export, perhaps from another server: nothing in it is trusted, and nothing is stored here.

Sizes are limited before anything is unpacked; every value is checked by its type, and by the rules for what a keeper
may type.
"""

from __future__ import annotations

import json
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from io import BytesIO

from bot.care.checks import NOTE_LIMIT, OLDEST, check_colony, check_culture, check_name
from bot.care.colony import Colony, LogEntry
from bot.care.culture import Culture
from bot.care.errors import CareError
from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.logger.readings import Quantity
from bot.care.place import Keeper, Place
from bot.care.species import Founding
from bot.care.water.room_air import REST_PLACE_PERCENT
from bot.services.logger_ports import StoredSeries
from bot.services.own_data_writing import DOCUMENT, FORMAT, VERSION
from bot.services.own_records import LoggedEntry, OwnColony
from bot.services.plain_series import series_from
from bot.services.plain_values import BadPlainError, Plain, from_plain
from bot.services.ports import Zones
from bot.services.records import ColonyId, ColonyRecord, CultureId, CultureRecord, KeeperId

LARGEST_ZIP, LARGEST_DOCUMENT = 10_000_000, 40_000_000
"""Bytes; the second unpacked."""
MOST_KEPT, MOST_CLOSED, MOST_PLACES, MOST_CULTURES = 50, 500, 20, 20
MOST_WORKERS = 20_000_000
MOST_SERIES = 20
"""Series of a colony: two quantities at five spots, kept and waiting."""
WIDEST_MEAN, WIDEST_VARIANCE = 3.0, 1.0
"""Far outside of what the model of drying ever learns."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What a file brings: settings, places, colonies with their logs. Nothing of it is stored yet."""

    settings: Keeper
    places: tuple[Place, ...]
    mute_notes: bool
    colonies: tuple[OwnColony, ...]
    cultures: tuple[CultureRecord, ...] = ()


def read_file(data: bytes, handbook: Handbook, zones: Zones, now: datetime) -> Imported:
    """What an export brings, checked.

    Raises:
        CareError: what is wrong with the file and what would be right.
    """
    document = _document(data)
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise BadPlainError(f"“{DOCUMENT}” is not from this bot: send the file that “/my data” gave you.")
    if document.get("version") != VERSION:
        raise BadPlainError(f"The file has version {document.get('version')!r:.20}; this bot reads version {VERSION}.")
    keeper = _object(document, "keeper")
    settings = _settings(_object(keeper, "settings"), zones)
    places = tuple(
        from_plain(Place, one, f"keeper.places[{number}]")
        for number, one in enumerate(_list(keeper, "places", MOST_PLACES), start=1)
    )
    for place in places:
        check_name(place.name)
    today = local_day(now, settings.zone) + timedelta(days=1)  # the file may come from a day further east
    found = _list(document, "colonies", MOST_KEPT + MOST_CLOSED)
    colonies = tuple(_colony(one, f"colonies[{number}]", places) for number, one in enumerate(found, start=1))
    for one in colonies:
        _check(one, handbook, today)
    cultures = _cultures(document, places, handbook, today)
    return Imported(settings, places or (Place(),), keeper.get("mute_notes") is True, colonies, cultures)


def _document(data: bytes) -> Plain:
    """The JSON in the ZIP; unpacks no more than the limit."""
    if len(data) > LARGEST_ZIP:
        raise BadPlainError("The file is larger than 10 MB: send the file that “/my data” gave you, as it is.")
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive, archive.open(DOCUMENT) as file:
            text = file.read(LARGEST_DOCUMENT + 1)
    except (zipfile.BadZipFile, KeyError, RuntimeError, NotImplementedError, OSError, ValueError, EOFError) as problem:
        raise BadPlainError(
            f"This is no ZIP with “{DOCUMENT}” in it: send the file that “/my data” gave you."
        ) from problem
    if len(text) > LARGEST_DOCUMENT:
        raise BadPlainError(f"“{DOCUMENT}” is larger than 40 MB unpacked: that is no export of this bot.")
    try:
        return json.loads(text.decode("utf-8"), parse_constant=_no_number)
    except (ValueError, RecursionError) as problem:
        raise BadPlainError(f"“{DOCUMENT}” is damaged: send the file that “/my data” gave you, unchanged.") from problem


def _no_number(word: str) -> float:
    raise ValueError(word)


def _object(holder: Mapping[str, Plain], name: str) -> dict[str, Plain]:
    found = holder.get(name)
    if not isinstance(found, dict):
        raise BadPlainError(f"{name} must be an object with keys; it is missing or something else.")
    return found


def _list(holder: Mapping[str, Plain], name: str, most: int) -> Sequence[Plain]:
    found = holder.get(name)
    if not isinstance(found, list) or len(found) > most:
        raise BadPlainError(f"{name} must be a list of at most {most}.")
    return found


def _settings(document: dict[str, Plain], zones: Zones) -> Keeper:
    """Settings, with the rules of the zone that they name."""
    name = document.get("zone_name")
    if not isinstance(name, str):
        raise BadPlainError("settings.zone_name must be the zone of a town, such as Europe/Vienna.")
    settings = from_plain(Keeper, document, "settings", {"zone": zones.get(name)})
    country = settings.country
    if country is not None and not (len(country) == 2 and country.isascii() and country.isupper()):
        raise BadPlainError("settings.country must be two capital letters, such as AT.")
    return settings


def _cultures(
    document: dict[str, Plain], places: Sequence[Place], handbook: Handbook, today: date
) -> tuple[CultureRecord, ...]:
    """Feeder cultures; files from before there were any have none."""
    if "cultures" not in document:
        return ()
    found = _list(document, "cultures", MOST_CULTURES)
    return tuple(_culture(one, f"cultures[{at}]", places, handbook, today) for at, one in enumerate(found, start=1))


def _culture(document: Plain, where: str, places: Sequence[Place], handbook: Handbook, today: date) -> CultureRecord:
    if not isinstance(document, dict):
        raise BadPlainError(f"{where} must be an object with keys.")
    culture = from_plain(Culture, document.get("culture"), f"{where}.culture", {"key": ""})
    rest = {key: value for key, value in document.items() if key not in {"id", "culture"}}
    given = {"id": CultureId(0), "keeper_id": KeeperId(0), "culture": culture}
    record = from_plain(CultureRecord, rest, where, given)
    try:
        check_culture(culture, handbook, today)
    except CareError as problem:
        raise BadPlainError(f"“{culture.name[:40]}”: {problem}") from problem
    if culture.place is not None and culture.place not in {place.name for place in places}:
        raise BadPlainError(f"{where}: “{culture.name}” stands in a place that the file does not describe.")
    for entry in culture.log:
        if not OLDEST <= entry.day <= today:
            raise BadPlainError(f"“{culture.name}”: {entry.day} must lie between {OLDEST.year} and today.")
    in_order = tuple(sorted(culture.log, key=lambda entry: entry.day))
    return replace(record, culture=replace(culture, log=in_order))


def _colony(document: Plain, where: str, places: Sequence[Place]) -> OwnColony:
    if not isinstance(document, dict):
        raise BadPlainError(f"{where} must be an object with keys.")
    rest = {key: value for key, value in document.items() if key not in {"id", "colony", "log", "loggers"}}
    colony = from_plain(Colony, document.get("colony"), f"{where}.colony", {"key": "", "log": ()})
    given = {"id": ColonyId(0), "keeper_id": KeeperId(0), "colony": colony, "version": 1}
    record = from_plain(ColonyRecord, rest, where, given)
    log = [_logged(one, f"{where}.log[{number}]") for number, one in enumerate(_list(document, "log", 20_000), start=1)]
    if colony.place is not None and colony.place not in {place.name for place in places}:
        raise BadPlainError(f"{where}: “{colony.name}” stands in a place that the file does not describe.")
    log.sort(key=lambda one: one.entry.day)
    found = _list(document, "loggers", MOST_SERIES) if "loggers" in document else ()
    readings = tuple(_series(one, f"{where}.loggers[{number}]") for number, one in enumerate(found, start=1))
    return OwnColony(record, tuple(log), tuple(one for one in readings if one.kept))


def _series(document: Plain, where: str) -> StoredSeries:
    if not isinstance(document, dict):
        raise BadPlainError(f"{where} must be an object with keys.")
    quantity = document.get("quantity")
    if not isinstance(quantity, str) or quantity not in set(Quantity):
        raise BadPlainError(f"{where}.quantity must be one of {', '.join(Quantity)}.")
    series = series_from(Quantity(quantity), document.get("readings"))
    rest = {key: value for key, value in document.items() if key not in {"quantity", "readings"}}
    return from_plain(StoredSeries, rest, where, {"series": series})


def _logged(document: Plain, where: str) -> LoggedEntry:
    if not isinstance(document, dict):
        raise BadPlainError(f"{where} must be an object with keys.")
    entry = {key: value for key, value in document.items() if key != "recorded_at"}
    moment = {"entry": entry, "recorded_at": document.get("recorded_at")}
    return from_plain(LoggedEntry, moment, where)


def _check(one: OwnColony, handbook: Handbook, today: date) -> None:
    """What a keeper may type, and bounds of what the bot works out by itself."""
    colony = one.record.colony
    try:
        check_colony(colony, handbook, today)
    except CareError as problem:
        raise BadPlainError(f"“{colony.name[:40]}”: {problem}") from problem
    learned = colony.drying
    if colony.founding not in {None, *(mode.value for mode in Founding)}:
        raise BadPlainError(f"“{colony.name}”: the founding mode must be one of {', '.join(Founding)}.")
    if colony.rest.place not in {None, *REST_PLACE_PERCENT}:
        raise BadPlainError(f"“{colony.name}”: the place of rest must be one of {', '.join(REST_PLACE_PERCENT)}.")
    if learned is not None and not (abs(learned.mean) <= WIDEST_MEAN and 0 < learned.variance <= WIDEST_VARIANCE):
        raise BadPlainError(f"“{colony.name}”: what was learned about its water cannot be.")
    for logged in one.log:
        _check_entry(colony.name, logged.entry, today)


def _check_entry(name: str, entry: LogEntry, today: date) -> None:
    if not OLDEST <= entry.day <= today:
        raise BadPlainError(f"“{name}”: {entry.day} in the log must lie between {OLDEST.year} and today.")
    if len(entry.note or "") > NOTE_LIMIT or len(entry.food or "") > NOTE_LIMIT:
        raise BadPlainError(f"“{name}”: a note of {entry.day} is longer than {NOTE_LIMIT} letters.")
    if entry.count is not None and not 0 <= entry.count <= MOST_WORKERS:
        raise BadPlainError(f"“{name}”: the count of {entry.day} must lie between 0 and {MOST_WORKERS:,}.")
