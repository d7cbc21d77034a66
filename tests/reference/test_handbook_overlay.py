"""A second config folder laid over the first: it adds, it replaces single fields, and it is told what it replaces."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.loader import load_handbook
from bot.adapters.handbook.overlay import overrides
from bot.care.units import Band
from bot.operations import check
from bot.settings import Settings

SMALL = Path(__file__).parent / "fixtures" / "small_config"
WEEKS = '{ value = [10, 16], unit = "weeks", source = ["Our-club"], confidence = "common practice" }'
OUR_CLUB = '[Our-club]\ncitation = "Notes of a club."\nread = "page"\n'


def write(folder: Path, name: str, text: str) -> None:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


@pytest.fixture
def overlay(tmp_path: Path) -> Path:
    folder = tmp_path / "ours"
    write(folder, "sources/club.toml", OUR_CLUB)
    return folder


def test_a_field_of_a_genus_is_replaced_and_the_rest_stays(overlay: Path) -> None:
    write(overlay, "species/lasius.toml", f'genus = "Lasius"\n[facts]\nrest_weeks = {WEEKS}\n')
    book = load_handbook(SMALL, overlay)
    genus = book.profile("Lasius")
    assert genus.rest_weeks == Band(10, 16)
    assert genus.evidence["rest_weeks"].sources == ("Our-club",)
    assert genus.rest_band_c == Band(2, 8)
    assert book.profile("Lasius nitidus").rest_weeks == Band(10, 16)
    assert book.profile("Lasius niger").rest_weeks == Band(14, 18)


def test_a_species_is_changed_and_another_added(overlay: Path) -> None:
    page = f'genus = "Lasius"\n[[species]]\nname = "Lasius niger"\n[species.facts]\nrest_weeks = {WEEKS}\n'
    write(overlay, "species/lasius.toml", page + '[[species]]\nname = "Lasius platythorax"\n')
    book = load_handbook(SMALL, overlay)
    assert book.profile("Lasius niger").rest_weeks == Band(10, 16)
    assert book.profile("garden ant").name == "Lasius niger"
    assert book.profile("l. platythorax").rest_weeks == Band(12, 20)


def test_goods_are_changed_field_by_field(overlay: Path) -> None:
    write(overlay, "materials/nests.toml", '[plaster]\nname = "white plaster"\n')
    plaster = load_handbook(SMALL, overlay).materials["plaster"]
    assert (plaster.name, plaster.capacity) == ("white plaster", 0.4)


def test_the_last_overlay_wins(overlay: Path, tmp_path: Path) -> None:
    write(overlay, "materials/nests.toml", '[plaster]\nname = "white plaster"\n')
    write(tmp_path / "mine", "materials/nests.toml", '[plaster]\nname = "grey plaster"\n')
    assert load_handbook(SMALL, overlay, tmp_path / "mine").materials["plaster"].name == "grey plaster"


def test_what_is_replaced_is_told_and_what_is_added_is_not(overlay: Path) -> None:
    page = f'genus = "Lasius"\n[facts]\nrest_weeks = {WEEKS}\n[[species]]\nname = "Lasius platythorax"\n'
    write(overlay, "species/lasius.toml", page)
    write(overlay, "materials/nests.toml", '[plaster]\nname = "white plaster"\nlime_based = false\n')
    material, genus = overrides(SMALL, overlay)
    assert material == (
        "ours/materials/nests.toml: [plaster] name: 'casting plaster' (small_config/materials/nests.toml) "
        "becomes 'white plaster'."
    )
    assert genus == (
        "ours/species/lasius.toml: [Lasius] facts.rest_weeks: [12, 20] weeks (small_config/species/lasius.toml) "
        "becomes [10, 16] weeks."
    )


def test_the_check_reports_what_an_overlay_replaces_feeders_among_them(overlay: Path, tmp_path: Path) -> None:
    write(overlay, "feeders.toml", '[fruit-fly]\nname = "flightless flies"\n')
    store = f"sqlite+aiosqlite:///{tmp_path / 'store.sqlite3'}"
    found = asyncio.run(check(Settings(overlay=overlay, database=store)))
    assert found.good
    told = [line for line in found.lines if line.startswith("overlay: ")]
    assert told == [
        "overlay: ours/feeders.toml: [fruit-fly] name: 'fruit flies' (config/feeders.toml) becomes 'flightless flies'."
    ]


def test_a_mistake_in_an_overlay_names_the_overlay(overlay: Path) -> None:
    write(overlay, "species/lasius.toml", f'genus = "Lasius"\n[facts]\nrest_weeks = {WEEKS.replace("weeks", "d")}\n')
    with pytest.raises(HandbookError, match=r"^ours/species/lasius.toml: \[Lasius\] facts.rest_weeks: the unit must"):
        load_handbook(SMALL, overlay)


def test_a_missing_overlay_is_a_mistake(tmp_path: Path) -> None:
    for load in (load_handbook, overrides):
        with pytest.raises(HandbookError, match=r"^ours: there is no such folder"):
            load(SMALL, tmp_path / "ours")
