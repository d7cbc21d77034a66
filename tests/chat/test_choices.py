"""What is offered while typing: species over the handbook, zones over the tz database, goods by name."""

from __future__ import annotations

import pytest

from bot.adapters.chat.presenters.choices import MOST, canonical_zone, named_offers, species_offers, zone_offers
from bot.adapters.zones import TzDatabase
from bot.care.handbook import Handbook


@pytest.mark.parametrize("typed", ["lasius nig", "NIGER", "  lasius   niger "])
def test_a_species_is_found_by_its_beginning_and_its_epithet(handbook: Handbook, typed: str) -> None:
    assert "Lasius niger" in {value for _, value in species_offers(handbook, typed)}


def test_a_genus_alone_says_what_that_means(handbook: Handbook) -> None:
    offers = species_offers(handbook, "lasius")
    assert offers[0] == ("Lasius (genus only: wider bands)", "Lasius")
    assert ("Lasius niger", "Lasius niger") in offers


def test_a_slip_of_the_finger_is_understood(handbook: Handbook) -> None:
    assert "Lasius niger" in {value for _, value in species_offers(handbook, "lasuis nigr")}


def test_every_alias_leads_to_its_profile(handbook: Handbook) -> None:
    for alias, name in handbook.names.items():
        assert name in {value for _, value in species_offers(handbook, alias)}, alias


@pytest.mark.parametrize("typed", ["", "a", "x" * 500, "@everyone", "é"])
def test_offers_keep_the_platforms_limits(handbook: Handbook, zones: TzDatabase, typed: str) -> None:
    goods = {key: found.name for key, found in handbook.materials.items()}
    for offers in (species_offers(handbook, typed), zone_offers(zones, typed), named_offers(goods, typed)):
        assert len(offers) <= MOST
        assert all(1 <= len(label) <= 100 and 1 <= len(value) <= 100 for label, value in offers)


def test_a_town_brings_its_zone_first(zones: TzDatabase) -> None:
    assert zone_offers(zones, "new york")[0][1] == "America/New_York"
    assert zone_offers(zones, "europe/vi")[0][1] == "Europe/Vienna"


def test_a_zone_gets_its_own_spelling(zones: TzDatabase) -> None:
    assert canonical_zone(zones, "america/new york") == "America/New_York"
    assert canonical_zone(zones, "Nowhere/Land") == "Nowhere/Land"


def test_goods_that_begin_with_what_was_typed_come_first() -> None:
    offers = named_offers({"a": "dense plaster", "b": "plaster"}, "plas")
    assert offers == [("plaster", "b"), ("dense plaster", "a")]
