"""What the picture of a year shows, by its frames, labels and values; the plan itself is tested elsewhere."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.lines import Line2D

from bot.adapters.pictures.look import SMALL, Sheet
from bot.adapters.pictures.year import draw_year, year_sheet
from bot.care.agenda import ColonyPlan, plan_colony
from bot.care.duty import Duty
from bot.care.phase import Phase
from bot.care.physics.daylight import day_length_hours
from bot.care.place import Keeper
from bot.care.species import DormancyClass
from bot.care.units import Units
from bot.services.pictures import Look
from tests.care import builders

START, DAYS = date(2026, 11, 24), 365


def planned(keeper: Keeper | None = None, dormancy: DormancyClass = DormancyClass.EXO, **changes: Any) -> ColonyPlan:
    profile = builders.profile(dormancy=dormancy)
    book = builders.handbook(species={profile.name: profile})
    return plan_colony(builders.colony(**changes), keeper or builders.keeper(), builders.place(), book, START, DAYS)


def drawn(plan: ColonyPlan, keeper: Keeper | None = None, days: int = DAYS, look: Look = Look.LIGHT) -> Sheet:
    return year_sheet(plan, keeper or builders.keeper(), START, days, look)


def frames(sheet: Sheet) -> tuple[Axes, Axes, Axes]:
    phases, care, light = sheet.figure.axes
    return phases, care, light


def strokes(axes: Axes) -> dict[str, list[float]]:
    """Row name -> days of its strokes."""
    return {
        str(found.get_label()): [float(segment[0][0]) for segment in found.get_segments()]
        for found in axes.collections
        if isinstance(found, LineCollection)
    }


def heights(line: Line2D) -> list[float]:
    values: Any = line.get_ydata()
    return [float(value) for value in values]


def words(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]


def test_three_frames_with_headings() -> None:
    assert [axes.get_title(loc="left") for axes in frames(drawn(planned()))] == [
        "Phases, and nest temperature in °C",
        "Food and water, one stroke for each time",
        "Hours of daylight at your place",
    ]


def test_one_stroke_for_each_planned_time() -> None:
    plan = planned()
    rows = strokes(frames(drawn(plan))[1])
    water = [found for found in plan.occurrences if found.duty is Duty.WATER]
    for name, days in {
        "sugar": [found.day for found in plan.occurrences if found.duty is Duty.SUGAR],
        "protein": [found.day for found in plan.occurrences if found.duty is Duty.PROTEIN],
        "water A": [found.day for found in water if found.facts["side"] == "A"],
        "water B": [found.day for found in water if found.facts["side"] == "B"],
    }.items():
        assert rows[name] == [day.toordinal() for day in days]
        assert days


def test_rows_are_labelled_in_their_order() -> None:
    care = frames(drawn(planned()))[1]
    assert [label.get_text() for label in care.get_yticklabels()] == list(strokes(care))


def test_the_temperature_is_level_in_a_phase_and_straight_in_a_ramp() -> None:
    plan = planned()
    low, high = sorted(heights(line) for line in frames(drawn(plan))[0].lines[-2:])
    aims = {START + timedelta(days=place): (low[place], high[place]) for place in range(DAYS)}
    spans = [span for rest in plan.rests for span in rest.phases]
    rest = next(span for span in spans if span.phase is Phase.REST)
    assert {aims[day] for day in (rest.start + timedelta(days=ahead) for ahead in range(40))} == {
        (rest.temperature_c.low, rest.temperature_c.high)
    }
    warm = next(span for span in spans if span.phase is Phase.WARM_UP)
    ramp = [aims[warm.start + timedelta(days=ahead)][0] for ahead in range((warm.end - warm.start).days)]
    steps = [later - earlier for earlier, later in pairwise(ramp)]
    assert steps == pytest.approx([steps[0]] * len(steps))
    assert aims[date(2027, 7, 1)] == (21, 27)


def test_the_daylight_is_that_of_the_place() -> None:
    line = next(line for line in frames(drawn(planned()))[2].lines if line.get_label() == "daylight")
    days = [START + timedelta(days=ahead) for ahead in range(DAYS + 1)]
    assert heights(line) == [day_length_hours(50.0, day) for day in days]


def test_the_rest_is_named_with_temperature_and_day() -> None:
    named = next(text for text in words(frames(drawn(planned()))[0]) if text.startswith("rest"))
    name, temperature, day = named.split("\n")
    assert (name, temperature) == ("rest", "5–8 °C")
    assert day.startswith(("from ", "until "))


def test_fahrenheit_for_those_who_read_it() -> None:
    keeper = builders.keeper(units=Units.FAHRENHEIT)
    phases = frames(drawn(planned(keeper), keeper))[0]
    assert "°F" in phases.get_title(loc="left")
    # 5 to 8 °C are 41 to 46 °F.
    assert any("41–46 °F" in text for text in words(phases))
    assert max(max(heights(line)) for line in phases.lines[-2:]) == pytest.approx(27 * 9 / 5 + 32)


def test_an_unknown_latitude_is_said_and_not_guessed() -> None:
    keeper = builders.keeper(latitude=None)
    sheet = drawn(planned(keeper), keeper)
    assert words(frames(sheet)[2]) == ["not known: tell me your latitude"]
    assert "not known" in sheet.alt


def test_a_colony_without_a_rest_is_active_all_year() -> None:
    sheet = drawn(planned(dormancy=DormancyClass.HOMO))
    assert words(frames(sheet)[0]) == ["active"]
    assert "no winter rest" in sheet.alt


def test_the_words_tell_what_the_picture_shows() -> None:
    alt = drawn(planned()).alt
    assert alt.startswith("The year of Dusk. It rests from ")
    assert "sugar about every" in alt
    assert "Daylight runs between 8.1 and 16.4 hours." in alt  # 50° north, as the day-length engine says
    assert alt.count(". ") <= 4


@pytest.mark.parametrize("days", [1, 7, 40, 120, 365, 1500])
@pytest.mark.parametrize("look", list(Look))
def test_any_stretch_is_drawn_with_letters_of_a_readable_size(days: int, look: Look) -> None:
    sheet = drawn(planned(name="W" * 40), days=days, look=look)
    sheet.figure.canvas.draw()
    for axes in sheet.figure.axes:
        labels = [*axes.get_xticklabels(), *axes.get_yticklabels(), *axes.texts]
        assert all(float(label.get_fontsize()) >= SMALL for label in labels)
        assert len(axes.get_xticks()) <= 9


def test_letters_stay_inside_the_sheet() -> None:
    sheet = drawn(planned(name="A rather long name of forty characters!"))
    sheet.figure.canvas.draw()
    width, height = sheet.figure.canvas.get_width_height()
    texts = [*sheet.figure.texts, *(text for axes in sheet.figure.axes for text in axes.texts)]
    for text in texts:
        box = text.get_window_extent()
        assert 0 <= box.x0 <= box.x1 <= width, text.get_text()
        assert 0 <= box.y0 <= box.y1 <= height, text.get_text()


def test_the_picture_is_a_png_of_the_stated_size() -> None:
    picture = draw_year(planned(), builders.keeper(), START, DAYS)
    assert picture.png.startswith(b"\x89PNG\r\n\x1a\n")
    # The PNG header holds width and height in its bytes 16 to 24 (PNG specification, 11.2.2).
    assert (int.from_bytes(picture.png[16:20]), int.from_bytes(picture.png[20:24])) == (picture.width, picture.height)
    assert (picture.width, picture.height) == (1000, 1400)


def test_signs_of_formulas_in_a_name_are_only_letters() -> None:
    plan = planned()
    named = replace(plan, colony=replace(plan.colony, name="$x^2$ \\frac"))
    assert draw_year(named, builders.keeper(), START, 30).png
