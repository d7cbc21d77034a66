"""Dates of the stages, and what notices say at every size of a community. Every text was read aloud when written."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest

from bot.adapters.handbook.season_words import load_languages
from bot.care.cautions import Severity
from bot.care.phase import Phase
from bot.care.rest.start import calendar_start
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.season.dates import StageDay, stage_days
from bot.care.season.figures import GroupFigures, GroupKey, Spread
from bot.care.season.language import wording
from bot.care.season.words import CAUTIONS, LONGEST_NUMBERS, DraftWords, draft_words
from bot.care.species import DormancyClass
from bot.care.units import Units
from tests.care.test_season import AUTUMN, community, of
from tests.shelf import handbook

CONFIG = Path(__file__).parents[2] / "config"
BOOK = handbook()
LANGUAGES = load_languages(BOOK, CONFIG)
ENGLISH = LANGUAGES["en"].figures
WEEK = StageDay(date(2026, 10, 14), counted=False)
SEASONAL = [stage for stage in SeasonStage if stage is not SeasonStage.NOTHING_DUE]


def words(
    stage: SeasonStage = SeasonStage.PREPARE,
    figures: Sequence[GroupFigures] | None = (),
    *,
    half: Half = Half.NORTH,
    halves: Sequence[Half] = (Half.NORTH,),
    units: Units = Units.CELSIUS,
    language: str = "en",
) -> DraftWords:
    return draft_words(stage, half, WEEK, figures, units, halves, LANGUAGES[language])


def figures(count: int, **changes: object) -> list[GroupFigures]:
    shown = of(community(max(count, 1), count, [Mark.NO_PLACE])) if count else None
    return [] if shown is None else [shown]


@pytest.mark.parametrize(("half", "latitude"), [(Half.NORTH, 52.5), (Half.SOUTH, -37.8), (Half.SOUTH, 52.5)])
def test_without_figures_the_stages_follow_the_calendar_of_the_rest_engine(half: Half, latitude: float) -> None:
    days = stage_days(half, 2026, (), latitude)
    signed = abs(latitude) if half is Half.NORTH else -abs(latitude)
    assert list(days) == SEASONAL
    assert days[SeasonStage.WIND_DOWN].day == calendar_start(signed, 2026)
    in_order = [days[stage].day for stage in SEASONAL[1:]]
    assert in_order == sorted(in_order)
    assert not any(day.counted for day in days.values())


def test_north_and_south_are_half_a_year_apart() -> None:
    north, south = (stage_days(half, 2026, (), 45.0)[SeasonStage.WIND_DOWN].day for half in (Half.NORTH, Half.SOUTH))
    assert 160 < (north - south).days < 205


def test_in_the_tropics_nothing_is_due() -> None:
    assert list(stage_days(Half.TROPICS, 2026, (), 5.0)) == [SeasonStage.NOTHING_DUE]


@pytest.mark.parametrize("latitude", [None, 0.0, 20.0, 70.0, -89.0])
def test_a_zone_that_tells_no_season_gets_a_usual_one(latitude: float | None) -> None:
    day = stage_days(Half.NORTH, 2026, (), latitude)[SeasonStage.WIND_DOWN].day
    assert date(2026, 9, 20) < day < date(2026, 11, 10)


def test_members_plans_move_the_dates_and_the_earliest_group_leads() -> None:
    def group(dormancy: DormancyClass, first: date, year: int = 2026) -> GroupFigures:
        spread = Spread(first, first, first)
        return GroupFigures(
            key=GroupKey(Half.NORTH, dormancy, year),
            taken=AUTUMN,
            colonies=10,
            begins={Phase.WIND_DOWN: spread, Phase.REST: spread},
        )

    found = stage_days(
        Half.NORTH,
        2026,
        [
            group(DormancyClass.ENDO, date(2026, 9, 28)),
            group(DormancyClass.EXO, date(2026, 9, 21)),
            group(DormancyClass.QUASI, date(2026, 8, 3)),
            group(DormancyClass.ENDO, date(2026, 8, 3), 2027),
        ],
        48.0,
    )
    assert found[SeasonStage.WIND_DOWN] == StageDay(date(2026, 9, 21), counted=True)
    assert found[SeasonStage.WARM_UP] == stage_days(Half.NORTH, 2026, (), 48.0)[SeasonStage.WARM_UP]


@pytest.mark.parametrize("count", [0, 1, 4])
def test_small_communities_are_told_the_same_whatever_their_size(count: int) -> None:
    assert words(figures=figures(count)).numbers == ENGLISH.none


def test_the_whole_draft_for_thirty_seven_colonies() -> None:
    found = words(SeasonStage.PREPARE, figures(37))
    assert found.heading == "Time to prepare the winter rest"
    assert found.text.splitlines()[0] == (
        "In the week of 12 October the first colonies here start to wind down. "
        "There is time to get ready without haste."
    )
    assert found.numbers == (
        "About **35** colonies that rest by an inner clock: wind-down from the week of 12 October. "
        f"Nearly all have no measured place of rest yet.\n-# {ENGLISH.how_counted}"
    )


@pytest.mark.parametrize(("count", "shown"), [(5, "**5**"), (37, "**35**"), (5000, "**5,000**")])
def test_larger_ones_are_told_rounded_figures(count: int, shown: str) -> None:
    assert f"About {shown} colonies" in words(figures=figures(count)).numbers


@pytest.mark.parametrize("stage", list(SeasonStage))
@pytest.mark.parametrize("units", list(Units))
def test_every_draft_is_short_plain_and_in_one_scale(stage: SeasonStage, units: Units) -> None:
    found = words(stage, figures(37), units=units)
    assert 100 < len(found.text) < 800
    other = {Units.CELSIUS: "°F", Units.FAHRENHEIT: "°C"}[units]
    assert other not in found.text + found.numbers
    assert all(line.endswith((".", "?")) for line in found.text.splitlines())
    assert not [sign for sign in ("{", "}", "  ") if sign in found.text]


def test_a_community_that_does_not_count_has_no_word_of_figures() -> None:
    assert words(figures=None).numbers == ""


def test_several_halves_are_named_and_the_tropics_are_not_forgotten() -> None:
    both = words(halves=(Half.NORTH, Half.SOUTH))
    assert both.heading == "Northern half: time to prepare the winter rest"
    assert "tropics" not in both.text
    assert "In the tropics nothing is due" in words(halves=(Half.NORTH, Half.TROPICS)).text
    assert words(SeasonStage.NOTHING_DUE, half=Half.TROPICS, halves=(Half.TROPICS,)).heading.startswith(
        "No winter here"
    )


@pytest.mark.parametrize("language", list(LANGUAGES))
@pytest.mark.parametrize("stage", SEASONAL)
def test_figures_of_the_largest_community_leave_room_for_the_notice(stage: SeasonStage, language: str) -> None:
    spread = Spread(date(2026, 9, 21), date(2026, 10, 12), date(2026, 11, 23))
    groups = [
        GroupFigures(
            key=GroupKey(Half.NORTH, dormancy, 2026),
            taken=AUTUMN,
            colonies=10_000,
            marks=dict.fromkeys(Mark, 5_000),
            begins=dict.fromkeys(Phase, spread),
        )
        for dormancy in DormancyClass
    ]
    said = words(stage, groups, language=language).numbers
    assert len(said) <= LONGEST_NUMBERS
    assert len(said.splitlines()) == 5, "every group that may rest, the others, and how it was counted"
    few = words(stage, groups[:1], language=language).numbers
    assert len(few) <= LONGEST_NUMBERS
    assert LANGUAGES[language].number(5_000) in few, "what stands in the way is told where there is room"


def test_groups_without_a_rest_share_one_line() -> None:
    extra = [
        GroupFigures(key=GroupKey(Half.NORTH, dormancy, 2026), taken=AUTUMN, colonies=count)
        for dormancy, count in ((DormancyClass.HOMO, 15), (DormancyClass.QUASI, 5))
    ]
    lines = words(figures=[*figures(37), *extra]).numbers.splitlines()
    assert lines[1] == "Besides about 15 that are active all year and about 5 that need no rest."


def test_spreads_are_told_with_both_ends_and_the_middle() -> None:
    spread = Spread(*(AUTUMN + timedelta(weeks=number) for number in (0, 1, 4)))
    group = GroupFigures(
        key=GroupKey(Half.NORTH, DormancyClass.EXO, 2026),
        taken=AUTUMN,
        colonies=20,
        begins={Phase.COOL_DOWN: spread},
        marks={Mark.PUPAE: 5, Mark.AWAKE: 5},
    )
    assert words(SeasonStage.COOL_DOWN, [group]).numbers.splitlines()[0] == (
        "About **20** colonies that rest when autumn cools: cool-down from the week of 12 October to that of "
        "9 November, half of them by that of 19 October. Of these about 5 still have eggs or pupae."
    )


def test_the_handbook_holds_every_caution_and_dangers_come_with_the_cold() -> None:
    book = BOOK.cautions
    assert {found for ids in CAUTIONS.values() for found in ids} <= set(book)
    for stage in (SeasonStage.PREPARE, SeasonStage.WIND_DOWN, SeasonStage.COOL_DOWN, SeasonStage.NOTHING_DUE):
        assert any(book[found].severity is Severity.DANGER for found in CAUTIONS[stage])
    assert all("WATER" in CAUTIONS[stage] for stage in (SeasonStage.MID_REST, SeasonStage.WARM_UP))


OTHERS = sorted(set(LANGUAGES) - {"en"})


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("stage", list(SeasonStage))
def test_every_language_says_as_much_as_english(stage: SeasonStage, language: str) -> None:
    """Read aloud when written; here that no line and no figure was lost on the way."""
    english, found = (
        words(stage, figures(37), halves=(Half.NORTH, Half.TROPICS), language=code) for code in ("en", language)
    )
    assert len(found.text.splitlines()) == len(english.text.splitlines())
    assert 100 < len(found.text) < 1_000
    assert re.findall(r"\d+", found.text + found.numbers.replace("\u202f", "")) == re.findall(
        r"\d+", english.text + english.numbers
    )
    assert found.cautions == english.cautions
    assert not [sign for sign in ("{", "}", "  ") if sign in found.text + found.numbers]
    assert found.heading[0].isupper()


@pytest.mark.parametrize("language", OTHERS)
def test_every_caution_of_a_notice_is_whole_in_every_language(language: str) -> None:
    """Figures with their units are the same as in the English line; nothing about law or safety is softened away."""
    for caution_id in {found for ids in CAUTIONS.values() for found in ids}:
        english, said = BOOK.cautions[caution_id].text, LANGUAGES[language].caution[caution_id]
        assert Counter(re.findall(r"\d+", said)) == Counter(re.findall(r"\d+", english)), caution_id
        assert said.count("°C") == english.count("°C"), caution_id
        assert 0.7 < len(said) / len(english) < 1.5


def test_a_caution_without_a_translation_is_shown_in_english() -> None:
    german = LANGUAGES["de"]
    untranslated = BOOK.cautions["PST-01"]
    assert german.caution_text(untranslated) == untranslated.text
    assert german.caution_text(BOOK.cautions["WATER"]) != BOOK.cautions["WATER"].text
    assert wording(LANGUAGES, "tlh") is LANGUAGES["en"], "a language that was taken out of config/ again"


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("de", "Etwa **5.000** Kolonien mit innerer Uhr für die Ruhe: Ausklang ab der Woche vom 12. Oktober."),
        ("es", "Unas **5.000** colonias que reposan por un reloj interno: cierre desde la semana del 12 de octubre."),
        ("fr", "Environ **5\u202f000** colonies qui se reposent selon une horloge interne\u00a0: fin de saison"),
    ],
)
def test_figures_and_dates_follow_the_language(language: str, said: str) -> None:
    assert words(figures=figures(5000), language=language).numbers.startswith(said)


def test_the_first_of_a_month_in_french() -> None:
    assert LANGUAGES["fr"].say_day(date(2027, 11, 1)) == "1er novembre"
    assert LANGUAGES["fr"].short_day(date(2027, 8, 2)) == "2 août"


def test_other_languages_list_as_they_do() -> None:
    assert LANGUAGES["es"].listed(["a", "b", "c"]) == "a, b y c"
    assert LANGUAGES["de"].listed(["a"]) == "a"
