"""The year of a colony: phases with the temperatures to aim at, when food and water fall, the light of the place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from matplotlib.axes import Axes

from bot.adapters.pictures.look import (
    SMALL,
    Colours,
    Sheet,
    add_axes,
    band_in_units,
    day_ticks,
    new_sheet,
    printable,
    rendered,
    say,
    say_day,
    short_day,
)
from bot.care.agenda import ColonyPlan
from bot.care.duty import Duty
from bot.care.logger.warnings import active_band
from bot.care.phase import Phase, PhaseSpan
from bot.care.physics.daylight import day_length_hours
from bot.care.place import Keeper
from bot.care.units import Band, Units, say_temperatures
from bot.services.pictures import Look, Picture

HEIGHT = 1400
PHASES = (190, 600)
CARE = (680, 960)
LIGHT = (1050, 1300)
"""Top and bottom of the three frames, in pixels."""
FOOD_ROWS = (Duty.SUGAR, Duty.PROTEIN, Duty.SEEDS, Duty.LEAVES)
WIDE, NARROW = 0.17, 0.028
"""Shares of the picture's width from which words over a phase are written across, and upwards."""
TALLEST = {Units.CELSIUS: 12.0, Units.FAHRENHEIT: 20.0}
"""The temperature axis reaches over at least so many degrees."""
STROKE_POINTS = 3.0
FRAME_POINTS = 576.0
"""Width of a frame in points."""


def draw_year(plan: ColonyPlan, keeper: Keeper, start: date, days: int, look: Look = Look.LIGHT) -> Picture:
    """The `days` days of a plan from `start`, 1000 x 1400 pixels; days of the plan outside them are left out."""
    sheet = year_sheet(plan, keeper, start, days, look)
    return rendered(sheet, sheet.alt)


def year_sheet(plan: ColonyPlan, keeper: Keeper, start: date, days: int, look: Look) -> Sheet:
    """The picture before it becomes a PNG."""
    end = start + timedelta(days=days)
    below = f"{plan.profile.name}, {say_day(start)} to {say_day(end - timedelta(days=1))}"
    sheet = new_sheet(plan.colony.name, below, HEIGHT, look)
    spans = [span for rest in plan.rests for span in rest.phases if span.start < end and span.end > start]
    _phases(add_axes(sheet, *PHASES), plan, spans, keeper, start, end, sheet.colours)
    rows = tuple(_rows(plan, start, end, sheet.colours))
    _care(add_axes(sheet, *CARE), rows, start, end, sheet.colours)
    light = _light(add_axes(sheet, *LIGHT), keeper, start, end, sheet.colours)
    alt = " ".join((_say_rest(plan, spans, keeper), _say_rhythm(rows), light))
    return Sheet(sheet.figure, sheet.colours, f"The year of {printable(plan.colony.name)}. {alt}")


@dataclass(frozen=True, slots=True)
class _Row:
    """Days on which one kind of care falls."""

    name: str
    days: tuple[date, ...]
    colour: str


def _phases(
    axes: Axes, plan: ColonyPlan, spans: Sequence[PhaseSpan], keeper: Keeper, start: date, end: date, colours: Colours
) -> None:
    """Coloured stretches with their names, and the band of nest temperatures through them."""
    day_ticks(axes, start, end, colours)
    axes.set_xticks([])
    say(axes, f"Phases, and nest temperature in °{keeper.units.value}", colours)
    axes.set_facecolor(colours.phases[Phase.ACTIVE])
    for span in spans:
        first, last = max(span.start, start), min(span.end, end)
        axes.axvspan(first.toordinal(), last.toordinal(), color=colours.phases[span.phase], linewidth=0, zorder=0.5)
    days = [start + timedelta(days=ahead) for ahead in range((end - start).days + 1)]
    shown = [band_in_units(_aim(plan, day), keeper.units) for day in days]
    places = [day.toordinal() for day in days]
    lows, highs = [band.low for band in shown], [band.high for band in shown]
    axes.fill_between(places, lows, highs, color=colours.ink, alpha=0.35, linewidth=0, label="temperature")
    axes.plot(places, highs, color=colours.ink, linewidth=2)
    axes.plot(places, lows, color=colours.ink, linewidth=2)
    bottom, top = min(lows), max(highs)
    height = max(top - bottom, TALLEST[keeper.units])
    floor = min(bottom, top - height) - 0.15 * height
    axes.set_ylim(floor, top + height)
    step = 5 if keeper.units is Units.CELSIUS else 10
    axes.set_yticks([mark for mark in range(-40, 121, step) if floor <= mark <= top + 0.5])
    for name, first, last in _named(spans, keeper, start, end):
        _name(axes, name, (first, last), (last - first) / (end - start), top + 0.12 * height, colours)


def _named(spans: Sequence[PhaseSpan], keeper: Keeper, start: date, end: date) -> Iterator[tuple[str, date, date]]:
    """Stretches with the words over them, cut to the picture; active ones lie between the others."""
    edge = start
    for span in sorted(spans, key=lambda span: span.start):
        if span.start > edge:
            yield Phase.ACTIVE.value, edge, span.start
        first, last = max(span.start, start), min(span.end, end)
        when = f"from {short_day(span.start)}" if span.start >= start else f"until {short_day(span.end)}"
        yield f"{span.phase.value}\n{say_temperatures(span.temperature_c, keeper.units)}\n{when}", first, last
        edge = max(edge, span.end)
    if edge < end:
        yield Phase.ACTIVE.value, edge, end


def _name(axes: Axes, words: str, stretch: tuple[date, date], share: float, height: float, colours: Colours) -> None:
    """Words over a stretch: across where it is wide, upwards where one line fits, nothing where none does."""
    middle = (stretch[0].toordinal() + stretch[1].toordinal()) / 2
    if share >= WIDE:
        axes.text(middle, height, words, size=SMALL, color=colours.ink, ha="center", va="bottom", linespacing=1.5)
    elif share >= NARROW:
        name = words.split("\n", maxsplit=1)[0]
        axes.text(middle, height, name, size=SMALL, color=colours.ink, ha="center", va="bottom", rotation=90)


def _aim(plan: ColonyPlan, day: date) -> Band:
    """Nest temperature to aim at: level in a phase, straight between them through both ramps."""
    active = active_band(plan.profile)
    rest = next((rest for rest in plan.rests if rest.span_on(day) is not None), None)
    span = None if rest is None else rest.span_on(day)
    if rest is None or span is None or span.phase in {Phase.WIND_DOWN, Phase.RESUME}:
        return active
    cold = next((other.temperature_c for other in rest.phases if other.phase is Phase.REST), span.temperature_c)
    done = (day - span.start) / (span.end - span.start)
    share = {Phase.COOL_DOWN: done, Phase.WARM_UP: 1 - done}.get(span.phase, 1.0)
    return Band(
        active.low + share * (cold.low - active.low),
        active.high + share * (cold.high - active.high),
    )


def _rows(plan: ColonyPlan, start: date, end: date, colours: Colours) -> Iterator[_Row]:
    found = [occurrence for occurrence in plan.occurrences if start <= occurrence.day < end]
    shades = {Duty.SUGAR: colours.sugar, Duty.PROTEIN: colours.protein}
    for duty in FOOD_ROWS:
        days = tuple(occurrence.day for occurrence in found if occurrence.duty is duty)
        if days:
            yield _Row(duty.value, days, shades.get(duty, colours.plant))
    for side in ("A", "B", None):
        days = tuple(
            occurrence.day
            for occurrence in found
            if occurrence.duty is Duty.WATER and occurrence.facts.get("side") == side
        )
        if days:
            yield _Row("water" if side is None else f"water {side}", days, colours.water)


def _care(axes: Axes, rows: Sequence[_Row], start: date, end: date, colours: Colours) -> None:
    """One row of strokes for each kind of care."""
    day_ticks(axes, start, end, colours)
    axes.set_xticks([])
    say(axes, "Food and water, one stroke for each time", colours)
    for place, row in enumerate(rows):
        days = [day.toordinal() for day in row.days]
        between = FRAME_POINTS * _usual(row.days) / (end - start).days if len(days) > 1 else FRAME_POINTS
        width = min(STROKE_POINTS, 0.5 * between)
        axes.vlines(days, place - 0.38, place + 0.38, colors=row.colour, linewidth=width, label=row.name)
    axes.set_ylim(max(len(rows), 3) - 0.4, -0.6)
    axes.set_yticks(range(len(rows)), [row.name for row in rows])
    if not rows:
        axes.text(
            0.5,
            0.5,
            "nothing planned in this time",
            transform=axes.transAxes,
            size=SMALL,
            color=colours.ink,
            ha="center",
        )


def _light(axes: Axes, keeper: Keeper, start: date, end: date, colours: Colours) -> str:
    """Hours from sunrise to sunset; returns the sentence about them."""
    day_ticks(axes, start, end, colours)
    say(axes, "Hours of daylight at your place", colours)
    if keeper.latitude is None:
        axes.set_yticks([])
        words = "not known: tell me your latitude"
        axes.text(0.5, 0.5, words, transform=axes.transAxes, size=SMALL, color=colours.ink, ha="center")
        return "The daylight of the place is not known."
    days = [start + timedelta(days=ahead) for ahead in range((end - start).days + 1)]
    hours = [day_length_hours(keeper.latitude, day) for day in days]
    places = [day.toordinal() for day in days]
    axes.fill_between(places, hours, color=colours.light, linewidth=0)
    axes.plot(places, hours, color=colours.ink, linewidth=2.5, label="daylight")
    axes.set_ylim(0, 25)
    axes.set_yticks([0, 8, 16, 24])
    return f"Daylight runs between {min(hours):.1f} and {max(hours):.1f} hours."


def _say_rest(plan: ColonyPlan, spans: Sequence[PhaseSpan], keeper: Keeper) -> str:
    rest = next((span for span in spans if span.phase is Phase.REST), None)
    if rest is None:
        without = [one.why for one in plan.rests if not one.phases]
        return without[0] if without else "No winter rest in this time."
    band = say_temperatures(rest.temperature_c, keeper.units)
    return f"It rests from {say_day(rest.start)} to {say_day(rest.end)} at {band}."


def _say_rhythm(rows: Sequence[_Row]) -> str:
    parts = [f"{row.name} about every {_usual(row.days):.0f} days" for row in rows if len(row.days) > 2]
    return f"While it is active: {', '.join(parts)}." if parts else "Little falls due in this time."


def _usual(days: Sequence[date]) -> float:
    return median((later - earlier).days for earlier, later in pairwise(days))
