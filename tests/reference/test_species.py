"""The species files of `config/`: every fact with what stands behind it, and chosen facts against published sources.

Sources named beside a check are entries of `config/sources`. Rest temperatures and weeks of the groups are common
practice, no source. Figures of a range are plausibility bounds of ours.
"""

from __future__ import annotations

import time
import tomllib
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from bot.adapters.handbook.figures import Page
from bot.adapters.handbook.loader import load_handbook
from bot.adapters.handbook.species_pages import Facts
from bot.care.evidence import Confidence
from bot.care.species import Development, DormancyClass, Founding, Guild, SpeciesProfile, WinterBrood
from bot.care.units import Band
from tests.shelf import handbook

CONFIG = Path(__file__).parents[2] / "config"
BOOK = handbook()
SPECIES = BOOK.species
FILES = sorted((CONFIG / "species").glob("*.toml"))
DIFFERENCES: list[dict[str, Any]] = tomllib.loads((CONFIG / "dormancy-differences.toml").read_text(encoding="utf-8"))[
    "difference"
]
NO_REST = {DormancyClass.HOMO, DormancyClass.REVERSED, DormancyClass.UNKNOWN}
RESTS = [name for name, profile in SPECIES.items() if profile.dormancy not in NO_REST]


def test_all_genera_and_species_are_there() -> None:
    ranks = [profile.rank for profile in SPECIES.values()]
    assert (ranks.count("genus"), ranks.count("species")) == (59, 84)
    assert len(FILES) == 59


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_file_is_named_after_its_genus(path: Path) -> None:
    assert tomllib.loads(path.read_text(encoding="utf-8"))["genus"].lower() == path.stem


@pytest.mark.parametrize("name", SPECIES)
def test_every_known_fact_has_unit_source_and_confidence_and_every_unknown_one_none(name: str) -> None:
    profile = SPECIES[name]
    plain = {field.name: field.default for field in fields(SpeciesProfile)}
    for key in Facts.model_fields:
        evidence = profile.evidence.get(key)
        if evidence is None:
            assert getattr(profile, key) == plain[key], key
            continue
        assert evidence.unit
        assert evidence.sources
        assert set(evidence.sources) <= set(BOOK.sources)
    assert ("note" in profile.evidence) == (profile.note is not None)


@pytest.mark.parametrize("name", SPECIES)
def test_custom_and_judgement_never_pass_for_something_read(name: str) -> None:
    for key, evidence in SPECIES[name].evidence.items():
        if evidence.confidence in {Confidence.SEEN, Confidence.SECOND_HAND, Confidence.DERIVED}:
            read = [source for source in evidence.sources if BOOK.sources[source].read not in {"custom", "own choice"}]
            assert read, key
        if evidence.confidence is Confidence.SEEN:
            assert any(BOOK.sources[source].read != "memory" for source in evidence.sources), key


@pytest.mark.parametrize("name", SPECIES)
def test_figures_fit_each_other(name: str) -> None:
    profile = SPECIES[name]
    assert profile.active_c is not None
    assert profile.heat_alarm_c in {28, 30, 33, 36}
    assert profile.heat_alarm_c >= profile.active_c.high
    assert profile.worker_mm is not None
    assert profile.worker_mm.low > 0
    assert profile.colony_size is None or profile.colony_size.low >= 10
    assert profile.hazard in {0, 1, 2, 3}
    assert profile.founding
    assert set(profile.weak_fields) <= set(profile.evidence)


@pytest.mark.parametrize("name", RESTS)
def test_a_rest_is_whole_and_never_near_frost(name: str) -> None:
    profile = SPECIES[name]
    assert profile.rest_band_c is not None
    assert profile.rest_weeks is not None
    assert profile.rest_target_c is not None
    assert profile.rest_target_c in profile.rest_band_c
    assert profile.rest_floor_weeks is not None
    assert profile.rest_floor_weeks <= profile.rest_weeks.low
    assert profile.rest_band_c.low >= 2
    if profile.dormancy is DormancyClass.QUASI:
        assert profile.rest_band_c.low >= 15
        assert profile.rest_floor_weeks == 0


@pytest.mark.parametrize("name", sorted(set(SPECIES) - set(RESTS)))
def test_no_rest_figures_without_a_class_that_rests(name: str) -> None:
    profile = SPECIES[name]
    assert not {"rest_target_c", "rest_band_c", "rest_weeks", "rest_floor_weeks"} & set(profile.evidence)
    assert (profile.rest_target_c, profile.rest_band_c) == (None, None)
    assert (profile.rest_weeks, profile.rest_floor_weeks) == (None, None)
    if profile.dormancy is DormancyClass.HOMO:
        assert profile.winter_brood is WinterBrood.ALL  # the published meaning of the class, Kipyatkov 2001


@pytest.mark.parametrize(
    ("name", "dormancy", "source"),
    [
        ("Lasius niger", DormancyClass.ENDO, "Lopatina2018-cycles"),
        ("Myrmica rubra", DormancyClass.ENDO, "Pearson1997"),
        ("Camponotus ligniperda", DormancyClass.ENDO, "Holldobler1961-rhythm"),
        ("Camponotus herculeanus", DormancyClass.ENDO, "Holldobler1961-rhythm"),
        ("Formica fusca", DormancyClass.ENDO, "Lopatina2018-cycles"),
        ("Leptothorax acervorum", DormancyClass.ENDO, "Kipyatkov2001-cycles"),
        ("Messor barbarus", DormancyClass.EXO, "General-knowledge"),
        ("Solenopsis fugax", DormancyClass.EXO, "General-knowledge"),
        ("Aphaenogaster senilis", DormancyClass.EXO, "Cerda1992"),
        ("Crematogaster scutellaris", DormancyClass.EXO, "Nakamura-Crematogaster"),
        ("Solenopsis invicta", DormancyClass.QUASI, "Markin1973"),
        ("Linepithema humile", DormancyClass.QUASI, "Linepithema-humile-page"),
        ("Atta", DormancyClass.HOMO, "Kipyatkov2001-cycles"),
        ("Camponotus nicobarensis", DormancyClass.HOMO, "General-knowledge"),
        ("Odontomachus", DormancyClass.HOMO, "General-knowledge"),
        ("Prenolepis imparis", DormancyClass.REVERSED, "Tschinkel1987"),
    ],
)
def test_class_of_the_year(name: str, dormancy: DormancyClass, source: str) -> None:
    assert SPECIES[name].dormancy is dormancy
    assert source in SPECIES[name].evidence["dormancy"].sources


def test_a_genus_of_mixed_classes_claims_none() -> None:
    mixed = {"Camponotus", "Solenopsis", "Crematogaster", "Pheidole", "Tetramorium", "Tapinoma", "Aphaenogaster"}
    assert {SPECIES[name].dormancy for name in mixed} == {DormancyClass.UNKNOWN}


@pytest.mark.parametrize(
    ("name", "target", "band", "weeks", "floor"),
    # Common practice, no source: what is tolerated and usual in each group of genera.
    [
        ("Lasius niger", 5, Band(2, 8), Band(12, 20), 8),
        ("Temnothorax nylanderi", 5, Band(2, 8), Band(12, 20), 8),
        ("Camponotus herculeanus", 5.5, Band(3, 10), Band(16, 22), 12),
        ("Tetramorium caespitum", 8, Band(5, 12), Band(8, 14), 6),
        ("Solenopsis fugax", 8, Band(5, 12), Band(8, 14), 6),
        ("Crematogaster scutellaris", 10, Band(6, 12), Band(8, 13), 8),
        ("Pheidole pallidula", 12, Band(8, 15), Band(6, 10), 6),
        ("Messor barbarus", 12, Band(10, 16), Band(6, 12), 6),
        ("Camponotus cruentatus", 12, Band(10, 16), Band(6, 12), 6),
        ("Pogonomyrmex barbatus", 12, Band(10, 16), Band(6, 12), 6),
        ("Solenopsis invicta", 18, Band(15, 20), Band(0, 8), 0),
    ],
)
def test_rest_stays_inside_what_its_group_tolerates(
    name: str, target: float, band: Band, weeks: Band, floor: float
) -> None:
    profile = SPECIES[name]
    assert profile.rest_band_c is not None
    assert profile.rest_weeks is not None
    assert (profile.rest_target_c, profile.rest_floor_weeks) == (target, floor)
    assert band.low <= profile.rest_band_c.low < profile.rest_band_c.high <= band.high
    assert weeks.low <= profile.rest_weeks.low < profile.rest_weeks.high <= weeks.high


def test_published_figures() -> None:
    # Kamitani 2015: Lasius japonicus queens died at a constant 30 C.
    lasius = SPECIES["Lasius japonicus"]
    assert (lasius.heat_alarm_c or 99) < 30
    assert lasius.winter_brood is WinterBrood.LARVAE
    # Cerda 1992: no brood in winter.
    assert SPECIES["Aphaenogaster senilis"].winter_brood is WinterBrood.NONE
    assert SPECIES["Cataglyphis cursor"].winter_brood is WinterBrood.NONE
    # Hartley & Lester 2003, quoted by an agency.
    assert SPECIES["Linepithema humile"].development == Development(15.9, 445, 0.3)
    # Johnson 2002: foundresses forage. Trunzer 1998. Stuart 2002: founds in host nests.
    assert SPECIES["Pogonomyrmex californicus"].founding == (Founding.SEMI_CLAUSTRAL,)
    assert SPECIES["Neoponera villosa"].founding == (Founding.SEMI_CLAUSTRAL,)
    assert SPECIES["Lasius umbratus"].founding == (Founding.PARASITIC,)
    # Lubertazzi 2012: nests of the rudis group held 266 to 613 workers on average.
    rudis = SPECIES["Aphaenogaster rudis"].colony_size
    assert rudis is not None
    assert 266 in rudis
    assert 613 in rudis
    # Brown 2011, Cho 2002: medical cases.
    assert [SPECIES[name].hazard for name in ("Myrmecia", "Rhytidoponera", "Brachyponera")] == [3, 3, 3]


def test_the_first_brood_of_lasius_niger_is_an_estimate_that_meets_two_published_durations() -> None:
    model = SPECIES["Lasius niger"].development
    assert model is not None
    assert SPECIES["Lasius niger"].evidence["development"].confidence is Confidence.DERIVED
    assert "development" in SPECIES["Lasius niger"].weak_fields
    assert model.degree_days / (25 - model.threshold_c) == pytest.approx(40, abs=1)  # Matte & Billen 2021
    assert 43 <= model.degree_days / (23 - model.threshold_c) <= 51  # Bruetsch 2017, at about 21 to 24 C
    assert SPECIES["Solenopsis invicta"].development is None


def test_diets() -> None:
    # General knowledge of the genera, from memory.
    first = {
        "Messor": Guild.SEEDS, "Pogonomyrmex": Guild.SEEDS, "Veromessor": Guild.SEEDS, "Atta": Guild.LEAVES,
        "Acromyrmex": Guild.LEAVES, "Trachymyrmex": Guild.FUNGUS, "Lasius": Guild.HONEYDEW, "Formica": Guild.HONEYDEW,
        "Camponotus": Guild.HONEYDEW, "Myrmecocystus": Guild.HONEYPOT, "Myrmica": Guild.GENERALIST,
        "Pheidole": Guild.GENERALIST, "Strumigenys": Guild.SMALL_PREY, "Temnothorax": Guild.SMALL_PREY,
        "Odontomachus": Guild.PREDATOR, "Harpegnathos": Guild.PREDATOR, "Polyergus": Guild.PARASITE,
    }  # fmt: skip
    assert {name: SPECIES[name].guilds[0] for name in first} == first
    assert all("guilds" in profile.evidence for profile in SPECIES.values())


def test_rules_for_protected_and_listed_species_are_flagged() -> None:
    assert "DE_PROTECTED" in SPECIES["Formica rufa"].regulation  # German species protection ordinance
    assert SPECIES["Formica fusca"].regulation == ()
    for name in ("Solenopsis invicta", "Wasmannia auropunctata"):
        assert "EU_UNION_LIST_2022" in SPECIES[name].regulation  # Implementing Regulation (EU) 2022/1203
    assert "KE_EXPORT" in SPECIES["Messor cephalotes"].regulation


@pytest.mark.parametrize("difference", DIFFERENCES, ids=lambda one: f"{one['name']} {one['field']}")
def test_recorded_differences_match_the_species_files(difference: dict[str, Any]) -> None:
    value = getattr(SPECIES[difference["name"]], difference["field"])
    said = [value.low, value.high] if isinstance(value, Band) else value
    assert said == difference.get("ours")
    assert difference.get("ours") != difference.get("table")
    assert len(difference["reason"]) > 10


def test_a_difference_is_recorded_once() -> None:
    keys = [(one["name"], one["field"]) for one in DIFFERENCES]
    assert len(set(keys)) == len(keys)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("lasius niger", "Lasius niger"),
        ("L. niger", "Lasius niger"),
        ("Camponotus ligniperdus", "Camponotus ligniperda"),
        ("Messor pergandei", "Veromessor pergandei"),
        ("Pachycondyla chinensis", "Brachyponera chinensis"),
        ("atta", "Atta"),
    ],
)
def test_names_and_older_names_are_found(said: str, meant: str) -> None:
    assert BOOK.profile(said).name == meant


def test_notes_are_short_and_our_own_layout() -> None:
    for profile in SPECIES.values():
        if profile.note is not None:
            assert len(profile.note) <= 330
            assert profile.note.endswith(".")


def test_the_handbook_loads_within_a_second() -> None:
    started = time.process_time()
    load_handbook(CONFIG)
    assert time.process_time() - started < 1


def test_the_schema_names_facts_as_the_trade_does() -> None:
    assert issubclass(Facts, Page)
    assert set(Facts.model_fields) <= {field.name for field in fields(SpeciesProfile)}
