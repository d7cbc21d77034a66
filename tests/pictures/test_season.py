"""The picture of a community's season, by its frames, bars and words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from bot.adapters.handbook.season_words import load_languages
from bot.adapters.pictures.look import SMALL
from bot.adapters.pictures.season import ROWS, draw_season, season_sheet
from bot.care.phase import Phase
from bot.care.season.community import Half
from bot.care.season.figures import GroupFigures, GroupKey
from bot.care.species import DormancyClass
from bot.services.pictures import Look
from tests.shelf import handbook

MONDAY = date(2026, 10, 12)
TODAY = date(2026, 11, 25)
CONFIG = Path(__file__).parents[2] / "config"
LANGUAGES = load_languages(handbook(), CONFIG)
WORDS = LANGUAGES["en"]


def group(half: Half = Half.NORTH, dormancy: DormancyClass = DormancyClass.ENDO, start: date = MONDAY) -> GroupFigures:
    weeks = {
        phase: {start + timedelta(weeks=4 * row + week): 5 * (1 + week % 3) for week in range(4)}
        for row, phase in enumerate(ROWS)
    }
    return GroupFigures(key=GroupKey(half, dormancy, start.year), taken=start, colonies=20, weeks=weeks)


def test_each_half_has_a_frame_and_each_phase_a_row() -> None:
    sheet = season_sheet([group(), group(Half.SOUTH, start=date(2026, 4, 13))], TODAY, WORDS, Look.LIGHT)
    assert sheet is not None
    assert [axes.get_title("left") for axes in sheet.figure.axes] == ["North, season of 2026", "South, season of 2026"]
    for axes in sheet.figure.axes:
        assert len(axes.patches) == 20
        assert [label.get_text().split("\n")[0] for label in axes.get_yticklabels()] == [
            "wind-down",
            "cool-down",
            "rest",
            "warm-up",
            "new season",
        ]


def test_groups_of_one_half_are_added_up() -> None:
    both = season_sheet([group(), group(dormancy=DormancyClass.EXO)], TODAY, WORDS, Look.LIGHT)
    assert both is not None
    (axes,) = both.figure.axes
    assert axes.get_yticklabels()[0].get_text() == "wind-down\nup to 30"


def test_what_may_not_be_shown_has_no_bar() -> None:
    shown = replace(group(), weeks={Phase.REST: {MONDAY: 10}})
    sheet = season_sheet([shown], TODAY, WORDS, Look.LIGHT)
    assert sheet is not None
    assert len(sheet.figure.axes[0].patches) == 1
    assert "wind-down\n–" in [label.get_text() for label in sheet.figure.axes[0].get_yticklabels()]


@pytest.mark.parametrize("figures", [[], [replace(group(), weeks={})]])
def test_without_a_week_to_show_there_is_no_picture(figures: list[GroupFigures]) -> None:
    assert draw_season(figures, TODAY, WORDS) is None


@pytest.mark.parametrize("look", list(Look))
def test_the_picture_is_a_png_with_words_for_those_who_cannot_see_it(look: Look) -> None:
    picture = draw_season([group()], TODAY, WORDS, look)
    assert picture is not None
    assert picture.png.startswith(b"\x89PNG")
    assert (picture.width, picture.height) == (1000, 850)
    assert picture.alt.startswith("The season of a community. North: wind-down 12 Oct to 8 Nov, at most 15; cool-down")


def test_every_letter_is_large_enough_for_a_phone() -> None:
    sheet = season_sheet([group()], TODAY, WORDS, Look.LIGHT)
    assert sheet is not None
    (axes,) = sheet.figure.axes
    sizes = [float(text.get_fontsize()) for text in (*axes.texts, *axes.get_xticklabels(), *axes.get_yticklabels())]
    assert min(sizes) >= SMALL
    assert [text.get_text() for text in axes.texts] == [" today"]


@pytest.mark.parametrize("language", sorted(LANGUAGES))
def test_names_of_phases_fit_beside_their_rows_in_every_language(language: str) -> None:
    sheet = season_sheet([group()], TODAY, LANGUAGES[language], Look.LIGHT)
    assert sheet is not None
    (axes,) = sheet.figure.axes
    sheet.figure.draw_without_rendering()
    assert min(label.get_window_extent().x0 for label in axes.get_yticklabels()) > 0
    assert max(text.get_window_extent().x1 for text in sheet.figure.texts) < 1000
    names = [label.get_text().split("\n")[0] for label in axes.get_yticklabels()]
    assert names == [LANGUAGES[language].phase[phase] for phase in ROWS]
    assert sheet.alt.startswith(LANGUAGES[language].picture.about)
