"""Goods of `config/`: nest materials, barriers, heaters, foods, feeder insects, countries, against outside figures."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from bot.care.evidence import Confidence

ROOT = Path(__file__).parents[2]
CONFIG = ROOT / "config"


def read(*names: str) -> dict[str, dict[str, Any]]:
    entries: dict[str, dict[str, Any]] = {}
    for name in names:
        entries |= tomllib.loads((CONFIG / name).read_text(encoding="utf-8"))
    return entries


def ids(folder: str) -> set[str]:
    return {key for path in (CONFIG / folder).glob("*.toml") for key in tomllib.loads(path.read_text(encoding="utf-8"))}


MATERIALS = read("materials/nests.toml")
BARRIERS = read("materials/barriers.toml")
HEATERS = read("materials/heaters.toml")
PREY = read("foods/prey.toml")
SUGARS = read("foods/sugars.toml")
SEEDS = read("foods/seeds.toml")
LEAVES = read("foods/leaves.toml")
FEEDERS = read("feeders.toml")
COUNTRIES = read("countries.toml")
SHELVES = {
    "materials": MATERIALS,
    "barriers": BARRIERS,
    "heaters": HEATERS,
    "foods": PREY | SUGARS | SEEDS | LEAVES,
    "feeders": FEEDERS,
    "countries": COUNTRIES,
}
ENTRIES = [(shelf, key) for shelf, entries in SHELVES.items() for key in entries]
SOURCES = ids("sources")
CAUTIONS = ids("cautions")


def value(entry: dict[str, Any], field: str) -> Any:
    return entry[field]["value"]


@pytest.mark.parametrize(("shelf", "key"), ENTRIES)
def test_every_figure_has_unit_source_and_confidence(shelf: str, key: str) -> None:
    entry = SHELVES[shelf][key]
    for field, fact in entry.items():
        if isinstance(fact, dict):
            assert set(fact) == {"value", "unit", "source", "confidence"}, field
            assert fact["unit"], field
            assert fact["source"], field
            assert set(fact["source"]) <= SOURCES, field
            assert Confidence(fact["confidence"]), field
        else:
            assert isinstance(fact, str | bool | list), f"{field} is a figure without a source"
    assert set(entry.get("cautions", [])) <= CAUTIONS
    assert entry.get("law_caution", "LAW-01") in CAUTIONS


def test_foods_do_not_share_an_id() -> None:
    assert len(SHELVES["foods"]) == sum(len(part) for part in (PREY, SUGARS, SEEDS, LEAVES))


@pytest.mark.parametrize("key", [key for key, food in PREY.items() if "protein_percent" in food])
def test_composition_lies_within_the_published_range(key: str) -> None:
    """Finke 2002 (nine invertebrates) and Finke 2013 (four): lowest and highest of both, read in their abstracts."""
    food = PREY[key]
    assert 57.9 <= value(food, "water_percent") <= 83.6
    assert 9.3 <= value(food, "protein_percent") <= 23.7
    assert 1.6 <= value(food, "fat_percent") <= 29.4
    assert value(food, "water_percent") + value(food, "protein_percent") + value(food, "fat_percent") <= 100
    low, high = value(food, "item_band_g")
    assert low <= value(food, "item_g") <= high


@pytest.mark.parametrize(
    ("key", "milligrams"),
    [
        ("house-cricket", 90),
        ("mealworm", 26.6),
        ("superworm", 118),
        ("waxworm", 35),
        ("house-fly", 3.15),
        ("fruit-fly", 0.21),
    ],
)
def test_protein_of_one_piece(key: str, milligrams: float) -> None:
    """Feeding notes, check 20 (derived there from masses and composition); 2 % for its rounding."""
    food = PREY[key]
    assert value(food, "item_g") * 10 * value(food, "protein_percent") == pytest.approx(milligrams, rel=0.02)


@pytest.mark.parametrize(("key", "dry"), [("house-cricket", 64.9), ("mealworm", 52.7), ("waxworm", 42.4)])
def test_protein_of_dry_mass_agrees_with_a_second_publication(key: str, dry: float) -> None:
    """Barker et al. 1998 as quoted second hand; other animals than Finke's, hence a quarter of tolerance."""
    food = PREY[key]
    ours = 100 * value(food, "protein_percent") / (100 - value(food, "water_percent"))
    assert ours == pytest.approx(dry, rel=0.25)


def test_unmeasured_prey_stays_without_figures() -> None:
    for key in ("springtail", "wild-insect"):
        assert not [field for field, fact in PREY[key].items() if isinstance(fact, dict)]


@pytest.mark.parametrize(("key", "parts"), [("honey-water", 3), ("honey", 0)])
def test_honey_thins_by_arithmetic(key: str, parts: int) -> None:
    """Derived: honey of 80 % sugar with n parts of water by mass holds 80 / (1 + n) percent."""
    assert value(SUGARS[key], "sugar_percent") == pytest.approx(80 / (1 + parts))


@pytest.mark.parametrize(
    ("key", "hours"),
    [("sugar-water", 48), ("honey-water", 24), ("sugar-water-feeder", 120), ("honey-water-feeder", 72)],
)
def test_open_times(key: str, hours: int) -> None:
    """Common practice, no source."""
    assert value(SUGARS[key], "open_hours") == hours


def test_sugar_stays_below_the_fullest_crop() -> None:
    """Josens, Farina & Roces 1998 (abstract): Camponotus mus fills its crop best at 42.6 % w/w; more is too thick."""
    mixed = [value(food, "sugar_percent") for key, food in SUGARS.items() if key not in {"honey", "fruit"}]
    assert max(mixed) <= 42.6
    assert value(SUGARS["sugar-water"], "sugar_percent") <= 30.8, "their fastest intake"


def test_prey_sugar_and_seeds_carry_their_warnings() -> None:
    """Feeding notes 9.6, rule 9."""
    assert all({"PREY-POISON", "PREY-FUNGUS"} <= set(food["cautions"]) for food in PREY.values())
    assert all({"SUGAR-FRESH", "SUGAR-DROWN", "PST-06"} & set(food["cautions"]) for food in SUGARS.values())
    assert all("SEED-DRESSED" in food["cautions"] for food in SEEDS.values())
    assert all("LEAF-PLANTS" in food["cautions"] for food in LEAVES.values())
    wanted = {"FEEDER-ALLERGY", "FEEDER-ESCAPE", "FEEDER-FOOD"}
    assert all(wanted <= set(culture["cautions"]) for culture in FEEDERS.values())


@pytest.mark.parametrize(("temperature", "observed"), [(30, 110.8), (17, 244.3)])
def test_mealworm_days_agree_with_the_observed_ones(temperature: float, observed: float) -> None:
    """Korean study at seven temperatures (abstract): days of the larva at 30 and 17 C."""
    worm = FEEDERS["mealworm"]
    days = value(worm, "degree_days") / (temperature - value(worm, "threshold_c"))
    assert days == pytest.approx(observed, rel=0.05)
    assert value(worm, "stop_c") == 15, "no development there in the same study"


@pytest.mark.parametrize(("temperature", "observed"), [(18, 19), (25, 9.5), (29, 7)])
def test_fruit_fly_days_agree_with_stock_centres(temperature: float, observed: float) -> None:
    """Pages based on fly stock centres; the line itself is derived from the first two points."""
    fly = FEEDERS["fruit-fly"]
    days = value(fly, "degree_days") / (temperature - value(fly, "threshold_c"))
    assert days == pytest.approx(observed, rel=0.1)


def test_plaster_holds_what_was_measured() -> None:
    """Gypsum comparison table, mix 0.70: dry 1105 kg/m3, absorption 36 % by mass."""
    assert value(MATERIALS["plaster"], "capacity") == pytest.approx(0.36 * 1.105, abs=0.01)


def test_capacities_agree_with_open_material_records() -> None:
    """MASEA records (free saturation, kg/m3): dense gypsum plaster 264, concrete 144 to 150, pumice concrete 290."""
    assert value(MATERIALS["dense-plaster"], "capacity") == pytest.approx(0.264, abs=0.005)
    assert 0.144 <= value(MATERIALS["concrete"], "capacity") <= 0.150
    assert value(MATERIALS["pumice-concrete"], "capacity") == pytest.approx(0.29)
    low, high = value(MATERIALS["aerated-concrete"], "capacity_band")
    assert 0.20 <= low < value(MATERIALS["aerated-concrete"], "capacity") < high <= 0.42


def test_aerated_concrete_keeps_longer_than_plaster() -> None:
    """Common practice, no source: aerated concrete is watered less often, by thickness and not by capacity."""
    assert value(MATERIALS["aerated-concrete"], "interval_days")[1] > value(MATERIALS["plaster"], "interval_days")[1]
    assert value(MATERIALS["aerated-concrete"], "capacity") < value(MATERIALS["plaster"], "capacity")


@pytest.mark.parametrize("key", MATERIALS)
def test_materials_hang_together(key: str) -> None:
    material = MATERIALS[key]
    low, high = value(material, "capacity_band")
    assert low <= value(material, "capacity") <= high
    assert 0 < value(material, "capacity") <= 1, "no material holds more water than its own volume"
    assert 0 < value(material, "stage_two_share") < 1
    active, rest = value(material, "interval_days"), value(material, "rest_interval_days")
    assert active[0] <= rest[0], "the cold never asks for water sooner"
    assert active[1] <= rest[1]


def test_vinegar_is_kept_from_lime() -> None:
    """Acid dissolves carbonate and cement (school chemistry); gypsum is a sulphate and does not fizz."""
    lime = {key for key, material in MATERIALS.items() if material["lime_based"]}
    assert {"aerated-concrete", "grout", "concrete"} <= lime
    assert not lime & {"plaster", "brick", "wood", "cork", "tube", "acrylic-insert", "glass-insert"}


def test_mould_follows_the_material_classes() -> None:
    """Viitanen & Ojanen classes: wood most sensitive, glass least; a nest in use as the second class (judgement)."""
    order = ["glass-insert", "aerated-concrete", "wood"]
    assert [value(MATERIALS[key], "mould_sensitivity") for key in order] == [0.03, 0.58, 1.0]


@pytest.mark.parametrize(
    ("key", "check", "renew"),
    [
        ("ptfe", 7, 56),
        ("talc-paste", 7, 21),
        ("oil", 3, 10),
        ("petroleum-jelly", 7, 21),
        ("moat", 2, None),
        ("lid-mesh", 7, None),
    ],
)
def test_barrier_days(key: str, check: int, renew: int | None) -> None:
    """Safety notes, BAR-14: common practice, no source."""
    assert value(BARRIERS[key], "check_days") == check
    assert BARRIERS[key].get("renew_days", {"value": None})["value"] == renew


def test_dangerous_barriers_and_heaters_say_so() -> None:
    assert "BAR-03" in BARRIERS["ptfe"]["cautions"]
    assert "BAR-04" in BARRIERS["talc-paste"]["cautions"]
    assert all("FIX-01" in heater["cautions"] for heater in HEATERS.values())
    assert all("FIX-02" in HEATERS[key]["cautions"] for key in ("heat-cable", "heat-mat", "lamp"))


def test_a_heater_without_a_measured_rise_stays_unknown() -> None:
    """Pages on seedling mats: soil 8 to 11 C above the room; nothing comparable was found for the other kinds."""
    assert 8 <= value(HEATERS["heat-mat"], "assumed_rise_c") <= 11
    assert [key for key, heater in HEATERS.items() if "assumed_rise_c" in heater] == ["heat-mat"]


def iso_codes() -> set[str]:
    """Alpha-2 codes of ISO 3166-1 as the IANA time zone database ships them."""
    table = files("tzdata").joinpath("zoneinfo", "iso3166.tab").read_text(encoding="utf-8")
    return {line.split("\t")[0] for line in table.splitlines() if line and not line.startswith("#")}


def test_countries_carry_iso_codes_in_order() -> None:
    assert set(COUNTRIES) <= iso_codes()
    assert all(first < second for first, second in pairwise(COUNTRIES))


MEMBERS = [
    "AT",
    "BE",
    "BG",
    "HR",
    "CY",
    "CZ",
    "DK",
    "EE",
    "FI",
    "FR",
    "DE",
    "GR",
    "HU",
    "IE",
    "IT",
    "LV",
    "LT",
    "LU",
    "MT",
    "NL",
    "PL",
    "PT",
    "RO",
    "SK",
    "SI",
    "ES",
    "SE",
]
"""Member states of the European Union since 2020 (from memory)."""


def test_the_union_points_to_its_list_and_shares_one_number() -> None:
    """112 is the single European emergency number (Directive 91/396/EEC and its successors, from memory)."""
    assert len(MEMBERS) == 27
    assert sorted(code for code, land in COUNTRIES.items() if land.get("law_caution") == "LAW-01") == sorted(MEMBERS)
    assert {value(COUNTRIES[code], "emergency") for code in MEMBERS} == {"112"}


@pytest.mark.parametrize(
    ("code", "law", "number"),
    [
        ("US", "LAW-02", "911"),
        ("AU", "LAW-03", "000"),
        ("GB", "LAW-04", "999"),
        ("CA", "LAW-05", "911"),
        ("JP", "LAW-06", "119"),
        ("NZ", "LAW-07", "111"),
    ],
)
def test_countries_with_a_line_of_their_own(code: str, law: str, number: str) -> None:
    """Safety notes, section 3 and STG-01; the number of Japan from memory."""
    assert COUNTRIES[code]["law_caution"] == law
    assert value(COUNTRIES[code], "emergency") == number
