"""Foods a colony liked and refused: how often each was taken, half taken or left, out of its own log."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from bot.adapters.pictures.look import SMALL, Colours, Sheet, add_axes, new_sheet, printable, rendered
from bot.care.colony import Colony
from bot.care.duty import Outcome
from bot.care.goods import Food
from bot.services.pictures import Look, Picture

MOST_FOODS = 10
"""Foods shown; those offered most often."""
ROW = 74
TOP = 230
LETTERS_A_LINE = 21
LIKED = frozenset({Outcome.TAKEN, Outcome.GONE_QUICKLY})


@dataclass(frozen=True, slots=True)
class Liking:
    """How often a food was taken, half taken and refused."""

    name: str
    taken: int
    half: int
    refused: int

    @property
    def offered(self) -> int:
        """Offers with an answer."""
        return self.taken + self.half + self.refused


def draw_foods(colony: Colony, foods: Mapping[str, Food], look: Look = Look.LIGHT) -> Picture | None:
    """Liked and refused foods, 1000 pixels wide and as high as needed; `None` when no outcome names a food."""
    sheet = foods_sheet(colony, foods, look)
    return None if sheet is None else rendered(sheet, sheet.alt)


def foods_sheet(colony: Colony, foods: Mapping[str, Food], look: Look) -> Sheet | None:
    """The picture before it becomes a PNG."""
    found = likings(colony, foods)[:MOST_FOODS]
    if not found:
        return None
    bottom = TOP + ROW * max(len(found), 2)
    sheet = new_sheet(colony.name, "Foods, by how often they were taken or refused", bottom + 110, look)
    _bars(add_axes(sheet, TOP, bottom, left=0.36), found, sheet.colours)
    words = "; ".join(
        f"{one.name} taken {one.taken}, half taken {one.half}, refused {one.refused} times" for one in found
    )
    return Sheet(sheet.figure, sheet.colours, f"Foods of {printable(colony.name)}: {words}.")


def likings(colony: Colony, foods: Mapping[str, Food]) -> list[Liking]:
    """Foods with an outcome in the log, best liked first among those offered most often."""
    counted: dict[str, list[int]] = {}
    for entry in colony.log:
        place = 0 if entry.outcome in LIKED else {Outcome.HALF_TAKEN: 1, Outcome.REFUSED: 2}.get(entry.outcome)
        if entry.food is not None and place is not None:
            counted.setdefault(entry.food, [0, 0, 0])[place] += 1
    often = sorted(counted, key=lambda food: -sum(counted[food]))[:MOST_FOODS]
    found = [Liking(_name(food, foods), *counted[food]) for food in often]
    return sorted(found, key=lambda one: (one.refused - one.taken) / one.offered)


def _name(food: str, foods: Mapping[str, Food]) -> str:
    return printable(foods[food].name if food in foods else food)


def _wrapped(name: str) -> str:
    """A name on at most two lines."""
    return "\n".join(wrap(name, LETTERS_A_LINE, max_lines=2, placeholder=" …"))


def _bars(axes: Axes, found: list[Liking], colours: Colours) -> None:
    """Taken to the right, refused to the left, half taken across the middle."""
    places = range(len(found))
    half = [one.half / 2 for one in found]
    refused, left = [-one.refused for one in found], [-side for side in half]
    marks: dict[str, Any] = {"edgecolor": colours.paper, "linewidth": 2, "height": 0.66}
    axes.barh(places, refused, left=left, color=colours.warm, hatch="//", label="refused", **marks)
    middle = marks | {"edgecolor": colours.ink, "hatch": ".."}
    axes.barh(places, [one.half for one in found], left=left, color=colours.faint, label="half taken", **middle)
    axes.barh(places, [one.taken for one in found], left=half, color=colours.plant, label="taken", **marks)
    most = max(one.taken + one.half / 2 for one in found), max(one.refused + one.half / 2 for one in found)
    axes.set_xlim(-max(most[1], 1) * 1.12, max(most[0], 1) * 1.12)
    axes.xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.xaxis.set_major_formatter(lambda value, _: f"{abs(value):.0f}")
    axes.set_yticks(list(places), [_wrapped(one.name) for one in found], parse_math=False)
    axes.set_ylim(len(found) - 0.5, -0.5)
    axes.axvline(0, color=colours.ink, linewidth=2)
    axes.set_xlabel("times; refused to the left, taken to the right", size=SMALL, color=colours.ink, labelpad=10)
    axes.legend(
        loc="lower center", bbox_to_anchor=(0.3, 1.0), ncols=3, fontsize=SMALL, frameon=False, labelcolor=colours.ink,
        handlelength=1.0, columnspacing=1.2,
    )  # fmt: skip
