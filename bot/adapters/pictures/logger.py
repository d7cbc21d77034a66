"""What a logger measured against the band that was wanted: the course itself or its days, extremes, and gaps."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from matplotlib.axes import Axes

from bot.adapters.pictures.look import (
    SMALL,
    Colours,
    Sheet,
    add_axes,
    day_ticks,
    in_units,
    new_sheet,
    printable,
    rendered,
    say,
    say_day,
)
from bot.care.localtime import local_day
from bot.care.logger.readings import Evaluation, Quantity, Reading, Series, Wanted
from bot.care.logger.warnings import say_moment
from bot.care.place import Keeper
from bot.care.units import Units, say_temperature
from bot.services.pictures import Look, Picture

HEIGHT = 1060
FRAME = (210, 900)
EVERY_READING_DAYS = 21
"""Up to so many days each reading is drawn, above it each day with its range."""


def draw_logger(
    name: str, series: Series, found: Evaluation, wanted: Wanted, keeper: Keeper, look: Look = Look.LIGHT
) -> Picture:
    """A series with its evaluation, 1000 x 1060 pixels.

    Args:
        name: the colony or the place, for the title.
        series: in C or %.
        found: its evaluation.
        wanted: the band of each day; `None` for days without one.
        keeper: whose scale and wall clock count.
        look: light or dark.
    """
    sheet = logger_sheet(name, series, found, wanted, keeper, look)
    return rendered(sheet, sheet.alt)


def logger_sheet(name: str, series: Series, found: Evaluation, wanted: Wanted, keeper: Keeper, look: Look) -> Sheet:
    """The picture before it becomes a PNG."""
    start, end = (local_day(series.readings[place].at, keeper.zone) for place in (0, -1))
    when = f"on {say_day(start)}" if start == end else f"from {say_day(start)} to {say_day(end)}"
    sheet = new_sheet(name, f"Measured {when}", HEIGHT, look)
    axes = add_axes(sheet, *FRAME)
    warm = series.quantity is Quantity.TEMPERATURE
    units = keeper.units if warm else Units.CELSIUS
    heading = f"Temperature in °{units.value}" if warm else "Relative humidity in %"
    day_ticks(axes, start, end + timedelta(days=1), sheet.colours)
    judged = _band(axes, wanted, start, end, units, sheet.colours)
    say(axes, f"{heading}; the band is what is wanted" if judged else heading, sheet.colours)
    if (end - start).days <= EVERY_READING_DAYS:
        _course(axes, series, units, keeper, sheet.colours)
    else:
        _day_ranges(axes, found, units, sheet.colours)
    for gap in found.gaps:
        first, last = (_place(at, keeper) for at in (gap.start, gap.end))
        axes.axvspan(first, last, facecolor="none", edgecolor=sheet.colours.faint, hatch="//", linewidth=0, label="gap")
    values = [in_units(reading.value, units) for reading in (found.lowest, found.highest)]
    low, high = axes.get_ylim()
    low, high = min(low, values[0]), max(high, values[1])
    room = max(high - low, 1) * 0.12
    axes.set_ylim(min(low, values[0] - room), max(high, values[1] + room))
    _extreme(axes, found.lowest, units, keeper, sheet.colours, above=False)
    _extreme(axes, found.highest, units, keeper, sheet.colours, above=True)
    axes.grid(visible=True, axis="y", color=sheet.colours.faint, linewidth=1)
    return Sheet(sheet.figure, sheet.colours, f"{printable(name)}: {_said(found, keeper)}")


def _band(axes: Axes, wanted: Wanted, start: date, end: date, units: Units, colours: Colours) -> bool:
    """The wanted band day by day; false when no day has one."""
    days = [start + timedelta(days=ahead) for ahead in range((end - start).days + 2)]
    bands = [wanted(day) for day in days[:-1]]
    bands.append(bands[-1])
    lows = [float("nan") if band is None else in_units(band.low, units) for band in bands]
    highs = [float("nan") if band is None else in_units(band.high, units) for band in bands]
    places = [day.toordinal() for day in days]
    axes.fill_between(places, lows, highs, step="post", color=colours.wanted, linewidth=0, label="wanted")
    return any(band is not None for band in bands)


def _course(axes: Axes, series: Series, units: Units, keeper: Keeper, colours: Colours) -> None:
    """Every reading, with a break at each gap."""
    places: list[float] = []
    values: list[float] = []
    for reading, following in zip(series.readings, (*series.readings[1:], None), strict=True):
        places.append(_place(reading.at, keeper))
        values.append(in_units(reading.value, units))
        if following is not None and following.at - reading.at > series.longest_step:
            places.append(places[-1])
            values.append(float("nan"))
    axes.plot(places, values, color=colours.ink, linewidth=2.5, label="measured")


def _day_ranges(axes: Axes, found: Evaluation, units: Units, colours: Colours) -> None:
    """Each day from lowest to highest, and its mean."""
    for stretch in _stretches([day.day for day in found.days]):
        days = [day for day in found.days if stretch[0] <= day.day <= stretch[-1]]
        places = [day.day.toordinal() + 0.5 for day in days]
        lows, highs = (
            [in_units(value, units) for value in ends] for ends in zip(*((d.low, d.high) for d in days), strict=True)
        )
        axes.fill_between(places, lows, highs, color=colours.ink, alpha=0.3, linewidth=0, label="range of a day")
        axes.plot(places, [in_units(day.mean, units) for day in days], color=colours.ink, linewidth=3, label="measured")


def _stretches(days: Sequence[date]) -> list[list[date]]:
    """Days in runs without a missing one."""
    runs: list[list[date]] = []
    for day in days:
        if runs and (day - runs[-1][-1]).days == 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return runs


def _extreme(axes: Axes, reading: Reading, units: Units, keeper: Keeper, colours: Colours, *, above: bool) -> None:
    """A mark at the lowest or highest reading, with its value."""
    place, value = _place(reading.at, keeper), in_units(reading.value, units)
    colour = colours.warm if above else colours.water
    axes.plot(
        [place],
        [value],
        marker="^" if above else "v",
        markersize=15,
        color=colour,
        clip_on=False,
        label="highest" if above else "lowest",
    )
    low, high = axes.get_xlim()
    share = (place - low) / (high - low)
    side = "left" if share < 0.15 else "right" if share > 0.85 else "center"
    axes.annotate(
        f"{value:.1f}", (place, value), xytext=(0, 16 if above else -16), textcoords="offset points", size=SMALL,
        weight="bold", color=colour, ha=side, va="bottom" if above else "top",
    )  # fmt: skip


def _place(at: datetime, keeper: Keeper) -> float:
    """A moment on the axis of days, by the keeper's wall."""
    local = at.astimezone(keeper.zone)
    return local.toordinal() + (local.hour * 3600 + local.minute * 60 + local.second) / 86_400


def _said(found: Evaluation, keeper: Keeper) -> str:
    def value(reading: Reading) -> str:
        warm = found.quantity is Quantity.TEMPERATURE
        return say_temperature(reading.value, keeper.units) if warm else f"{reading.value:.0f} %"

    words = (
        f"lowest {value(found.lowest)} on {say_moment(found.lowest.at, keeper)}, "
        f"highest {value(found.highest)} on {say_moment(found.highest.at, keeper)}."
    )
    if found.hours_below is not None and found.hours_above is not None:
        outside = f"{found.hours_below:.0f} hours below and {found.hours_above:.0f} above"
        words += f" It was {outside} the wanted band, out of {found.hours:.0f}."
    if found.gaps:
        words += f" {'One gap' if len(found.gaps) == 1 else f'{len(found.gaps)} gaps'} without readings."
    return words
