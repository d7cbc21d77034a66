"""A keeper's own data on both databases: nothing of theirs is left out, nothing of others is let in, nothing stays."""

from __future__ import annotations

import json
import zipfile
from collections.abc import AsyncIterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import pytest_asyncio
from sqlalchemy.ext.asyncio import AsyncEngine

from bot.adapters.store.own_data import IMPERSONAL, MAPPED, PEOPLE, further_tables, own_data_unit_maker
from bot.adapters.store.tables import Base
from bot.care.colony import Colony, LogEntry
from bot.care.culture import Culture, CultureEntry, CultureEvent
from bot.care.duty import Duty, Outcome
from bot.care.logger.readings import Quantity, Reading, Series
from bot.care.logger.spot import Spot
from bot.care.place import Place
from bot.care.season.community import Half
from bot.care.season.figures import GroupKey, GroupState
from bot.care.species import DormancyClass
from bot.services import own_data
from bot.services.errors import NotSetUpError, TooManyError
from bot.services.logger_ports import StoredSeries
from bot.services.own_data import ERASED_MARK, OwnDataUseCases
from bot.services.own_records import OwnDataUnitMaker
from bot.services.pictures import Picture
from bot.services.planner import Planner
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    ColonyState,
    CultureId,
    CultureRecord,
    KeeperId,
    KeeperRecord,
)
from bot.services.season_records import Act, Consent, GuildId, LogLine, SeasonSetup
from bot.services.sitting_records import Sitting, SittingId
from tests.care import builders as care
from tests.store.builders import ANNA, BERT, ZONES, contents, delivery, entry, keeper, plan_rows, planned

NOW = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)
GUILD = GuildId(77)
SCHEMA = json.loads((Path(__file__).parents[2] / "config" / "own-data.schema.json").read_text("utf-8"))
PLACES = (Place(name="shelf", temperature_c=24.0), Place(name="hall"))
LOG = tuple(
    LogEntry(day=date(2026, 6, 1) + timedelta(days=place), duty=Duty.WATER, outcome=Outcome.DONE, note=f"n{place}")
    for place in range(150)
)
FED = (CultureEntry(day=date(2026, 6, 1), event=CultureEvent.DIED, animals=4),)
MEASURED = StoredSeries(
    spot=Spot.NEST,
    series=Series(
        Quantity.TEMPERATURE, tuple(Reading(NOW + timedelta(minutes=10 * n), 24 + n / 100) for n in range(50))
    ),
    kept=True,
    stored_at=NOW,
)
UNDERSTOOD = {"id", "keeper_id", "sitter_id", "to_id", "colony_id", "sitting_id", "delivery_id", "occurrence_id"}
UNDERSTOOD |= {"guild_id", "channel_id", "thread_id", "message_id"}
"""Columns of identities whose meaning the reading by columns knows, and places on the platform, which name nobody."""


class Album:
    """Draws one small picture, and remembers of what."""

    def __init__(self) -> None:
        self.drawn: list[Colony] = []

    def __call__(self, keeper: KeeperRecord, colony: ColonyRecord, today: date) -> Mapping[str, Picture]:
        self.drawn.append(colony.colony)
        return {"year": Picture(b"png", colony.colony.name, 1, 1)}


@pytest.fixture
def maker(engine: AsyncEngine) -> OwnDataUnitMaker:
    return own_data_unit_maker(engine, ZONES)


@pytest_asyncio.fixture
async def own(maker: OwnDataUnitMaker) -> AsyncIterator[OwnDataUseCases]:
    book = care.handbook()
    yield OwnDataUseCases(maker, Planner(book), book, ZONES, Album())


async def filled(maker: OwnDataUnitMaker, who: KeeperId, mark: str) -> None:
    """Something of a keeper in every table; every text of theirs holds their mark."""
    async with maker() as work:
        await work.keepers.save(
            keeper(who, places=tuple(replace(place, name=f"{place.name} {mark}") for place in PLACES))
        )
        home = replace(care.colony(key="", name=f"Dusk {mark}", place=f"shelf {mark}"), log=LOG)
        record = await work.colonies.add(who, ColonyRecord(id=ColonyId(0), keeper_id=who, colony=home, created_at=NOW))
        closed = replace(
            record, colony=care.colony(key="", name=f"Gone {mark}"), state=ColonyState.CLOSED, closed_at=NOW
        )
        await work.colonies.add(who, replace(closed, closed_reason=f"given away {mark}"))
        tub = Culture(key="", name=f"Tub {mark}", kind="mealworm", place=f"shelf {mark}", log=FED)
        await work.cultures.add(CultureRecord(id=CultureId(0), keeper_id=who, culture=tub, created_at=NOW))
        (row,) = await plan_rows(work, [planned(record, reason=f"reason {mark}")])
        await work.deliveries.add(delivery(row.id, nonce=f"{mark:A<20}", keeper_id=who))
        await work.cautions_shown.record(who, [f"CAUTION-{mark}"], date(2027, 5, 1))
        if await work.seasons.setup(GUILD) is None:
            await work.seasons.save_setup(SeasonSetup(guild_id=GUILD, channel_id=1, zone_name="Europe/Vienna"))
        await work.seasons.save_consent(Consent(guild_id=GUILD, keeper_id=who, counted=True, since=NOW))
        await work.seasons.log(LogLine(guild_id=GUILD, at=NOW, act=Act.SET_UP, actor=who, detail=f"detail {mark}"))
        await work.logger_series.put(who, record.id, MEASURED)
        await work.commit()


def document(data: bytes) -> Any:
    with zipfile.ZipFile(BytesIO(data)) as archive:
        return json.loads(archive.read("own-data.json"))


Whole = tuple[Colony, tuple[LogEntry, ...], ColonyState, tuple[StoredSeries, ...]]


async def colonies(maker: OwnDataUnitMaker, who: KeeperId) -> list[Whole]:
    """Colonies with their whole logs and readings, without the ids that a database gives."""
    async with maker() as work:
        found = await work.own_data.everything(who)
    assert found is not None
    return [
        (replace(one.record.colony, key=""), tuple(logged.entry for logged in one.log), one.record.state, one.readings)
        for one in found.colonies
    ]


def test_every_table_is_exported_or_holds_nobody() -> None:
    # A new table or identity breaks this test until somebody decides what of it belongs to a keeper.
    assert set(Base.metadata.tables) >= MAPPED | IMPERSONAL
    for table in further_tables():
        names = set(table.c.keys())
        assert names & {*PEOPLE, "colony_id"}, table.name
        assert {name for name in names if name.endswith("id")} <= UNDERSTOOD, table.name


@pytest.mark.asyncio
async def test_an_export_is_whole_and_fits_the_schema(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    found = document((await own.export(ANNA, NOW)).data)
    jsonschema.validate(found, SCHEMA, format_checker=jsonschema.FormatChecker())
    assert found["keeper"]["id"] == str(ANNA)
    assert [one["colony"]["name"] for one in found["colonies"]] == ["Dusk anna", "Gone anna"]
    assert len(found["colonies"][0]["log"]) == len(LOG)  # more than the sixty that planning looks at
    assert [one["occurrence"]["reason"] for one in found["reminders"]] == ["reason anna"]
    assert [one["culture"]["name"] for one in found["cultures"]] == ["Tub anna"]
    assert found["cultures"][0]["culture"]["log"] == [{"day": "2026-06-01", "event": "died", "animals": 4}]
    assert len(found["messages"]) == 1
    assert found["cautions_shown"] == {"CAUTION-anna": "2027-05-01"}
    assert [one["detail"] for one in found["communities"]["acts"]] == ["detail anna"]
    assert found["communities"]["consents"][0]["counted"] is True


@pytest.mark.asyncio
async def test_nothing_of_another_keeper_is_in_an_export(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    await filled(maker, BERT, "bert")
    with zipfile.ZipFile(BytesIO((await own.export(ANNA, NOW)).data)) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist()).decode("utf-8", errors="ignore")
    assert "anna" in everything
    assert "bert" not in everything
    assert str(BERT) not in everything


@pytest.mark.asyncio
async def test_pictures_show_kept_colonies_with_whole_logs(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    data = (await own.export(ANNA, NOW)).data
    with zipfile.ZipFile(BytesIO(data)) as archive:
        assert archive.read("pictures/01-year.png") == b"png"
    assert isinstance(own.album, Album)
    assert [(colony.name, len(colony.log)) for colony in own.album.drawn] == [("Dusk anna", len(LOG))]


@pytest.mark.asyncio
async def test_colonies_without_room_for_pictures_are_named(
    maker: OwnDataUnitMaker, own: OwnDataUseCases, monkeypatch: pytest.MonkeyPatch
) -> None:
    await filled(maker, ANNA, "anna")
    monkeypatch.setattr(own_data, "PICTURE_BYTES", 2)
    found = await own.export(ANNA, NOW)
    assert found.left_out == ("Dusk anna",)
    with zipfile.ZipFile(BytesIO(found.data)) as archive:
        assert "No room for pictures of: Dusk anna" in archive.read("read-me.txt").decode()
        assert not [name for name in archive.namelist() if name.endswith(".png")]


@pytest.mark.asyncio
async def test_erasing_leaves_one_number_and_nothing_else(
    maker: OwnDataUnitMaker, own: OwnDataUseCases, engine: AsyncEngine
) -> None:
    await filled(maker, BERT, "bert")
    before = await contents(engine)
    await filled(maker, ANNA, "anna")
    erased = await own.erase(ANNA)
    assert (erased.colonies, erased.log_entries, erased.reminders, erased.messages) == (2, len(LOG), 1, 1)
    after = await contents(engine)
    left = after.pop("mark")
    assert (ERASED_MARK, "1") in left
    before.pop("mark")
    # The log of a community keeps that something was done, not by whom.
    (traceless,) = set(after.pop("season_log")) - set(before.pop("season_log"))
    assert int(ANNA) not in traceless
    assert after == before
    assert "anna" not in repr(after)
    assert "number without any name" in erased.kept


@pytest.mark.asyncio
async def test_the_count_grows_by_one_each(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    for who, mark in ((ANNA, "anna"), (BERT, "bert")):
        await filled(maker, who, mark)
        await own.erase(who)
    async with maker() as work:
        assert await work.marks.get(ERASED_MARK) == "2"


@pytest.mark.asyncio
async def test_strangers_have_nothing_to_take_or_erase(own: OwnDataUseCases, engine: AsyncEngine) -> None:
    before = await contents(engine)
    with pytest.raises(NotSetUpError):
        await own.export(ANNA, NOW)
    with pytest.raises(NotSetUpError):
        await own.erase(ANNA)
    assert await contents(engine) == before


@pytest.mark.asyncio
async def test_export_erase_import_gives_the_same_colonies(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    before = await colonies(maker, ANNA)
    async with maker() as work:
        settings = await work.keepers.get(ANNA)
    data = (await own.export(ANNA, NOW)).data
    await own.erase(ANNA)
    restored = await own.import_(ANNA, data, NOW)
    assert await colonies(maker, ANNA) == before
    assert before[0][3] == (MEASURED,)
    assert restored.added == ("Dusk anna", "Gone anna", "Tub anna")
    assert (restored.already_here, restored.settings) == ((), True)
    async with maker() as work:
        (tub,) = await work.cultures.of(ANNA)
        assert (tub.culture.name, tub.culture.place, tub.culture.log) == ("Tub anna", "shelf anna", FED)
        back = await work.keepers.get(ANNA)
        assert await work.occurrences.open_of_keeper(ANNA)  # planned anew
    assert settings is not None
    assert back is not None
    assert (back.settings, back.places) == (settings.settings, settings.places)
    assert (back.reminders_on, back.channel_id) == (False, None)


@pytest.mark.asyncio
async def test_another_person_gets_a_copy_of_their_own(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    await own.import_(BERT, (await own.export(ANNA, NOW)).data, NOW)
    assert await colonies(maker, BERT) == await colonies(maker, ANNA)


@pytest.mark.asyncio
async def test_twice_imported_is_once_imported(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    before = await colonies(maker, ANNA)
    restored = await own.import_(ANNA, (await own.export(ANNA, NOW)).data, NOW)
    here = ("Dusk anna", "Gone anna", "Tub anna")
    assert (restored.added, restored.already_here, restored.settings) == ((), here, False)
    assert await colonies(maker, ANNA) == before


@pytest.mark.asyncio
async def test_own_settings_stay_and_lacking_places_come(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    await filled(maker, BERT, "bert")
    await own.import_(BERT, (await own.export(ANNA, NOW)).data, NOW)
    async with maker() as work:
        back = await work.keepers.get(BERT)
    assert back is not None
    assert [place.name for place in back.places] == ["shelf bert", "hall bert", "shelf anna", "hall anna"]


@pytest.mark.asyncio
async def test_too_many_colonies_are_refused_and_nothing_is_stored(
    maker: OwnDataUnitMaker, own: OwnDataUseCases, engine: AsyncEngine
) -> None:
    await filled(maker, ANNA, "anna")
    data = (await own.export(ANNA, NOW)).data
    async with maker() as work:
        await work.keepers.save(keeper(BERT))
        for number in range(50):
            fresh = care.colony(key="", name=f"C{number}")
            await work.colonies.add(BERT, ColonyRecord(id=ColonyId(0), keeper_id=BERT, colony=fresh, created_at=NOW))
        await work.commit()
    before = await contents(engine)
    with pytest.raises(TooManyError):
        await own.import_(BERT, data, NOW)
    assert await contents(engine) == before


@pytest.mark.asyncio
async def test_moments_of_a_log_come_back(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    async with maker() as work:
        (record,) = await work.colonies.of(ANNA)
        await work.colonies.log(record.id, entry(date(2027, 5, 30)), NOW + timedelta(hours=1))
        await work.commit()
    data = (await own.export(ANNA, NOW)).data
    await own.erase(ANNA)
    await own.import_(ANNA, data, NOW)
    async with maker() as work:
        found = await work.own_data.everything(ANNA)
    assert found is not None
    assert found.colonies[0].log[-1].recorded_at == NOW + timedelta(hours=1)


@pytest.mark.asyncio
async def test_being_counted_is_told(maker: OwnDataUnitMaker, own: OwnDataUseCases) -> None:
    await filled(maker, ANNA, "anna")
    key = GroupKey(half=Half.NORTH, dormancy=DormancyClass.EXO, year=2026)
    async with maker() as work:
        await work.seasons.save_group(GUILD, key, GroupState(shown=None, made_of={str(int(ANNA)): "digest"}))
        await work.commit()
    found = document((await own.export(ANNA, NOW)).data)["communities"]["counted"]
    assert found == [{"guild_id": "77", "half": Half.NORTH.value, "dormancy": "EXO", "year": 2026}]


@pytest.mark.asyncio
async def test_what_stands_between_two_members_names_only_the_asker(
    maker: OwnDataUnitMaker, own: OwnDataUseCases
) -> None:
    await filled(maker, ANNA, "anna")
    await filled(maker, BERT, "bert")
    async with maker() as work:
        (record,) = await work.colonies.of(ANNA)
        asked = Sitting(
            id=SittingId(0), keeper_id=ANNA, sitter_id=BERT, colony_ids=(record.id,), since=date(2027, 6, 2),
            until=date(2027, 6, 9), asked_at=NOW,
        )  # fmt: skip
        await work.sittings.add(asked)
        (open_one,) = await work.occurrences.open_of(record.id)
        await work.occurrences.save(replace(open_one, recipient_id=BERT))
        await work.commit()
    assert str(int(BERT)) not in json.dumps(document((await own.export(ANNA, NOW)).data))
    hers, his = [document((await own.export(who, NOW)).data)["further"] for who in (ANNA, BERT)]
    people = [(found["sitting"][0]["keeper_id"], found["sitting"][0]["sitter_id"]) for found in (hers, his)]
    assert people == [("you", "another member"), ("another member", "you")]
    assert [row["colony_id"] for row in hers["sitting_colony"]] == [int(record.id)]
    assert "sitting_colony" not in his
    assert str(int(ANNA)) not in json.dumps(his)
    await own.erase(BERT)
    assert "sitting" not in document((await own.export(ANNA, NOW)).data)["further"]
