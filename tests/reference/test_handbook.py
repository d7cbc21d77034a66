"""The loader on a small config folder: what it resolves, and what it says about each way a file can be wrong."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.loader import load_handbook
from bot.care.cautions import Severity
from bot.care.errors import UnknownNameError
from bot.care.evidence import Confidence, Evidence
from bot.care.species import DormancyClass
from bot.care.units import Band

SMALL = Path(__file__).parent / "fixtures" / "small_config"
TARGET = 'rest_target_c = { value = 5, unit = "C", source = ["common-practice"], confidence = "common practice" }'
WEEKS = TARGET.replace("rest_target_c", "rest_weeks").replace("5", "[12, 20]").replace('"C"', '"weeks"')


@pytest.fixture
def config(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SMALL, tmp_path / "config"))


def edit(config: Path, name: str, before: str, after: str) -> None:
    path = config / name
    text = path.read_text(encoding="utf-8")
    assert text.count(before) >= 1
    path.write_text(text.replace(before, after, 1), encoding="utf-8")


def problems(config: Path) -> tuple[str, ...]:
    with pytest.raises(HandbookError) as caught:
        load_handbook(config)
    assert str(caught.value) == "\n".join(caught.value.problems)
    return caught.value.problems


def only_problem(config: Path) -> str:
    (problem,) = problems(config)
    return problem


def test_a_species_takes_over_what_it_does_not_state() -> None:
    profile = load_handbook(SMALL).profile("Lasius niger")
    assert (profile.rank, profile.genus, profile.subfamily) == ("species", "Lasius", "Formicinae")
    assert profile.dormancy is DormancyClass.ENDO
    assert profile.rest_weeks == Band(14, 18)
    assert profile.rest_band_c == Band(2, 8)
    assert profile.note == "A genus for tests."


def test_evidence_follows_the_figure_that_is_used() -> None:
    evidence = load_handbook(SMALL).profile("Lasius niger").evidence
    assert evidence["rest_weeks"] == Evidence(("Author2020",), Confidence.SEEN, "weeks")
    assert evidence["rest_band_c"].confidence is Confidence.COMMON_PRACTICE
    assert evidence["note"].sources == ("Author2020",)


def test_unknown_stays_unknown() -> None:
    book = load_handbook(SMALL)
    assert book.profile("Lasius").climbs_smooth is True
    niger = book.profile("Lasius niger")
    assert niger.climbs_smooth is None
    assert niger.hazard is None
    assert niger.assumed_hazard == 2
    assert not {"climbs_smooth", "hazard"} & set(niger.evidence)
    assert book.materials["plaster"].lime_based is False
    assert book.feeders["mealworm"].degree_days is None
    assert book.barriers["oil"].renew_days is None


def test_a_weak_fact_of_the_genus_is_not_weak_where_the_species_states_it() -> None:
    book = load_handbook(SMALL)
    assert book.profile("Lasius").weak_fields == ("worker_mm", "rest_weeks")
    assert book.profile("Lasius niger").weak_fields == ("worker_mm",)


def test_goods_cautions_sources_and_countries_arrive_as_values_of_the_trade() -> None:
    book = load_handbook(SMALL)
    assert book.materials["plaster"].capacity_band == Band(0.32, 0.48)
    assert book.materials["plaster"].evidence["capacity"] == Evidence(("Author2020",), Confidence.DERIVED, "ml/cm3")
    assert book.cautions["FEED-POISON"].severity is Severity.DANGER
    assert book.foods["fruit-fly"].cautions == ("FEED-POISON",)
    assert (book.countries["DE"].code, book.countries["DE"].emergency) == ("DE", "112")
    assert book.countries["DE"].law_caution == "LAW-ASK"
    assert book.sources["Author2020"].read == "abstract"


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Lasius niger", "Lasius niger"),
        ("  lasius   NIGER ", "Lasius niger"),
        ("garden ant", "Lasius niger"),
        ("l. niger", "Lasius niger"),
        ("M. niger", "Messor niger"),
        ("Lasius", "Lasius"),
        ("Lasius sp.", "Lasius"),
    ],
)
def test_names_keepers_type(said: str, meant: str) -> None:
    assert load_handbook(SMALL).profile(said).name == meant


def test_an_abbreviation_that_fits_two_species_is_no_name(config: Path) -> None:
    edit(config, "species/messor.toml", 'genus = "Messor"', 'genus = "Lepto"')
    edit(config, "species/messor.toml", "Messor niger", "Lepto niger")
    with pytest.raises(UnknownNameError):
        load_handbook(config).profile("L. niger")


@pytest.mark.parametrize(
    ("name", "before", "after", "key", "right"),
    [
        ("species/lasius.toml", WEEKS, WEEKS.replace("weeks", "days").replace("rest_days", "rest_weeks"),
         "[Lasius] facts.rest_weeks:", 'the unit must be "weeks", not "days"'),
        ("species/lasius.toml", WEEKS, WEEKS.replace("[12, 20]", "[20, 12]"),
         "[Lasius] facts.rest_weeks.value:", "[12, 20] would be right"),
        ("species/lasius.toml", WEEKS, WEEKS.replace("[12, 20]", "[12]"),
         "[Lasius] facts.rest_weeks.value:", "two numbers, low then high"),
        ("species/lasius.toml", WEEKS, WEEKS.replace("[12, 20]", "[12, 900]"),
         "[Lasius] facts.rest_weeks:", "it lies between 0 and 40 weeks"),
        ("species/lasius.toml", WEEKS, WEEKS.replace('["common-practice"]', '["Authr2020"]'),
         "[Lasius] facts.rest_weeks:", "did you mean Author2020?"),
        ("species/lasius.toml", WEEKS, WEEKS.replace('["common-practice"]', "[]"),
         "[Lasius] facts.rest_weeks.source:", "name at least one"),
        ("species/lasius.toml", WEEKS, WEEKS.replace('"common practice"', '"certain"'),
         "[Lasius] facts.rest_weeks.confidence:", "'common practice'"),
        ("species/lasius.toml", WEEKS, WEEKS.replace("rest_weeks", "rest_week"),
         "[Lasius] facts.rest_week:", "did you mean rest_weeks?"),
        ("species/lasius.toml", WEEKS, WEEKS.replace("unit", "units"),
         "[Lasius] facts.rest_weeks.unit:", "is missing"),
        ("species/lasius.toml", WEEKS, "rest_weeks = [12, 20]",
         "[Lasius] facts.rest_weeks:", "write { value ="),
        ("species/lasius.toml", TARGET, TARGET.replace("value = 5", 'value = "five"'),
         "[Lasius] facts.rest_target_c.value:", "must be a number"),
        ("species/lasius.toml", TARGET, TARGET.replace("value = 5", "value = nan"),
         "[Lasius] facts.rest_target_c:", "it lies between 0 and 25 C"),
        ("species/messor.toml", '"EXO"', '"MAYBE"', "[Messor] facts.dormancy.value:", "'EXO'"),
        ("species/messor.toml", 'subfamily = "Myrmicinae"\n', "", "[Messor] subfamily:", "is missing"),
        ("species/messor.toml", 'genus = "Messor"', 'genus = "Messor sp"', "genus:", "must be one word"),
        ("species/messor.toml", 'genus = "Messor"', "", "genus:", 'genus = "Lasius"'),
        ("species/messor.toml", "Messor niger", "Lasius niger", "species.name:", "“Messor …”"),
        ("species/messor.toml", "[[species]]", "[species]", "species:", "[[species]]"),
        ("species/messor.toml", 'genus = "Messor"', 'genus = "Messor"\nnote = "x"', "[Messor]:", "note_source"),
        ("species/lasius.toml", '["climbs_smooth"]', '["climbs"]', "[Lasius niger]:", "climbs_smooth"),
        ("materials/nests.toml", 'name = "casting plaster"\n', "", "[plaster] name:", "is missing"),
        ("materials/nests.toml", "lime_based = false", 'lime_based = "no"', "[plaster] lime_based:", "true or false"),
        ("materials/nests.toml", "value = 0.4", "value = 4", "[plaster] capacity:", "between 0 and 1 ml/cm3"),
        ("materials/barriers.toml", "value = 2", "value = 2.5", "[oil] check_days.value:", "whole number"),
        ("foods/prey.toml", '"FEED-POISON"', '"FEED-POISN"', "[fruit-fly] cautions:", "did you mean FEED-POISON?"),
        ("foods/prey.toml", 'kind = "prey"', 'kind = "meat"', "[fruit-fly] kind:", "'prey'"),
        ("countries.toml", '"LAW-ASK"', '"XX"', "[DE] law_caution:", "known are FEED-POISON, LAW-ASK"),
        ("cautions/all.toml", "Never feed", "Never " * 50, "[FEED-POISON] text:", "at most 240"),
        ("cautions/all.toml", '"danger"', '"loud"', "[FEED-POISON] severity:", "'danger'"),
        ("sources/all.toml", 'read = "custom"', "", "[common-practice] read:", "is missing"),
        ("feeders.toml", "[mealworm]", "loose = 1\n[mealworm]", "loose:", "[loose]"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_file_key_and_what_is_right(
    config: Path, name: str, before: str, after: str, key: str, right: str
) -> None:
    edit(config, name, before, after)
    said = [problem for problem in problems(config) if key in problem and right in problem]
    assert said
    assert said[0].startswith(f"config/{name}: ")


def test_broken_toml_is_named_with_its_line(config: Path) -> None:
    edit(config, "foods/prey.toml", 'kind = "prey"', "kind = prey")
    assert only_problem(config).startswith("config/foods/prey.toml: not valid TOML: ")
    assert "line 3" in only_problem(config)


def test_a_file_that_is_no_text_is_named(config: Path) -> None:
    (config / "feeders.toml").write_bytes(b"\xff\xfe\x00")
    assert only_problem(config).startswith("config/feeders.toml: cannot be read as UTF-8 text")


def test_a_missing_file_is_named(config: Path) -> None:
    (config / "materials" / "heaters.toml").unlink()
    assert only_problem(config) == (
        "config/materials/heaters.toml: no such file; the handbook needs its heaters there."
    )


def test_missing_sources_are_told_once_and_not_for_every_figure(config: Path) -> None:
    shutil.rmtree(config / "sources")
    assert only_problem(config).startswith("config/sources/*.toml: no such file")


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    assert only_problem(tmp_path / "nowhere") == "nowhere: there is no such folder; give the path of a config folder."


def test_a_name_for_two_species_is_refused(config: Path) -> None:
    edit(config, "species/messor.toml", 'name = "Messor niger"', 'name = "Messor niger"\naliases = ["garden ANT"]')
    assert only_problem(config) == (
        "config/species: “garden ANT” means both Lasius niger and Messor niger; a name belongs to one of them."
    )


def test_an_entry_in_two_files_is_refused(config: Path) -> None:
    shutil.copy(config / "cautions" / "all.toml", config / "cautions" / "more.toml")
    assert problems(config)[0] == (
        "config/cautions/more.toml: [FEED-POISON] stands a second time; it is already in config/cautions/all.toml."
    )


def test_figures_that_contradict_each_other_are_refused(config: Path) -> None:
    edit(config, "species/lasius.toml", "value = 5,", "value = 12,")
    assert only_problem(config) == (
        "config/species/lasius.toml: [Lasius] facts.rest_target_c: lies outside rest_band_c, 2 to 8 C."
    )


def test_a_rest_for_a_species_without_one_is_refused(config: Path) -> None:
    edit(config, "species/lasius.toml", '"ENDO"', '"HOMO"')
    said = problems(config)
    assert "config/species/lasius.toml: [Lasius] facts.rest_weeks: HOMO has no winter rest" in said[2]


def test_all_mistakes_are_told_together(config: Path) -> None:
    edit(config, "foods/prey.toml", 'kind = "prey"', 'kind = "meat"')
    edit(config, "materials/nests.toml", "value = 0.4", "value = 4")
    edit(config, "species/lasius.toml", "value = [12, 20]", "value = [20, 12]")
    files = {problem.split(":")[0] for problem in problems(config)}
    assert files == {"config/foods/prey.toml", "config/materials/nests.toml", "config/species/lasius.toml"}
    assert all("\n" not in problem and problem.endswith(".") for problem in problems(config))


def test_no_problem_names_a_place_on_this_machine(config: Path) -> None:
    edit(config, "foods/prey.toml", 'kind = "prey"', "kind = prey")
    assert str(config.parent) not in only_problem(config)
