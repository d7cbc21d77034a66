"""The season of a community as a chart of weeks: how many colonies are in which phase, as far as that may be shown."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from matplotlib.axes import Axes

from bot.adapters.pictures.look import (
    SMALL,
    Colours,
    Sheet,
    add_axes,
    capital,
    day_ticks,
    new_sheet,
    rendered,
    say,
    today_line,
)
from bot.care.phase import Phase
from bot.care.season.community import Half
from bot.care.season.figures import FLOOR, WEEK, GroupFigures
from bot.care.season.language import SeasonWords
from bot.services.pictures import Look, Picture

FIRST = 210
FRAME = 560
BETWEEN = 140
"""Top of the first frame, height of a frame, and room below it, in pixels."""
ROWS = (Phase.WIND_DOWN, Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP, Phase.RESUME)
NAMES_SHARE = 0.26
"""Share of the width that the names of phases take, in the longest language."""
TALLEST = 0.8
"""Share of a row that the tallest bar fills."""
Weeks = Mapping[Phase, Mapping[date, int]]


def draw_season(
    figures: Sequence[GroupFigures], today: date, words: SeasonWords, look: Look = Look.LIGHT
) -> Picture | None:
    """A frame for each half and season with figures, 1000 pixels wide; `None` when no week may be shown.

    Args:
        figures: what may be shown of a community.
        today: marked where it falls into a season.
        words: the language.
        look: light or dark.
    """
    sheet = season_sheet(figures, today, words, look)
    return None if sheet is None else rendered(sheet, sheet.alt)


def season_sheet(figures: Sequence[GroupFigures], today: date, words: SeasonWords, look: Look) -> Sheet | None:
    """The picture before it becomes a PNG."""
    seasons = {key: weeks for key, weeks in _seasons(figures).items() if any(weeks.values())}
    if not seasons:
        return None
    height = FIRST + len(seasons) * (FRAME + BETWEEN) - BETWEEN + 80
    said = words.picture
    sheet = new_sheet(said.title, said.below.format(floor=FLOOR), height, look)
    sentences = []
    for place, ((half, year), weeks) in enumerate(sorted(seasons.items())):
        top = FIRST + place * (FRAME + BETWEEN)
        axes = add_axes(sheet, top, top + FRAME, left=NAMES_SHARE)
        say(axes, said.frame.format(half=capital(words.half[half]), year=year), sheet.colours)
        _frame(axes, weeks, today, sheet.colours, words)
        sentences.append(f"{capital(words.half[half])}: {_said(weeks, words)}.")
    return Sheet(sheet.figure, sheet.colours, f"{said.about} {' '.join(sentences)}")


def _seasons(figures: Sequence[GroupFigures]) -> Mapping[tuple[Half, int], Weeks]:
    """Weekly counts of all groups of a half and season together."""
    found: dict[tuple[Half, int], dict[Phase, dict[date, int]]] = {}
    for group in figures:
        season = found.setdefault((group.key.half, group.key.year), {phase: {} for phase in ROWS})
        for phase in ROWS:
            for week, count in group.weeks.get(phase, {}).items():
                season[phase][week] = season[phase].get(week, 0) + count
    return found


def _frame(axes: Axes, weeks: Weeks, today: date, colours: Colours, words: SeasonWords) -> None:
    """A row of bars for each phase; the largest figure of a row stands beside its name."""
    every = [week for counts in weeks.values() for week in counts]
    day_ticks(axes, min(every), max(every) + WEEK, colours, words.short_months)
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
    names = [_name(phase, weeks, words) for phase in ROWS]
    axes.set_yticks([len(ROWS) - 1 - row + 0.4 for row in range(len(ROWS))], names)
    if min(every) <= today <= max(every) + WEEK:
        today_line(axes, today, colours)
        axes.text(today.toordinal(), len(ROWS), f" {words.picture.today}", size=SMALL, color=colours.ink, va="top")


def _name(phase: Phase, weeks: Weeks, words: SeasonWords) -> str:
    if not weeks[phase]:
        return f"{words.phase[phase]}\n–"
    return f"{words.phase[phase]}\n{words.picture.up_to.format(count=words.number(max(weeks[phase].values())))}"


def _said(weeks: Weeks, words: SeasonWords) -> str:
    return "; ".join(
        words.picture.row.format(
            phase=words.phase[phase],
            first=words.short_day(min(weeks[phase])),
            last=words.short_day(max(weeks[phase]) + timedelta(days=6)),
            count=words.number(max(weeks[phase].values())),
        )
        for phase in ROWS
        if weeks[phase]
    )
