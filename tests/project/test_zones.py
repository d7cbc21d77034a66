"""The tz database as keepers meet it."""

import pytest

from bot.adapters.zones import TzDatabase
from bot.care.errors import BadValueError, UnknownNameError

ZONES = TzDatabase()


@pytest.mark.parametrize(
    ("name", "latitude", "country"),
    [
        # Coordinates of zone.tab in the IANA tz database, degrees and minutes as decimals.
        ("Europe/Berlin", 52.5, "DE"),
        ("Australia/Sydney", -33.867, "AU"),
        ("Africa/Nairobi", -1.283, "KE"),
        ("America/Argentina/Ushuaia", -54.8, "AR"),
        ("Asia/Calcutta", 22.533, "IN"),  # a link: takes its target's place
    ],
)
def test_principal_locations(name: str, latitude: float, country: str) -> None:
    assert ZONES.latitude(name) == pytest.approx(latitude, abs=0.001)
    assert ZONES.country(name) == country


def test_a_zone_without_a_place_is_unknown_not_the_equator() -> None:
    assert ZONES.latitude("UTC") is None


def test_every_name_loads_and_is_a_place() -> None:
    for name in ZONES.names():
        assert str(ZONES.get(name)) == name
    assert [name for name in ZONES.names() if ZONES.latitude(name) is None] == ["UTC"]


def test_case_and_spaces_do_not_matter() -> None:
    assert str(ZONES.get(" america/new york ")) == "America/New_York"


def test_a_town_alone_brings_its_zone() -> None:
    with pytest.raises(UnknownNameError, match="Europe/Vienna"):
        ZONES.get("vienna")


@pytest.mark.parametrize("name", ["EST", "GMT+3", "Etc/GMT-5"])
def test_abbreviations_and_offsets_are_refused_with_what_would_be_right(name: str) -> None:
    with pytest.raises(BadValueError, match="zone of a town"):
        ZONES.get(name)
