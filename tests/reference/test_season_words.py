"""The loader of season words: what a language file must hold, and how another one joins."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.season_words import load_languages
from tests.shelf import handbook

CONFIG = Path(__file__).parents[2] / "config"
BOOK = handbook()


@pytest.fixture
def config(tmp_path: Path) -> Path:
    shutil.copytree(CONFIG / "season", tmp_path / "season")
    return tmp_path


def problems(*folders: Path) -> str:
    with pytest.raises(HandbookError) as caught:
        load_languages(BOOK, *folders)
    return str(caught.value)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('tropics = "In den', 'tropisch = "In den', "tropics: is missing"),
        ("**{count}** Kolonien", "**{zahl}** Kolonien", "must name {count}, {cycle} and no other slot"),
        ("Woche vom {day}", "Woche vom {tag}", "has no slot {tag}; use day, no_food"),
        ("Woche vom {day}", "Woche vom {day", "has braces that do not match"),
        ('HOMO = "mit Aktivität', 'OTHER = "mit Aktivität', "cycle"),
        ('remind = "Erinnere mich"\n', "", "lacks remind"),
        ("REST-DATES = ", "REST-DATEN = ", "there is no caution “REST-DATEN” in cautions/"),
        ('name = "Deutsch"', "name = Deutsch", "not valid TOML"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(config: Path, before: str, after: str, said: str) -> None:
    file = config / "season" / "de.toml"
    text = file.read_text(encoding="utf-8")
    assert before in text
    file.write_text(text.replace(before, after, 1), encoding="utf-8")
    found = problems(config)
    assert found.startswith("season/de.toml: ")
    assert said in found


def test_english_cannot_be_left_out(config: Path) -> None:
    (config / "season" / "en.toml").unlink()
    assert "season/en.toml: no such file" in problems(config)


def test_another_language_joins_by_a_file_in_an_overlay(config: Path, tmp_path: Path) -> None:
    overlay = tmp_path / "overlay"
    (overlay / "season").mkdir(parents=True)
    words = (config / "season" / "en.toml").read_text(encoding="utf-8")
    (overlay / "season" / "nl.toml").write_text(words.replace('"English"', '"Nederlands"'), encoding="utf-8")
    (overlay / "season" / "de.toml").write_text('tropics = "In den Tropen ist nichts zu tun."', encoding="utf-8")
    found = load_languages(BOOK, config, overlay)
    assert sorted(found) == ["de", "en", "es", "fr", "nl"]
    assert found["nl"].name == "Nederlands"
    assert (found["de"].tropics, found["de"].danger) == ("In den Tropen ist nichts zu tun.", "Gefahr.")
