"""The season of a community as a chart of weeks: how many colonies are in which phase, as far as that may be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from matplotlib.axes import Axes

from bot.adapters.pictures.look import SMALL, Colours, Sheet, add_axes, day_ticks, new_sheet, rendered, say, short_day
from bot.care.phase import Phase
from bot.care.season.community import Half
from bot.care.season.figures import FLOOR, WEEK, GroupFigures
from bot.services.pictures import Look, Picture

FIRST = 210
FRAME = 560
BETWEEN = 140
"""Top of the first frame, height of a frame, and room below it, in pixels."""
ROWS = (Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)
NAMES = {Phase.RESUME: "new season"}
TALLEST = 0.8
"""Share of a row that the tallest bar fills."""
Weeks = Mapping[Phase, Mapping[date, int]]


def draw_season(figures: Sequence[GroupFigures], today: date, look: Look = Look.LIGHT) -> Picture | None:
    """A frame for each half and season with figures, 1000 pixels wide; `None` when no week may be shown.

    Args:
        figures: what may be shown of a community.
        today: marked where it falls into a season.
        look: light or dark.
    """
    sheet = season_sheet(figures, today, look)
    return None if sheet is None else rendered(sheet, sheet.alt)


def season_sheet(figures: Sequence[GroupFigures], today: date, look: Look) -> Sheet | None:
    """The picture before it becomes a PNG."""
    seasons = {key: weeks for key, weeks in _seasons(figures).items() if any(weeks.values())}
    if not seasons:
        return None
    height = FIRST + len(seasons) * (FRAME + BETWEEN) - BETWEEN + 80
    below = f"Colonies in each phase, week by week; under {FLOOR} members: left out"
    sheet = new_sheet("The season here", below, height, look)
    sentences = []
    for place, ((half, year), weeks) in enumerate(sorted(seasons.items())):
        top = FIRST + place * (FRAME + BETWEEN)
        axes = add_axes(sheet, top, top + FRAME, left=0.22)
        say(axes, f"{half.value.capitalize()}, season of {year}", sheet.colours)
        _frame(axes, weeks, today, sheet.colours)
        sentences.append(f"{half.value.capitalize()}: {_said(weeks)}.")
    return Sheet(sheet.figure, sheet.colours, f"The season of a community. {' '.join(sentences)}")


def _seasons(figures: Sequence[GroupFigures]) -> Mapping[tuple[Half, int], Weeks]:
    """Weekly counts of all groups of a half and season together."""
    found: dict[tuple[Half, int], dict[Phase, dict[date, int]]] = {}
    for group in figures:
        season = found.setdefault((group.key.half, group.key.year), {phase: {} for phase in ROWS})
        for phase in ROWS:
            for week, count in group.weeks.get(phase, {}).items():
                season[phase][week] = season[phase].get(week, 0) + count
    return found


def _frame(axes: Axes, weeks: Weeks, today: date, colours: Colours) -> None:
    """A row of bars for each phase; the largest figure of a row stands beside its name."""
    every = [week for counts in weeks.values() for week in counts]
    day_ticks(axes, min(every), max(every) + WEEK, colours)
    most = max(count for counts in weeks.values() for count in counts.values())
    for row, phase in enumerate(ROWS):
        counts = weeks[phase]
        for week, count in counts.items():
            axes.bar(
                week.toordinal() + WEEK.days / 2,
                TALLEST * count / most,
                width=WEEK.days * 0.86,
                bottom=len(ROWS) - 1 - row,
                color=colours.phases[phase],
                edgecolor=colours.ink,
                linewidth=1.5,
            )
    axes.set_ylim(-0.05, len(ROWS))
    axes.set_yticks([len(ROWS) - 1 - row + 0.4 for row in range(len(ROWS))], [_name(phase, weeks) for phase in ROWS])
    if min(every) <= today <= max(every) + WEEK:
        axes.axvline(today.toordinal(), color=colours.ink, linewidth=2, linestyle=(0, (2, 3)))
        axes.text(today.toordinal(), len(ROWS), " today", size=SMALL, color=colours.ink, va="top")


def _name(phase: Phase, weeks: Weeks) -> str:
    name = NAMES.get(phase, phase.value)
    return f"{name}\nup to {max(weeks[phase].values()):,}" if weeks[phase] else f"{name}\n–"


def _said(weeks: Weeks) -> str:
    parts = []
    for phase in ROWS:
        if weeks[phase]:
            first, last = min(weeks[phase]), max(weeks[phase]) + timedelta(days=6)
            most = max(weeks[phase].values())
            parts.append(f"{NAMES.get(phase, phase.value)} {short_day(first)} to {short_day(last)}, at most {most:,}")
    return "; ".join(parts)
