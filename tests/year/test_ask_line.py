"""`python -m bot ask` with a household: the colony that is meant, and what stays known where none can be told."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.__main__ import main
from bot.care.answers.guide import Guide
from bot.care.handbook import Handbook

HOUSEHOLD = """
[keeper]
timezone = "Europe/Berlin"
[[place]]
name = "shelf"
temperature_c = 22
[[colony]]
name = "Kestrel"
species = "Lasius niger"
workers = 100
place = "shelf"
[[colony]]
name = "Ember"
species = "Messor barbarus"
workers = 400
place = "shelf"
"""


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch, handbook: Handbook, guide: Guide) -> None:
    monkeypatch.setattr("bot.__main__.handbook_of", lambda _settings: handbook)
    monkeypatch.setattr("bot.__main__.guide_of", lambda _settings, _handbook: guide)


@pytest.fixture(name="household")
def _household(tmp_path: Path) -> Path:
    file = tmp_path / "home.toml"
    file.write_text(HOUSEHOLD, "utf-8")
    return file


def asked(capsys: pytest.CaptureFixture[str], file: Path, *arguments: str) -> str:
    assert main(["ask", "--household", str(file), *arguments]) == 0
    return capsys.readouterr().out


def test_of_several_colonies_the_one_that_the_question_tells_is_meant(
    capsys: pytest.CaptureFixture[str], household: Path
) -> None:
    assert "For Kestrel, water is due" in asked(capsys, household, "how do I water the nest of Kestrel?")
    assert "For Ember, water is due" in asked(capsys, household, "when do I water the nest of my Messor?")


def test_where_none_is_told_the_country_of_the_keeper_is_still_known(
    capsys: pytest.CaptureFixture[str], household: Path
) -> None:
    said = asked(capsys, household, "my throat swells after an ant sting")
    assert "In Germany it is 112" in said
    general = asked(capsys, household, "how do I water the nest?")
    assert "Kestrel" not in general
    assert "Ember" not in general


def test_a_colony_that_does_not_exist_is_refused_with_those_that_do(
    capsys: pytest.CaptureFixture[str], household: Path
) -> None:
    assert main(["ask", "--household", str(household), "--colony", "Nobody", "how do I water?"]) == 1
    assert "Kestrel, Ember" in capsys.readouterr().err
