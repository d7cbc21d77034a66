"""`python -m bot year`: the text, the JSON of the design's section 6, and files that cannot be read."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bot.__main__ import main
from bot.care.duty import Duty
from bot.care.handbook import Handbook
from tests.year.kit import EXAMPLES, FILES, FOLDER

USUAL = FOLDER / "households" / "growing-one-colony.toml"
QUEEN = FOLDER / "households" / "claustral-queen.toml"


@pytest.fixture(autouse=True)
def handbook_read_once(monkeypatch: pytest.MonkeyPatch, handbook: Handbook) -> None:
    monkeypatch.setattr("bot.__main__.handbook_of", lambda _settings: handbook)


def year(*arguments: str | Path) -> int:
    return main(["year", *map(str, arguments)])


def refused(capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str) -> str:
    """What standard error says of a household file; nothing goes to standard output."""
    file = tmp_path / "home.toml"
    file.write_text(text, "utf-8")
    assert year(file, "--from", "2027-04-20") == 1
    out, err = capsys.readouterr()
    assert not out
    return err


def test_the_text_names_cautions_rest_and_weeks(capsys: pytest.CaptureFixture[str]) -> None:
    assert year(USUAL, "--from", "2027-04-20", "--days", "400") == 0
    text = capsys.readouterr().out
    assert text.index("Cautions") < text.index("Bramble: Lasius niger") < text.index("Week of 19 Apr 2027")
    assert text.index("DANGER") < text.index("WARNING") < text.index("  NOTE ")
    assert "Winter rest: Lasius niger rests at" in text
    assert "Water side B next." in text


def test_the_object_has_the_promised_shape(capsys: pytest.CaptureFixture[str]) -> None:
    # Design, section 6: keys and values of `year --json`.
    assert year(USUAL, "--from", "2027-04-20", "--days", "300", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert list(found) == ["keeper", "colonies", "occurrences", "winter_rest", "warnings"]
    assert found["keeper"]["timezone"] == "Europe/Berlin"
    (colony,) = found["colonies"]
    assert {"name": "Bramble", "species": "Lasius niger", "class": "ENDO"}.items() <= colony.items()
    assert colony["profile_confidence"]
    keys = {"colony", "duty", "day", "due_at", "earliest", "latest", "reason", "facts", "cautions"}
    for occurrence in found["occurrences"]:
        assert occurrence.keys() == keys
        assert occurrence["duty"] in set(Duty)
        assert occurrence["due_at"].endswith("Z")
        assert occurrence["earliest"] <= occurrence["day"] <= occurrence["latest"]
    (rest,) = found["winter_rest"]
    assert rest["needed"] is True
    assert [phase["name"] for phase in rest["phases"]] == ["wind-down", "cool-down", "rest", "warm-up", "resume"]
    assert all(phase.keys() == {"name", "start", "end", "temperature_c"} for phase in rest["phases"])
    assert all(low <= high for low, high in (phase["temperature_c"] for phase in rest["phases"]))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_the_examples_run_for_more_than_a_year(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert year(file, "--from", "2026-11-24", "--days", "400", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    names = {colony["name"] for colony in found["colonies"]}
    assert len(names) >= 2
    assert {occurrence["colony"] for occurrence in found["occurrences"]} == names
    assert found["occurrences"][-1]["day"] > "2027-12-15"


def test_feeder_cultures_stand_in_text_and_object(capsys: pytest.CaptureFixture[str]) -> None:
    file = FOLDER / "households" / "feeder-cultures.toml"
    assert year(file, "--from", "2027-04-20", "--days", "30", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert [(one["name"], one["kind"], one["failing"]) for one in found["cultures"]][3] == (
        "Crate",
        "house-cricket",
        True,
    )
    care = [one for one in found["occurrences"] if one["duty"] == "feeder_care"]
    assert {one["culture"] for one in care} == {"Oat tub", "Jar", "Box", "Crate"}
    assert {one["colony"] for one in care} == {None}
    assert year(file, "--from", "2027-04-20", "--days", "30") == 0
    text = capsys.readouterr().out
    assert "Oat tub: mealworms. The first should be grown between" in text
    assert "feeder care" in text
    assert text.index("asthma") < text.index("Week of")


def test_a_household_without_a_latitude_says_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    assert year(FOLDER / "households" / "no-latitude-zone.toml", "--from", "2027-04-20", "--days", "30") == 0
    text = capsys.readouterr().out
    assert "latitude unknown" in text
    assert "Set the first day yourself" in text


def test_one_day_is_enough_and_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert year(QUEEN, "--from", "2027-07-10", "--days", "1") == 0
    assert "Week of 05 Jul 2027" in capsys.readouterr().out
    for days in ("0", "-3", "1501", "many"):
        with pytest.raises(SystemExit, match="2"):
            year(QUEEN, "--days", days)
        assert "from 1 to 1500" in capsys.readouterr().err


def test_a_first_day_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="2"):
        year(QUEEN, "--from", "spring")
    assert "write it like 2026-11-24" in capsys.readouterr().err


def test_a_missing_file_is_a_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert year(tmp_path / "nowhere.toml") == 1
    err = capsys.readouterr().err
    assert "nowhere.toml: cannot be read" in err
    assert "give the path of a TOML file" in err


KEEPER = '[keeper]\ntimezone = "Europe/Vienna"\n'
COLONY = '[[colony]]\nname = "Amber"\nspecies = "Lasius niger"\n'


@pytest.mark.parametrize(
    ("text", "line", "key", "right"),
    [
        (KEEPER + COLONY + "wrkers = 5\n", 6, "wrkers", "known here: name, species, workers"),
        (KEEPER + COLONY + "workers = -5\n", 6, "workers", "at least 0"),
        (KEEPER + COLONY + 'brood = "lots"\n', 6, "brood", "'none', 'few', 'some' or 'many'"),
        (KEEPER + COLONY + "[colony.nest]\nwater_ml = 9000\n", 7, "water_ml", "at most 500"),
        (KEEPER + COLONY + '[colony.nest]\nmaterial = "gold"\n', 7, "material", "aerated-concrete"),
        (KEEPER + COLONY + "founded = 2099-01-01\n", 6, "founded", "up to today"),
        (KEEPER + '[[colony]]\nname = "Amber"\n', 3, "species", "must be given"),
        (COLONY, 1, "keeper", "must be given"),
        (KEEPER + '[[culture]]\nname = "Pond"\nkind = "whale"\n', 5, "kind", "mealworm"),
        (KEEPER + '[[culture]]\nname = "Tub"\nkind = "mealworm"\nplace = "moon"\n', 6, "place", "home"),
        (KEEPER + '[[culture]]\nname = "Tub"\nkind = "mealworm"\nwarm = 3\n', 6, "warm", "known here: name, kind"),
        ('[keeper]\ntimezone = "Europe/Atlantis"\n' + COLONY, 2, "timezone", "Europe/"),
        (KEEPER + COLONY + '[colony.rest]\nplace = "oven"\n', 7, "place", "'fridge'"),
    ],
)
def test_a_bad_file_is_refused_with_line_key_and_what_would_be_right(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, text: str, line: int, key: str, right: str
) -> None:
    err = refused(capsys, tmp_path, text)
    assert f"home.toml: line {line}, key" in err
    assert key in err
    assert right in err


def test_an_unknown_species_brings_the_nearest_names(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    err = refused(capsys, tmp_path, KEEPER + COLONY.replace("Lasius niger", "Lasius nigra"))
    assert "line 5, key species" in err
    assert "Lasius niger" in err
    err = refused(capsys, tmp_path, KEEPER + COLONY.replace("Lasius niger", "Mesor barbarus"))
    assert "Messor barbarus" in err


def test_all_complaints_come_together(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    twice = COLONY + 'brood = "lots"\n' + COLONY.replace("Amber", "Flint") + "workers = -1\n"
    assert len(refused(capsys, tmp_path, KEEPER + twice).strip().splitlines()) == 2


def test_what_is_no_toml_is_said_so(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert "is not TOML" in refused(capsys, tmp_path, "keeper = [")


def test_the_folder_holds_enough_different_households() -> None:
    assert len(FILES) >= 45


def test_pictures_are_written_with_their_words(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    folder = tmp_path / "new" / "pictures"
    assert year(USUAL, "--from", "2027-04-20", "--days", "60", "--pictures", folder) == 0
    assert "Bramble" in capsys.readouterr().out
    pictures = sorted(file.name for file in folder.glob("*.png"))
    assert {"1-bramble-year.png", "1-bramble-water.png"} <= set(pictures)
    assert all((folder / name).read_bytes().startswith(b"\x89PNG") for name in pictures)
    words = (folder / "words.txt").read_text("utf-8").splitlines()
    assert sorted(line.partition(":")[0] for line in words) == pictures


def test_a_folder_that_cannot_be_written_gets_a_sentence(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    assert year(USUAL, "--from", "2027-04-20", "--days", "3", "--pictures", tmp_path / "file") == 1
    assert "could not be written" in capsys.readouterr().err
