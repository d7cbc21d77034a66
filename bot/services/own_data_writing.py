"""The file that carries a keeper's data away: a ZIP with JSON, tables for people, and pictures.

The schema of the JSON is published as `config/own-data.schema.json`. Guard against formulas in tables: the advice of
OWASP on CSV injection (an apostrophe in front), for the full-width twins of its letters too.
"""

from __future__ import annotations

import csv
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from io import BytesIO, StringIO

from bot.services.logger_ports import StoredSeries
from bot.services.own_records import OwnColony, OwnRecords
from bot.services.pictures import Picture
from bot.services.plain_series import plain_series
from bot.services.plain_values import Plain, to_plain
from bot.services.records import Subject

FORMAT, VERSION = "winterbrood own data", 1
DOCUMENT, README = "own-data.json", "read-me.txt"
INTERNAL = frozenset({"lease_until", "lease_token", "nonce", "key", "colony", "keeper_id", "recipient_id", "version"})
"""Fields that only steer the bot, that stand beside them anyway, or that name somebody else."""
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""Letters that make a spreadsheet take a text for a formula, plain and full width."""
README_TEXT = """Your Winterbrood data
=====================

own-data.json   everything the bot keeps about you; “/my import” on another server of the bot reads it
colonies.csv    your colonies
log.csv         what you and the bot noted
loggers.csv     what your data loggers measured, in degrees Celsius and percent
reminders.csv   what was planned and how you answered
pictures/       your colonies as pictures, with their words in pictures/words.txt

Texts in the tables that would start a formula in a spreadsheet have an apostrophe in front.
Temperatures are in degrees Celsius, moments in UTC, days on your own wall clock.
"""


def write_file(
    records: OwnRecords, pictures: Mapping[str, Picture], made_at: datetime, left_out: Sequence[str] = ()
) -> bytes:
    """The ZIP. `pictures` maps file names without ending to pictures; `left_out` names colonies without them."""
    parts = {
        README: README_TEXT + (f"\nNo room for pictures of: {', '.join(left_out)}\n" if left_out else ""),
        DOCUMENT: json.dumps(document_of(records, made_at), ensure_ascii=False, indent=1, allow_nan=False),
        "colonies.csv": _table(_colony_rows(records)),
        "log.csv": _table(_log_rows(records)),
        "loggers.csv": _table(_logger_rows(records)),
        "reminders.csv": _table(_reminder_rows(records)),
        "pictures/words.txt": "".join(f"{name}.png: {found.alt}\n" for name, found in pictures.items()),
    }
    stamp = (max(made_at.year, 1980), *made_at.timetuple()[1:6])
    with BytesIO() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, text in parts.items():
                archive.writestr(zipfile.ZipInfo(name, stamp), text.encode(), zipfile.ZIP_DEFLATED)
            for name, picture in pictures.items():
                archive.writestr(zipfile.ZipInfo(f"pictures/{name}.png", stamp), picture.png, zipfile.ZIP_STORED)
        return file.getvalue()


def document_of(records: OwnRecords, made_at: datetime) -> Plain:
    """The JSON document."""
    names = _names(records)
    return {
        "format": FORMAT,
        "version": VERSION,
        "made_at": made_at.isoformat(),
        "keeper": to_plain(records.keeper, INTERNAL),
        "colonies": [_colony_document(one) for one in records.colonies],
        "cultures": [to_plain(one, INTERNAL) for one in records.cultures],
        "reminders": [
            {**to_plain(one, INTERNAL | {"culture"}), "colony": names.get(one.subject, "")}
            for one in records.occurrences
        ],
        "messages": [to_plain(one, INTERNAL) for one in records.deliveries],
        "cautions_shown": to_plain(records.cautions_shown),
        "communities": {
            "consents": [to_plain(one, INTERNAL) for one in records.consents],
            "counted": [to_plain(one) for one in records.counted],
            "acts": [to_plain(one, INTERNAL) for one in records.acts],
            "approved": [str(number) for number in records.approved],
        },
        "further": to_plain(records.further),
    }


def _names(records: OwnRecords) -> Mapping[Subject, str]:
    """What reminders are about, by name."""
    names = {one.record.subject: one.record.colony.name for one in records.colonies}
    return names | {one.subject: one.culture.name for one in records.cultures}


def _colony_document(one: OwnColony) -> Plain:
    colony = to_plain(replace(one.record.colony, log=()), frozenset({"key", "log"}))
    entries = [{**to_plain(entry.entry), "recorded_at": to_plain(entry.recorded_at)} for entry in one.log]
    loggers = [_logger_document(stored) for stored in one.readings]
    return {**to_plain(one.record, INTERNAL), "colony": colony, "log": entries, "loggers": loggers}


def _logger_document(stored: StoredSeries) -> Plain:
    return {
        "spot": stored.spot.value,
        "quantity": stored.series.quantity.value,
        "kept": stored.kept,
        "stored_at": stored.stored_at.isoformat(),
        "readings": plain_series(stored.series),
    }


def safe_cell(value: object) -> str:
    """A cell that no spreadsheet takes for a formula."""
    if value is None:
        return ""
    text = str(value)
    plain_number = isinstance(value, (int, float))
    return f"'{text}" if not plain_number and text.lstrip(" ").startswith(FORMULA) else text


def _table(rows: Iterable[Mapping[str, object]]) -> str:
    """CSV with a byte-order mark, every cell in quotation marks (RFC 4180)."""
    found = list(rows)
    with StringIO(newline="") as text:
        text.write("\ufeff")
        writer = csv.writer(text, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        if found:
            writer.writerow(found[0])
            writer.writerows([safe_cell(value) for value in row.values()] for row in found)
        return text.getvalue()


def _colony_rows(records: OwnRecords) -> Iterator[Mapping[str, object]]:
    for one in records.colonies:
        colony = one.record.colony
        yield {
            "name": colony.name,
            "species": colony.species,
            "state": one.record.state,
            "workers": colony.workers,
            "queens": colony.queens,
            "founded": colony.founded,
            "arrived": colony.arrived,
            "place": colony.place,
            "nest": colony.nest.material or colony.nest.kind,
            "closed_at": one.record.closed_at,
            "closed_reason": one.record.closed_reason,
        }


def _log_rows(records: OwnRecords) -> Iterator[Mapping[str, object]]:
    for one in records.colonies:
        for logged in one.log:
            yield {"colony": one.record.colony.name, **to_plain(logged.entry), "recorded_at": logged.recorded_at}


def _logger_rows(records: OwnRecords) -> Iterator[Mapping[str, object]]:
    for one in records.colonies:
        for stored in one.readings:
            for reading in stored.series.readings:
                yield {
                    "colony": one.record.colony.name,
                    "spot": stored.spot,
                    "quantity": stored.series.quantity,
                    "at": reading.at.isoformat(),
                    "value": reading.value,
                }


def _reminder_rows(records: OwnRecords) -> Iterator[Mapping[str, object]]:
    names = _names(records)
    for one in records.occurrences:
        yield {
            "colony": names.get(one.subject, ""),
            "day": one.occurrence.day,
            "duty": one.occurrence.duty,
            "reason": one.occurrence.reason,
            "state": one.state,
            "outcome": one.outcome,
            "answered_at": one.answered_at,
        }
