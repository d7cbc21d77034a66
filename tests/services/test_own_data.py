"""A keeper's own data: what goes out, what comes back, and what is refused.

Formula injection: the starting letters named by OWASP (CSV Injection), from memory. CSV is read back by the standard
library; JSON is validated against the published schema by the jsonschema package.
"""

from __future__ import annotations

import csv
import json
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO, StringIO
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Colony, Heater, LearnedDrying, LogEntry, Outworld, RestWishes, Side
from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.duty import Duty, Outcome
from bot.care.errors import CareError
from bot.care.logger.readings import Quantity, Reading, Series
from bot.care.logger.spot import Spot
from bot.care.place import Place
from bot.services.logger_ports import StoredSeries
from bot.services.own_data_reading import LARGEST_ZIP, Imported, read_file
from bot.services.own_data_writing import README_TEXT, document_of, safe_cell, write_file
from bot.services.own_records import LoggedEntry, OwnColony, OwnRecords
from bot.services.pictures import Picture
from bot.services.plain_values import BadPlainError, from_plain, to_plain
from bot.services.records import ColonyId, ColonyRecord, ColonyState, CultureId, CultureRecord, KeeperId
from tests.care import builders as care
from tests.store import builders
from tests.store.builders import ZONES
from tests.store.strategies import colony_records, keeper_records

NOW = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)
BOOK = care.handbook()
SCHEMA = json.loads((Path(__file__).parents[2] / "config" / "own-data.schema.json").read_text("utf-8"))
PICTURE = Picture(b"\x89PNG\r\n\x1a\n", "The year of Dusk.", 10, 10)


def entry(day: date = date(2027, 5, 1), **changes: Any) -> LogEntry:
    return replace(LogEntry(day=day, duty=Duty.WATER, outcome=Outcome.ABOUT_DRY, side=Side.B), **changes)


def full_colony(**changes: Any) -> Colony:
    """A colony that says everything."""
    base = care.colony(
        key="",
        place="shelf",
        heater=Heater(hot_c=27.5, share=0.3, watts=4.0, thermostat=True),
        outworld=Outworld(barrier="ptfe", renewed=date(2027, 4, 1), dusty=True),
        rest=RestWishes(start=date(2027, 10, 1), weeks=12.0, place="cellar", place_low_c=4.0, place_high_c=8.0),
        drying=LearnedDrying(0.2, 0.3),
    )
    return replace(base, **changes)


def records(*colonies: Colony, log: tuple[LogEntry, ...] = (), **changes: Any) -> OwnRecords:
    keeper = builders.keeper(places=(Place(name="shelf", temperature_c=24), Place(name="hall", draughty=True)))
    kept = tuple(
        OwnColony(
            ColonyRecord(id=ColonyId(number), keeper_id=keeper.id, colony=colony, created_at=NOW),
            tuple(LoggedEntry(one, NOW) for one in log),
        )
        for number, colony in enumerate(colonies, start=1)
    )
    return replace(OwnRecords(keeper=keeper, colonies=kept, cautions_shown={"WATER": date(2027, 5, 1)}), **changes)


def packed(document: object, name: str = "own-data.json") -> bytes:
    with BytesIO() as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(name, document if isinstance(document, str) else json.dumps(document))
        return file.getvalue()


def read(data: bytes) -> Imported:
    return read_file(data, BOOK, ZONES, NOW)


def changed(change: Callable[[dict[str, Any]], object]) -> bytes:
    """An export after somebody worked on it."""
    document = json.loads(json.dumps(document_of(records(full_colony(), log=(entry(),)), NOW)))
    change(document)
    return packed(document)


def table(data: bytes, name: str) -> list[dict[str, str]]:
    with zipfile.ZipFile(BytesIO(data)) as archive:
        return list(csv.DictReader(StringIO(archive.read(name).decode("utf-8-sig"), newline="")))


def test_the_file_holds_everything_by_the_published_schema() -> None:
    data = write_file(records(full_colony(), log=(entry(),)), {"01-year": PICTURE}, NOW)
    with zipfile.ZipFile(BytesIO(data)) as archive:
        assert archive.testzip() is None
        names = {"read-me.txt", "own-data.json", "colonies.csv", "log.csv", "loggers.csv", "reminders.csv"}
        assert set(archive.namelist()) == names | {"pictures/words.txt", "pictures/01-year.png"}
        jsonschema.validate(
            json.loads(archive.read("own-data.json")), SCHEMA, format_checker=jsonschema.FormatChecker()
        )
        assert archive.read("pictures/words.txt") == b"01-year.png: The year of Dusk.\n"
        assert archive.read("read-me.txt").decode() == README_TEXT


@given(keeper=keeper_records, record=colony_records)
def test_whatever_is_kept_fits_the_schema(keeper: Any, record: ColonyRecord) -> None:
    logged = tuple(LoggedEntry(one, None) for one in record.colony.log)
    kept = OwnRecords(keeper=keeper, colonies=(OwnColony(record, logged),), cautions_shown={})
    document = json.loads(json.dumps(document_of(kept, NOW), allow_nan=False))
    jsonschema.validate(document, SCHEMA)


def test_settings_places_colonies_and_logs_come_back_equal() -> None:
    log = (entry(), entry(date(2027, 5, 9), duty=Duty.CENSUS, outcome=Outcome.DONE, count=90, note="Große Brut"))
    kept = records(full_colony(), full_colony(name="Dawn", heater=None, outworld=None, drying=None), log=log)
    found = read(write_file(kept, {}, NOW))
    assert found.settings == kept.keeper.settings
    assert found.places == kept.keeper.places
    assert [one.record.colony for one in found.colonies] == [one.record.colony for one in kept.colonies]
    assert [one.log for one in found.colonies] == [one.log for one in kept.colonies]


def test_closed_colonies_stay_closed() -> None:
    kept = records(full_colony())
    closed = replace(kept.colonies[0].record, state=ColonyState.CLOSED, closed_at=NOW, closed_reason="given away")
    found = read(write_file(replace(kept, colonies=(OwnColony(closed, ()),)), {}, NOW)).colonies[0].record
    assert (found.state, found.closed_at, found.closed_reason) == (ColonyState.CLOSED, NOW, "given away")


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20", " ="])
def test_no_cell_starts_a_formula(start: str) -> None:
    text = f'{start}HYPERLINK("x";"y")'
    data = write_file(records(full_colony(name=text), log=(entry(note=text),)), {}, NOW)
    (line,) = table(data, "log.csv")
    assert line["note"] == f"'{text}"
    assert table(data, "colonies.csv")[0]["name"] == f"'{text}"


def test_numbers_and_plain_words_stay_as_they_are() -> None:
    assert [safe_cell(value) for value in (-3.5, 7, "Dusk", None, "5-8")] == ["-3.5", "7", "Dusk", "", "5-8"]


@given(note=st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=60))
def test_any_note_is_one_cell(note: str) -> None:
    (line,) = table(write_file(records(full_colony(), log=(entry(note=note),)), {}, NOW), "log.csv")
    assert line["note"].removeprefix("'") == note.removeprefix("'")


def _set(path: str, value: object) -> Callable[[dict[str, Any]], None]:
    def change(document: dict[str, Any]) -> None:
        *way, last = [int(part) if part.isdigit() else part for part in path.split("/")]
        found: Any = document
        for part in way:
            found = found[part]
        found[last] = value

    return change


@pytest.mark.parametrize(
    ("path", "value", "part"),
    [
        ("format", "other", "not from this bot"),
        ("version", 2, "version 2"),
        ("keeper/settings/zone_name", "Mars/Base", "no time zone"),
        ("keeper/settings/zone_name", 7, "zone of a town"),
        ("keeper/settings/latitude", 200, "between -90"),
        ("keeper/settings/country", "germany", "two capital letters"),
        ("keeper/settings/units", "K", "one of: C, F"),
        ("keeper/settings/digest_at", "25:00", "wall time"),
        ("keeper/places/0/temperature_c", "warm", "a number"),
        ("keeper/places/0/temperature_c", 400, "between -20"),
        ("keeper/places/0/colour", "red", "no key “colour”"),
        ("keeper/places/0/name", "", "1 to 40"),
        ("keeper/places", [{"name": "x"}] * 21, "at most 20"),
        ("colonies", "none", "a list"),
        ("colonies/0/colony", None, "an object"),
        ("colonies/0/colony/name", "x\u0000y", "control signs"),
        ("colonies/0/colony/name", "x" * 41, "1 to 40"),
        ("colonies/0/colony/species", "Draco ignifer", "no species"),
        ("colonies/0/colony/workers", True, "whole number"),
        ("colonies/0/colony/workers", 10**30, "whole number"),
        ("colonies/0/colony/workers", -1, "from 0"),
        ("colonies/0/colony/nest/material", "gold", "no material"),
        ("colonies/0/colony/nest/water_ml", 10**6, "0.5 to 500"),
        ("colonies/0/colony/founded", "2090-01-01", "cannot be"),
        ("colonies/0/colony/founding", "magic", "claustral"),
        ("colonies/0/colony/rest/place", "moon", "cellar"),
        ("colonies/0/colony/place", "attic", "does not describe"),
        ("colonies/0/colony/drying/variance", -1, "cannot be"),
        ("colonies/0/created_at", "2027-01-01T10:00:00", "with its offset"),
        ("colonies/0/log/0/day", "2090-01-01", "must lie between"),
        ("colonies/0/log/0/note", "n" * 501, "longer than 500"),
        ("colonies/0/log/0/count", -3, "between 0"),
        ("colonies/0/log/0/duty", "dance", "must be one of"),
        ("colonies/0/log/0/evil", 1, "no key"),
        ("colonies/0/log/0", 5, "an object"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place(path: str, value: object, part: str) -> None:
    with pytest.raises(CareError, match=part):
        read(changed(_set(path, value)))


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "no ZIP"),
        (b"PK\x03\x04 broken", "no ZIP"),
        (packed({}, "other.json"), "no ZIP with"),
        (packed("{"), "damaged"),
        (packed("[" * 100_000), "damaged"),
        (packed('{"format": NaN}'), "damaged"),
        (packed([]), "not from this bot"),
        (packed(" " * 40_000_001), "larger than 40 MB"),
        (b"x" * (LARGEST_ZIP + 1), "larger than 10 MB"),
    ],
)
def test_what_is_no_export_is_refused(data: bytes, part: str) -> None:
    with pytest.raises(BadPlainError, match=part):
        read(data)


@given(data=st.binary(max_size=300))
def test_any_bytes_are_refused_in_a_sentence(data: bytes) -> None:
    with pytest.raises(CareError):
        read(data)


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=10), inner, max_size=4),
    max_leaves=8,
)
places = st.sampled_from(
    ["keeper", "keeper/settings", "keeper/places", "keeper/places/0", "keeper/settings/quiet", "colonies", "colonies/0",
     "colonies/0/colony", "colonies/0/colony/nest", "colonies/0/colony/rest", "colonies/0/log", "colonies/0/log/0",
     "colonies/0/colony/brood", "colonies/0/state", "colonies/0/colony/nest/water_ml", "colonies/0/log/0/day"]
)  # fmt: skip


@given(path=places, value=json_values)
def test_any_change_is_read_or_refused_in_a_sentence(path: str, value: object) -> None:
    try:
        found = read(changed(_set(path, value)))
    except CareError as problem:
        sentence = str(problem)
        assert 10 < len(sentence) < 700
    else:
        assert len(found.colonies) <= 1


@given(record=colony_records)
def test_plain_values_come_back_equal(record: ColonyRecord) -> None:
    colony = record.colony
    plain = json.loads(json.dumps(to_plain(replace(colony, log=()), frozenset({"key", "log"}))))
    try:
        assert from_plain(Colony, plain, "colony", {"key": "", "log": ()}) == replace(colony, log=())
    except BadPlainError as problem:
        assert "must be" in str(problem)  # noqa: PT017 - control signs and numbers beyond 64 bits


def test_feeder_cultures_come_back_or_are_refused_with_what_would_be_right() -> None:
    log = (CultureEntry(day=date(2027, 5, 3), event=CultureEvent.TAKEN, animals=12),)
    tub = Culture(key="", name="Tub", kind="mealworm", started=date(2027, 5, 1), temperature_c=25.0, log=log)
    kept = CultureRecord(id=CultureId(4), keeper_id=KeeperId(1), culture=tub, created_at=NOW)
    document = json.loads(json.dumps(document_of(records(full_colony(), cultures=(kept,)), NOW)))
    jsonschema.validate(document, SCHEMA)
    assert [one.culture for one in read(packed(document)).cultures] == [tub]
    assert set(SCHEMA["$defs"]["Culture"]["properties"]) == set(document["cultures"][0]["culture"])
    document["cultures"][0]["culture"]["kind"] = "whale"
    with pytest.raises(CareError, match="mealworm"):
        read(packed(document))
    document["cultures"][0]["culture"] |= {"kind": "mealworm", "place": "moon"}
    with pytest.raises(CareError, match="does not describe"):
        read(packed(document))
    del document["cultures"]
    assert read(packed(document)).cultures == ()


def test_readings_of_loggers_come_back_or_are_refused_with_their_place() -> None:
    at = tuple(Reading(NOW + timedelta(minutes=10 * n), 24.25 - n) for n in range(3))
    stored = StoredSeries(spot=Spot.REST, series=Series(Quantity.TEMPERATURE, at), kept=True, stored_at=NOW)
    waiting = replace(stored, spot=Spot.ROOM, kept=False)
    kept = records(full_colony())
    kept = replace(kept, colonies=(replace(kept.colonies[0], readings=(stored, waiting)),))
    data = write_file(kept, {}, NOW)
    (back,) = read(data).colonies
    assert back.readings == (stored,), "what still waits for a yes is not brought in"
    assert table(data, "loggers.csv")[1] == {
        "colony": kept.colonies[0].record.colony.name,
        "spot": "place of rest",
        "quantity": "temperature",
        "at": "2027-06-01T06:10:00+00:00",
        "value": "23.25",
    }
    for change, part in (
        ({"quantity": "noise"}, "quantity must be one of temperature, humidity"),
        ({"spot": "roof"}, "spot"),
        ({"readings": {"first": "x", "steps": [1], "values": [1, 2]}}, "begin at a moment"),
        ({"readings": {"first": NOW.isoformat(), "steps": [0], "values": [1, 2]}}, "one value more than steps"),
        ({"readings": [1, 2]}, "first, steps and values"),
    ):
        document = document_of(kept, NOW)
        document["colonies"][0]["loggers"][0] |= change
        with pytest.raises(BadPlainError, match=part):
            read(packed(document))


def test_the_schema_names_every_field_that_is_written() -> None:
    document = document_of(records(full_colony(), log=(entry(),)), NOW)
    defined: Mapping[str, Any] = SCHEMA["$defs"]
    assert set(defined["Colony"]["properties"]) == set(document["colonies"][0]["colony"])
    assert set(defined["LogEntry"]["properties"]) == set(document["colonies"][0]["log"][0])
    assert set(defined["KeeperRecord"]["properties"]) == set(document["keeper"])
    assert all(found["required"] == sorted(found["properties"]) for found in defined.values())
    assert timedelta(0) == datetime.fromisoformat(document["made_at"]).utcoffset()
