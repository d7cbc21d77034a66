"""Pictures of what was recorded: counts, water, foods, loggers; by their frames and values."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from math import exp, log
from typing import Any

import pytest
from matplotlib.axes import Axes
from matplotlib.collections import Collection
from matplotlib.container import ErrorbarContainer

from bot.adapters.pictures.foods import draw_foods, foods_sheet, likings
from bot.adapters.pictures.growth import draw_growth, growth_sheet
from bot.adapters.pictures.logger import draw_logger, logger_sheet
from bot.adapters.pictures.look import SMALL, Sheet
from bot.adapters.pictures.water import water_sheet
from bot.care.agenda import plan_colony
from bot.care.colony import LogEntry, NestKind, Side
from bot.care.duty import Duty, Outcome
from bot.care.growth.first_workers import expected_first_workers
from bot.care.logger.readings import Quantity, Reading, Series, evaluate
from bot.care.species import Development
from bot.care.units import Band, Units
from bot.care.water.nest import forecast_drying
from bot.services.pictures import Look
from tests.care import builders
from tests.care.builders import DAY


def entry(back: int, duty: Duty, outcome: Outcome = Outcome.DONE, **changes: Any) -> LogEntry:
    return LogEntry(day=DAY - timedelta(days=back), duty=duty, outcome=outcome, **changes)


def counted(*counts: tuple[int, int]) -> tuple[LogEntry, ...]:
    """Counts as (days ago, workers), oldest first."""
    return tuple(entry(back, Duty.CENSUS, count=count) for back, count in counts)


def grown(*counts: tuple[int, int]) -> Sheet:
    sheet = growth_sheet(builders.colony(log=counted(*counts)), DAY, None, Look.LIGHT)
    assert sheet is not None
    return sheet


def numbers(values: Any) -> list[float]:
    return [float(value) for value in values]


def corners(found: Collection) -> list[tuple[float, float]]:
    """Corners of the first shape of a collection."""
    vertices: Any = found.get_paths()[0].vertices
    return [(float(x), float(y)) for x, y in vertices]


def line(axes: Axes, label: str) -> tuple[list[float], list[float]]:
    found = next(found for found in axes.lines if found.get_label() == label)
    return numbers(found.get_xdata()), numbers(found.get_ydata())


def labels(axes: Axes) -> set[str]:
    return {str(found.get_label()) for found in (*axes.lines, *axes.collections, *axes.patches)}


def letters(sheet: Sheet) -> Iterable[float]:
    sheet.figure.canvas.draw()
    for axes in sheet.figure.axes:
        for text in (*axes.get_xticklabels(), *axes.get_yticklabels(), *axes.texts):
            yield float(text.get_fontsize())


def test_the_trend_of_a_colony_that_doubles_doubles() -> None:
    # Derived: 20, 40, 80 at weekly steps plus one (the fit takes ln(n + 1)); a doubling a week.
    sheet = grown((14, 19), (7, 39), (0, 79))
    days, middle = line(sheet.figure.axes[0], "trend")
    ahead = [(y + 1) for x, y in zip(days, middle, strict=True) if x == DAY.toordinal() or x == days[-1]]
    weeks = (days[-1] - DAY.toordinal()) / 7
    assert ahead[-1] == pytest.approx(80 * 2**weeks, rel=1e-6)
    assert "growing, +100 % a week" in sheet.alt


def test_the_band_is_widest_far_from_the_counts() -> None:
    sheet = grown((60, 20), (30, 30), (0, 50))
    band = next(found for found in sheet.figure.axes[0].collections if found.get_label() == "80 % band")
    by_day: dict[float, list[float]] = {}
    for x, y in corners(band):
        by_day.setdefault(round(x), []).append(log(y + 1))
    widths = {day: max(values) - min(values) for day, values in by_day.items() if len(values) > 1}
    middle = (DAY - timedelta(days=30)).toordinal()
    assert widths[max(widths)] > widths[min(widths, key=lambda day: abs(day - middle))] * 1.5


def test_every_count_is_a_point_with_its_doubt() -> None:
    sheet = grown((60, 20), (30, 30), (0, 50))
    (points,) = sheet.figure.axes[0].containers
    assert isinstance(points, ErrorbarContainer)
    data, _, (segments,) = points.lines
    assert data is not None
    assert numbers(data.get_ydata()) == [20, 30, 50]
    # A count by eye is 20 % off on the scale of logarithms.
    tops = [float(segment[1][1]) for segment in segments.get_segments()]
    assert tops == pytest.approx([count * exp(0.2) for count in (20, 30, 50)])


def test_one_count_shows_no_trend_and_none_no_picture() -> None:
    one = grown((5, 12))
    assert "trend" not in labels(one.figure.axes[0])
    assert "one more count" in one.alt
    assert draw_growth(builders.colony(), DAY) is None


def test_counts_far_apart_are_drawn_by_ratios() -> None:
    assert grown((600, 5), (300, 80), (0, 1300)).figure.axes[0].get_yscale() == "log"
    assert grown((60, 50), (0, 80)).figure.axes[0].get_yscale() == "linear"


def test_first_workers_are_marked() -> None:
    profile = builders.profile(development=Development(10, 400, 0.3))
    expected = expected_first_workers(DAY, 25, profile)
    sheet = growth_sheet(builders.colony(log=()), DAY, expected, Look.DARK)
    assert sheet is not None
    assert "first workers" in labels(sheet.figure.axes[0])
    assert expected.sentence in sheet.alt


def watered(look: Look = Look.LIGHT, **changes: Any) -> Sheet:
    colony = builders.colony(**changes)
    plan = plan_colony(colony, builders.keeper(), builders.place(), builders.handbook(), DAY, 90)
    return water_sheet(plan, builders.keeper(), builders.place(), builders.handbook(), DAY, look)


WATERED = (entry(9, Duty.WATER, side=Side.B), entry(3, Duty.WATER, side=Side.A))


def test_both_sides_dry_along_the_forecast() -> None:
    sheet = watered(log=WATERED)
    side_a, side_b = sheet.figure.axes
    assert [axes.get_title(loc="left") for axes in (side_a, side_b)] == ["Side A, ml of water", "Side B, ml of water"]
    days, level = line(side_a, "water")
    assert days[0] == (DAY - timedelta(days=3)).toordinal()
    assert level[0] == 60
    situation = builders.situation(colony=builders.colony(log=WATERED))
    forecast = forecast_drying(situation)
    # On the day of the forecast the curve crosses what counts as nearly dry.
    crossing = next(day for day, ml in zip(days, level, strict=True) if ml <= forecast.dry_share * 60)
    step = days[1] - days[0]
    assert crossing - days[0] == pytest.approx(forecast.days, abs=1.5 * step)


def test_the_next_swap_is_hollow_and_on_its_side() -> None:
    side_a, side_b = watered(log=WATERED).figure.axes
    hollow = [
        found
        for found in side_b.lines
        if found.get_label() == "watering" and found.get_markerfacecolor() != found.get_color()
    ]
    assert len(hollow) == 1
    assert any(text.get_text().startswith("next: ") for text in side_b.texts)
    assert not any(text.get_text().startswith("next: ") for text in side_a.texts)


def test_a_side_without_water_says_so() -> None:
    side_a, _ = watered(log=()).figure.axes
    assert [text.get_text() for text in side_a.texts] == ["nearly dry", "today", "no watering logged yet"]


def test_a_tube_has_one_frame_and_is_looked_at() -> None:
    sheet = watered(
        nest=builders.nest(kind=NestKind.TUBE, material=None, water_ml=8.0, bore_mm=14.0), log=(entry(3, Duty.WATER),)
    )
    (tube,) = sheet.figure.axes
    assert line(tube, "water")[1][0] == 8
    assert any(text.get_text().startswith("look: ") for text in tube.texts)
    assert "look at it" in sheet.alt


def fed(*outcomes: tuple[str, Outcome]) -> tuple[LogEntry, ...]:
    return tuple(entry(90 - place, Duty.PROTEIN, outcome, food=food) for place, (food, outcome) in enumerate(outcomes))


def test_foods_are_counted_and_the_best_liked_comes_first() -> None:
    log_ = fed(
        ("cricket", Outcome.REFUSED), ("cricket", Outcome.TAKEN), ("mealworm", Outcome.TAKEN),
        ("mealworm", Outcome.GONE_QUICKLY), ("mealworm", Outcome.HALF_TAKEN), ("cricket", Outcome.DONE),
    )  # fmt: skip
    found = likings(builders.colony(log=log_), builders.handbook().foods)
    assert [(one.name, one.taken, one.half, one.refused) for one in found] == [
        ("mealworm", 2, 1, 0),
        ("cricket", 1, 0, 1),
    ]
    sheet = foods_sheet(builders.colony(log=log_), builders.handbook().foods, Look.LIGHT)
    assert sheet is not None
    bars = {
        str(group.get_label()): [abs(bar.get_width()) for bar in group] for group in sheet.figure.axes[0].containers
    }
    assert bars == {"refused": [0, 1], "half taken": [1, 0], "taken": [2, 1]}
    assert [label.get_text() for label in sheet.figure.axes[0].get_yticklabels()] == ["mealworm", "cricket"]


def test_no_outcome_no_picture_of_foods() -> None:
    assert draw_foods(builders.colony(log=fed(("cricket", Outcome.DONE))), builders.handbook().foods) is None


def test_ten_foods_at_most() -> None:
    log_ = fed(*[(f"food {number}", Outcome.TAKEN) for number in range(14)])
    sheet = foods_sheet(builders.colony(log=log_), {}, Look.DARK)
    assert sheet is not None
    assert len(sheet.figure.axes[0].get_yticks()) == 10


START = datetime(2027, 1, 10, tzinfo=UTC)


def measured(days: int, *, without: range = range(0)) -> Series:
    hours = [hour for hour in range(24 * days) if hour not in without]
    return Series(
        Quantity.TEMPERATURE, tuple(Reading(START + timedelta(hours=hour), 5 + hour % 24 / 4) for hour in hours)
    )


def logged(series: Series, units: Units = Units.CELSIUS, band: Band | None = Band(5, 8)) -> Sheet:  # noqa: B008 - frozen
    keeper = builders.keeper(units=units)
    found = evaluate(series, UTC, wanted=lambda _: band)
    return logger_sheet("Dusk", series, found, lambda _: band, keeper, Look.LIGHT)


def test_a_short_series_shows_every_reading_and_its_gap() -> None:
    series = measured(4, without=range(30, 50))
    axes = logged(series).figure.axes[0]
    days, values = line(axes, "measured")
    real = [value for value in values if value == value]  # noqa: PLR0124 - leaves the break out, which is no number
    assert real == [reading.value for reading in series.readings]
    assert len(values) == len(real) + 1
    assert days[0] == date(2027, 1, 10).toordinal()
    assert "gap" in labels(axes)


def test_a_long_series_shows_days() -> None:
    days, means = line(logged(measured(60)).figure.axes[0], "measured")
    assert len(days) == 60
    assert means[30] == pytest.approx(5 + 11.5 / 4, abs=0.1)


def test_extremes_and_band_in_the_scale_of_the_keeper() -> None:
    axes = logged(measured(4), Units.FAHRENHEIT).figure.axes[0]
    # 5 °C are 41 °F; the warmest hour, 10.75 °C, is 51.4 °F; the band 5 to 8 °C reaches to 46.4 °F.
    assert {text.get_text() for text in axes.texts} == {"41.0", "51.4"}
    band = next(found for found in axes.collections if found.get_label() == "wanted")
    heights = {round(y, 1) for _, y in corners(band)}
    assert heights == {41.0, 46.4}


def test_humidity_without_a_band() -> None:
    series = Series(Quantity.HUMIDITY, measured(3).readings)
    sheet = logged(series, Units.FAHRENHEIT, None)
    assert sheet.figure.axes[0].get_title(loc="left") == "Relative humidity in %"
    assert "wanted" not in sheet.alt


def test_the_words_name_extremes_and_hours() -> None:
    alt = logged(measured(2)).alt
    assert "lowest 5 °C on 10 January 2027 at 00:00" in alt
    assert "0 hours below" in alt


@pytest.mark.parametrize("look", list(Look))
def test_letters_are_readable_everywhere(look: Look) -> None:
    foods = foods_sheet(builders.colony(log=fed(("cricket", Outcome.TAKEN))), builders.handbook().foods, look)
    growth = growth_sheet(builders.colony(log=counted((9, 4), (0, 9))), DAY, None, look)
    assert foods is not None
    assert growth is not None
    for sheet in (foods, growth, watered(look, log=WATERED), logged(measured(3))):
        assert min(letters(sheet)) >= SMALL


def test_threads_may_draw_at_once() -> None:
    series = measured(5)
    found = evaluate(series, UTC)

    def draw(number: int) -> bytes:
        return draw_logger(f"Dusk {number}", series, found, lambda _: None, builders.keeper()).png

    with ThreadPoolExecutor(4) as pool:
        drawn = list(pool.map(draw, [1, 2, 1, 2]))
    assert drawn[0] == drawn[2]
    assert drawn[1] == drawn[3]
    assert drawn[0] != drawn[1]
