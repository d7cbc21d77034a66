"""The look of our pictures: warm paper or dark earth, one colour and one mark for each thing, letters for a phone.

A picture is 1000 pixels wide and shown about 360 points wide, so letters of 25 pixels come out at nine points. Colours
are our own choice; tests hold them to the contrast of WCAG 2.1 and to distances under simulated colour blindness.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from io import BytesIO
from pathlib import Path
from threading import Lock
from types import MappingProxyType

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ft2font import FT2Font

from bot.care.phase import Phase
from bot.care.units import Band, Units, fahrenheit
from bot.services.pictures import Look, Picture

WIDTH = 1000
DPI = 100
SMALL = 18.0
"""Points; the least size of any letter (25 pixels)."""
TITLE = 25.0
LEFT, RIGHT = 0.16, 0.96
MONTHS = (
    "January February March April May June July August September October November December".split()  # noqa: SIM905 - a line
)
SHORT_MONTHS = tuple(month[:3] for month in MONTHS)
FONT = FT2Font(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"))
_DRAWING = Lock()
"""The drawing library shares fonts and caches between figures; only one thread draws at a time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Colours:
    """Paper, ink and one colour for each thing that is drawn."""

    paper: str
    ink: str
    faint: str
    """Grid and frames: decoration only."""
    sugar: str
    protein: str
    plant: str
    water: str
    warm: str
    """Too warm, refused, too much."""
    wanted: str
    """The band that is wanted."""
    light: str
    """Daylight."""
    phases: Mapping[Phase, str]
    """From active to rest, one hue that runs from pale to deep."""


LOOKS: Mapping[Look, Colours] = MappingProxyType(
    {
        Look.LIGHT: Colours(
            paper="#fbf6ec",
            ink="#2a241d",
            faint="#d9cfbd",
            sugar="#b26a00",
            protein="#7d1d4d",
            plant="#33691e",
            water="#1460a8",
            warm="#b3261e",
            wanted="#cfe0d2",
            light="#f3d98b",
            phases=MappingProxyType(
                {
                    Phase.ACTIVE: "#efe3c8",
                    Phase.WIND_DOWN: "#d6d9cf",
                    Phase.COOL_DOWN: "#a9bfd0",
                    Phase.REST: "#6f97bd",
                    Phase.WARM_UP: "#a9bfd0",
                    Phase.RESUME: "#d6d9cf",
                }
            ),
        ),
        Look.DARK: Colours(
            paper="#1d1a16",
            ink="#f2eadb",
            faint="#4a4237",
            sugar="#f2b04c",
            protein="#e68bb4",
            plant="#9ccc65",
            water="#6fb5f2",
            warm="#ff8a75",
            wanted="#2c4534",
            light="#6b5a24",
            phases=MappingProxyType(
                {
                    Phase.ACTIVE: "#3a3122",
                    Phase.WIND_DOWN: "#36424a",
                    Phase.COOL_DOWN: "#33506b",
                    Phase.REST: "#2f638f",
                    Phase.WARM_UP: "#33506b",
                    Phase.RESUME: "#36424a",
                }
            ),
        ),
    }
)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A figure with its colours, and the words for those who cannot see it."""

    figure: Figure
    colours: Colours
    alt: str


def new_sheet(title: str, below: str, height: int, look: Look) -> Sheet:
    """An empty sheet, `WIDTH` by `height` pixels, with a title and a line below it."""
    colours = LOOKS[look]
    figure = Figure(figsize=(WIDTH / DPI, height / DPI), dpi=DPI, facecolor=colours.paper)
    FigureCanvasAgg(figure)
    top = 1 - 30 / height
    figure.text(0.04, top, printable(title), size=TITLE, weight="bold", color=colours.ink, va="top", parse_math=False)
    figure.text(0.04, top - 52 / height, printable(below), size=SMALL, color=colours.ink, va="top", parse_math=False)
    return Sheet(figure, colours, "")


def add_axes(sheet: Sheet, top: float, bottom: float, left: float = LEFT) -> Axes:
    """A frame between two heights, in pixels from the top of the sheet; only the lower line is drawn."""
    height = sheet.figure.get_figheight() * DPI
    axes = sheet.figure.add_axes((left, 1 - bottom / height, RIGHT - left, (bottom - top) / height))
    axes.set_facecolor(sheet.colours.paper)
    for side, spine in axes.spines.items():
        spine.set_visible(side == "bottom")
        spine.set_color(sheet.colours.faint)
    axes.tick_params(colors=sheet.colours.ink, labelsize=SMALL, length=0, pad=8)
    axes.grid(visible=False)
    return axes


def say(axes: Axes, words: str, colours: Colours) -> None:
    """A heading above a frame, at its left edge."""
    axes.set_title(words, loc="left", size=SMALL, color=colours.ink, pad=10, parse_math=False)


def rendered(sheet: Sheet, alt: str) -> Picture:
    """The PNG of a sheet."""
    with _DRAWING, BytesIO() as file:
        sheet.figure.savefig(file, format="png", facecolor=sheet.figure.get_facecolor())
        png = file.getvalue()
    width, height = sheet.figure.get_size_inches() * DPI
    return Picture(png, alt, round(width), round(height))


def printable(text: str) -> str:
    """The text without letters that the font lacks, which would come out as boxes."""
    kept = "".join(letter for letter in text if letter == " " or FONT.get_char_index(ord(letter)) != 0)
    return " ".join(kept.split()) or "your colony"


def say_day(day: date) -> str:
    """`3 January 2027`, whatever the language of the host."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def capital(text: str) -> str:
    """The first letter large, the rest as it is."""
    return text[:1].upper() + text[1:]


def short_day(day: date) -> str:
    """`3 Jan`."""
    return f"{day.day} {SHORT_MONTHS[day.month - 1]}"


def in_units(value_c: float, units: Units) -> float:
    """A temperature on the keeper's scale."""
    return value_c if units is Units.CELSIUS else fahrenheit(value_c)


def band_in_units(band: Band, units: Units) -> Band:
    """A band of temperatures on the keeper's scale."""
    return Band(in_units(band.low, units), in_units(band.high, units))


def day_ticks(axes: Axes, start: date, end: date, colours: Colours, months: Sequence[str] = SHORT_MONTHS) -> None:
    """Day ordinals on the lower axis: months for long stretches, else days, never more than nine labels."""
    days = (end - start).days
    axes.set_xlim(start.toordinal() - days / 200, end.toordinal() + days / 200)
    if days > 75:
        firsts = [date(start.year + step // 12, step % 12 + 1, 1) for step in range(start.month, start.month + 60)]
        inside = [day for day in firsts if start <= day < end]
        every = -(-len(inside) // 7)
        marks = inside[::every]
        labels = [months[day.month - 1] + (f"\n{day.year}" if _first_of_year(day, marks) else "") for day in marks]
    else:
        every = max(1, -(-days // 6))
        marks = [
            date.fromordinal(start.toordinal() + step) for step in range(0, days + 1, every) if step <= 0.97 * days
        ]
        labels = [f"{day.day} {months[day.month - 1]}" for day in marks]
    axes.set_xticks([day.toordinal() for day in marks], labels)
    for day in marks:
        axes.axvline(day.toordinal(), color=colours.faint, linewidth=1, zorder=0)


def today_line(axes: Axes, today: date, colours: Colours) -> None:
    """A dotted upright line where today is."""
    axes.axvline(today.toordinal(), color=colours.ink, linewidth=2, linestyle=(0, (2, 3)), label="today")


def _first_of_year(day: date, marks: list[date]) -> bool:
    return next(mark for mark in marks if mark.year == day.year) == day
