"""The counts of a colony, each with its doubt, and where they point: a trend with its 80 % band, a few weeks ahead."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp, expm1, log, log1p, sqrt

from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullLocator

from bot.adapters.pictures.look import (
    SMALL,
    Colours,
    Sheet,
    add_axes,
    capital,
    day_ticks,
    new_sheet,
    printable,
    rendered,
    say,
    say_day,
    short_day,
    today_line,
)
from bot.care.colony import Colony
from bot.care.duty import Duty
from bot.care.growth.first_workers import FirstWorkers
from bot.care.growth.trend import COUNT_ERROR, Direction, Trend, counts_of, trend
from bot.services.pictures import Look, Picture

HEIGHT = 1000
FRAME = (210, 890)
AHEAD_DAYS = 56
STEPS = 40
Z_80 = 1.2816
LOG_FROM = 30
"""Counts that differ by this factor are drawn on a scale of equal ratios."""
Counts = Sequence[tuple[date, int]]


def draw_growth(
    colony: Colony, today: date, expected: FirstWorkers | None = None, look: Look = Look.LIGHT
) -> Picture | None:
    """Counts and trend, 1000 x 1000 pixels; `None` when nothing was counted and no first workers are expected.

    Args:
        colony: with its log.
        today: the right edge of what is known.
        expected: when a founding queen's first workers may come, to be marked.
        look: light or dark.
    """
    sheet = growth_sheet(colony, today, expected, look)
    return None if sheet is None else rendered(sheet, sheet.alt)


def growth_sheet(colony: Colony, today: date, expected: FirstWorkers | None, look: Look) -> Sheet | None:
    """The picture before it becomes a PNG."""
    counts = all_counts(colony)
    hatch = expected if expected is not None and expected.earliest is not None else None
    if not counts and hatch is None:
        return None
    newest = counts_of(colony.log)
    found = trend(newest)
    words = _say_trend(counts, found) if counts else "not counted yet"
    sheet = new_sheet(colony.name, capital(words), HEIGHT, look)
    axes = add_axes(sheet, *FRAME)
    first = counts[0][0] if counts else today
    last = max(today, hatch.latest if hatch and hatch.latest else today) + timedelta(days=AHEAD_DAYS)
    day_ticks(axes, min(first, today) - timedelta(days=7), last, sheet.colours)
    say(axes, f"Workers, until {say_day(last)}", sheet.colours)
    ahead = 0.0
    if len(newest) > 1:
        _line(axes, newest, found, last, sheet.colours)
        ahead = fit(newest, found).at(last)[1]
    _points(axes, counts, sheet.colours)
    _scale(axes, counts, ahead, sheet.colours)
    if today < last:
        today_line(axes, today, sheet.colours)
        late, falling = (today - first).days > 0.8 * (last - first).days, found.direction is Direction.SHRINKING
        axes.annotate(
            "today", (today.toordinal(), falling), xycoords=("data", "axes fraction"),
            xytext=(-8 if late else 8, -24 if falling else 10),
            textcoords="offset points", size=SMALL, color=sheet.colours.ink, ha="right" if late else "left",
        )  # fmt: skip
    if hatch is not None:
        _first_workers(axes, hatch, sheet.colours)
    alt = f"Growth of {printable(colony.name)}: {words}."
    return Sheet(sheet.figure, sheet.colours, f"{alt} {hatch.sentence}" if hatch else alt)


def all_counts(colony: Colony) -> tuple[tuple[date, int], ...]:
    """Every count of workers in the log, oldest first; the last one of a day counts."""
    counted = {entry.day: entry.count for entry in colony.log if entry.duty is Duty.CENSUS and entry.count is not None}
    return tuple(sorted(counted.items()))


@dataclass(frozen=True, slots=True)
class _Fit:
    """The line behind a trend: its middle in time and height, its slope a week, and the doubt about both (in logs)."""

    middle: date
    level: float
    slope: float
    level_doubt: float
    slope_doubt: float

    def at(self, day: date) -> tuple[float, float, float]:
        """Low, expected and high count of a day."""
        weeks = (day - self.middle).days / 7
        line = self.level + self.slope * weeks
        doubt = sqrt(self.level_doubt**2 + (self.slope_doubt * weeks) ** 2)
        low, middle, high = (exp(min(value, 18.0)) - 1 for value in (line - doubt, line, line + doubt))
        return max(low, 0.0), max(middle, 0.0), high


def fit(counts: Counts, found: Trend) -> _Fit:
    """The line whose slope the trend tells."""
    start = counts[0][0]
    mean = sum((day - start).days for day, _ in counts) / len(counts)
    level = sum(log(count + 1) for _, count in counts) / len(counts)
    slope, high = (log1p(percent / 100) for percent in (found.percent_per_week, found.band.high))
    return _Fit(start + timedelta(days=round(mean)), level, slope, Z_80 * COUNT_ERROR / sqrt(len(counts)), high - slope)


def _line(axes: Axes, counts: Counts, found: Trend, last: date, colours: Colours) -> None:
    line, first = fit(counts, found), counts[0][0]
    days = [first + (last - first) * step / STEPS for step in range(STEPS + 1)]
    low, middle, high = zip(*(line.at(day) for day in days), strict=True)
    places = [day.toordinal() for day in days]
    axes.fill_between(places, low, high, color=colours.plant, alpha=0.22, linewidth=0, label="80 % band")
    axes.plot(places, middle, color=colours.plant, linewidth=3, label="trend")


def _points(axes: Axes, counts: Counts, colours: Colours) -> None:
    days, values = [day.toordinal() for day, _ in counts], [count for _, count in counts]
    doubts = [[value * -expm1(-COUNT_ERROR) for value in values], [value * expm1(COUNT_ERROR) for value in values]]
    axes.errorbar(
        days, values, yerr=doubts, fmt="o", markersize=11, color=colours.ink, ecolor=colours.ink, elinewidth=2,
        label="counts",
    )  # fmt: skip
    if counts:
        axes.annotate(
            f"{counts[-1][1]:,}", (days[-1], values[-1]), xytext=(-12, 10), textcoords="offset points", ha="right",
            size=SMALL, weight="bold", color=colours.ink,
        )  # fmt: skip


def _scale(axes: Axes, counts: Counts, ahead: float, colours: Colours) -> None:
    """Equal steps, or equal ratios where counts differ a lot; the band may leave the frame, the counts never."""
    values = [count for _, count in counts] or [10]
    top = max(max(values) * 1.35, min(ahead, 3 * max(values)) * 1.15, 5)
    if min(values) > 0 and top / min(values) > LOG_FROM:
        axes.set_yscale("log")
        axes.set_ylim(min(values) / 1.6, top * 1.3)
        axes.yaxis.set_major_locator(LogLocator(numticks=6))
        axes.yaxis.set_minor_locator(NullLocator())
    else:
        axes.set_ylim(0, top)
        axes.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: _short(value)))
    axes.grid(visible=True, axis="y", color=colours.faint, linewidth=1)


def _short(value: float) -> str:
    """`250`, `1.5k`, `20k`."""
    return f"{value:,.0f}" if value < 1000 else f"{value / 1000:g}k"


def _first_workers(axes: Axes, expected: FirstWorkers, colours: Colours) -> None:
    if expected.earliest is None or expected.latest is None:
        return
    first, last = expected.earliest.toordinal(), expected.latest.toordinal()
    axes.axvspan(first, last, color=colours.sugar, alpha=0.3, linewidth=0, label="first workers")
    words = f"first workers\n{short_day(expected.earliest)} – {short_day(expected.latest)}"
    axes.text((first + last) / 2, 0.5, words, transform=axes.get_xaxis_transform(), size=SMALL, color=colours.ink,
              ha="center", linespacing=1.5)  # fmt: skip


def _say_trend(counts: Counts, found: Trend) -> str:
    newest = f"{counts[-1][1]:,} workers on {say_day(counts[-1][0])}"
    if found.direction is Direction.UNKNOWN:
        return f"{newest}; one more count shows a trend"
    change = f"{found.percent_per_week:+.0f} % a week" if found.direction is not Direction.STEADY else "no clear change"
    return f"{newest}, {found.direction.value}, {change}"
