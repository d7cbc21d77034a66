"""Which pictures a colony gets, under which names; with the real store's records and an example household."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from bot.adapters.pictures.album import household_pictures
from bot.adapters.pictures.drawings import ColonyAlbum
from bot.care.agenda import plan_household
from bot.care.colony import LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.place import Household
from bot.services.pictures import Look
from bot.services.records import ColonyId, ColonyRecord, KeeperId, KeeperRecord
from tests.care import builders
from tests.care.builders import DAY

LOG = (
    LogEntry(day=DAY - timedelta(days=30), duty=Duty.CENSUS, outcome=Outcome.DONE, count=40),
    LogEntry(day=DAY - timedelta(days=3), duty=Duty.PROTEIN, outcome=Outcome.TAKEN, food="cricket"),
)


def test_a_colony_with_a_history_gets_four_pictures_and_one_without_two() -> None:
    keeper = KeeperRecord(id=KeeperId(1), settings=builders.keeper(), places=(builders.place(),))
    record = ColonyRecord(id=ColonyId(1), keeper_id=keeper.id, colony=builders.colony(log=LOG))
    album = ColonyAlbum(builders.handbook())
    full = album(keeper, record, DAY)
    bare = album(keeper, replace(record, colony=builders.colony(log=())), DAY)
    assert list(full) == ["year", "water", "growth", "foods"]
    assert list(bare) == ["year", "water"]
    assert all(picture.alt and picture.png for picture in full.values())


def test_file_names_suit_any_file_system() -> None:
    names = ("Dusk", "../Süd “2”", "蟻")
    household = Household(
        keeper=builders.keeper(),
        places=(builders.place(),),
        colonies=tuple(builders.colony(key=name, name=name) for name in names),
    )
    plans = plan_household(household, builders.handbook(), DAY, 60)
    drawn = household_pictures(household, plans, builders.handbook(), DAY, 60, Look.DARK)
    assert [name for name in drawn if "year" in name] == ["1-dusk-year.png", "2-sud-2-year.png", "3-colony-year.png"]
