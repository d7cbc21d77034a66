"""Water of a nest: how each side dries, with the 80 % band, when it is nearly dry, and which side gets water next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
    printable,
    rendered,
    say,
    say_day,
    short_day,
    today_line,
)
from bot.care.agenda import ColonyPlan
from bot.care.colony import NestKind, Side
from bot.care.duty import Duty, Occurrence
from bot.care.handbook import Handbook
from bot.care.physics.drying import water_curve
from bot.care.place import Keeper, Place
from bot.care.rest.plan import plan_rest
from bot.care.situation import Situation
from bot.care.water.advice import forecast_drying, learned_from_log
from bot.care.water.log import visits
from bot.care.water.nest import DryingForecast
from bot.services.pictures import Look, Picture

FRAMES = ((200, 520), (640, 960))
ONE_FRAME = ((200, 860),)
BACK_DAYS = 45
"""Waterings longer ago are not drawn."""
LEAST_AHEAD_DAYS = 7


def draw_water(
    plan: ColonyPlan, keeper: Keeper, place: Place, handbook: Handbook, today: date, *, look: Look = Look.LIGHT
) -> Picture:
    """Both sides of a nest, or the one tube, around today: 1000 x 1060 pixels, a tube 1000 x 960."""
    sheet = water_sheet(plan, keeper, place, handbook, today, look)
    return rendered(sheet, sheet.alt)


def water_sheet(plan: ColonyPlan, keeper: Keeper, place: Place, handbook: Handbook, today: date, look: Look) -> Sheet:
    """The picture before it becomes a PNG."""
    situation = Situation(
        colony=plan.colony, profile=plan.profile, place=place, keeper=keeper, handbook=handbook, day=today,
        rest=plan_rest(plan.colony, plan.profile, place, keeper, handbook, today),
    )  # fmt: skip
    forecast = forecast_drying(situation, learned_from_log(situation))
    tube = plan.colony.nest.kind is NestKind.TUBE
    ahead = [found for found in plan.occurrences if found.duty is Duty.WATER and found.day >= today]
    past = _filled(situation) if tube else tuple(_givings(situation))
    water = _Water(forecast, past, _next(ahead), today)
    words = water.words(tube=tube)
    sheet = new_sheet(plan.colony.name, capital(words), 960 if tube else 1060, look)
    sides = (None,) if tube else tuple(Side)
    for side, (top, bottom) in zip(sides, ONE_FRAME if tube else FRAMES, strict=True):
        axes = add_axes(sheet, top, bottom)
        _side(axes, water, side, sheet.colours)
        if side is not None and side is not sides[-1]:
            axes.set_xticklabels([])
    return Sheet(
        sheet.figure, sheet.colours, f"Water of {printable(plan.colony.name)}: {words}. {water.said(tube=tube)}"
    )


@dataclass(frozen=True, slots=True)
class _Giving:
    """Water given to a side on a day; a tube has no side."""

    day: date
    side: Side | None


@dataclass(frozen=True, slots=True)
class _Next:
    """The next watering as planned, with its band of days."""

    giving: _Giving
    earliest: date
    latest: date


@dataclass(frozen=True, slots=True)
class _Water:
    """What is drawn: the forecast, past waterings oldest first, the next one, and today."""

    forecast: DryingForecast
    past: tuple[_Giving, ...]
    next: _Next | None
    today: date

    @property
    def start(self) -> date:
        return min([giving.day for giving in self.past] + [self.today]) - timedelta(days=1)

    @property
    def end(self) -> date:
        last = self.next.giving.day if self.next is not None else self.today
        return last + timedelta(days=max(LEAST_AHEAD_DAYS, round(self.forecast.late)))

    def givings(self, side: Side | None) -> list[_Giving]:
        """Past and next waterings of a side."""
        swap = [self.next.giving] if self.next is not None and side is not None else []
        return [giving for giving in (*self.past, *swap) if giving.side is side]

    def words(self, *, tube: bool) -> str:
        """Who gets water next, and when."""
        if self.next is None:
            return "no watering planned in this time"
        what = (
            f"full on {short_day(self.past[-1].day)}; look at it"
            if tube
            else f"water side {self.next.giving.side} next"
        )
        return f"{what}, {say_day(self.next.giving.day)}{self._between()}"

    def _between(self) -> str:
        if self.next is None or self.next.earliest == self.next.latest:
            return ""
        return f" ({short_day(self.next.earliest)} – {short_day(self.next.latest)})"

    def said(self, *, tube: bool) -> str:
        """The forecast in a sentence."""
        found = self.forecast
        what = "The tube" if tube else "A side"
        band = f"between {found.early:.0f} and {found.late:.0f}"
        return f"{what} is nearly dry about {found.days:.0f} days after watering, {band}."


def _givings(situation: Situation) -> Iterator[_Giving]:
    for visit in visits(situation.colony):
        if visit.watered and 0 <= (situation.day - visit.day).days <= BACK_DAYS:
            yield _Giving(visit.day, visit.side)


def _filled(situation: Situation) -> tuple[_Giving, ...]:
    """When a tube was full: at the last logged watering, else when the colony moved in, else taken to be today."""
    watered = [visit.day for visit in visits(situation.colony) if visit.watered and visit.day <= situation.day]
    full = watered[-1] if watered else situation.colony.nest.changed or situation.day
    return (_Giving(max(full, situation.day - timedelta(days=4 * BACK_DAYS)), None),)


def _next(ahead: Sequence[Occurrence]) -> _Next | None:
    if not ahead:
        return None
    side = ahead[0].facts.get("side")
    return _Next(_Giving(ahead[0].day, Side(str(side)) if side else None), ahead[0].earliest, ahead[0].latest)


def _side(axes: Axes, water: _Water, side: Side | None, colours: Colours) -> None:
    """One side: its drying from each watering to the next, the limit, and what comes."""
    day_ticks(axes, water.start, water.end, colours)
    found = water.forecast
    name = "Water in the tube, ml" if side is None else f"Side {side}, ml of water"
    say(axes, name, colours)
    axes.set_ylim(0, found.water_ml * 1.35)
    givings = water.givings(side)
    for place, giving in enumerate(givings):
        until = givings[place + 1].day if place + 1 < len(givings) else water.end
        _dries(axes, giving.day, until, found, colours, ahead=water.next is not None and giving is water.next.giving)
    limit = found.dry_share * found.water_ml
    axes.axhline(limit, color=colours.warm, linewidth=2, linestyle=(0, (6, 4)), label="nearly dry")
    left = 0.3 if side is None else 0.01
    axes.text(left, limit, "nearly dry", transform=axes.get_yaxis_transform(), size=SMALL, color=colours.warm,
              va="bottom")  # fmt: skip
    today_line(axes, water.today, colours)
    if side is Side.A:
        axes.annotate(
            "today", (water.today.toordinal(), 1), xycoords=("data", "axes fraction"), xytext=(8, -22),
            textcoords="offset points", size=SMALL, color=colours.ink,
        )  # fmt: skip
    if not givings:
        words = "dry: no watering in the last weeks" if water.past else "no watering logged yet"
        axes.text(0.5, 0.5, words, transform=axes.transAxes, size=SMALL, color=colours.ink, ha="center")
    if water.next is not None and water.next.giving.side is side:
        day = water.next.giving.day
        word = "look" if side is None else "next"
        if side is None:
            axes.axvline(day.toordinal(), color=colours.water, linewidth=3, linestyle=(0, (5, 2)), label="next look")
        right = (day - water.start) > (water.end - water.start) * 0.6
        axes.annotate(
            f"{word}: {short_day(day)}", (day.toordinal(), found.water_ml), xytext=(-10 if right else 10, 8),
            textcoords="offset points", size=SMALL, weight="bold", color=colours.water, ha="right" if right else "left",
        )  # fmt: skip


def _dries(axes: Axes, start: date, until: date, found: DryingForecast, colours: Colours, *, ahead: bool) -> None:
    """The curve from one watering to the next, with its band; what lies ahead is broken, its start is hollow."""
    span = max((until - start).days, 1)
    courses = [
        [
            (start.toordinal() + day, share * found.water_ml)
            for day, share in water_curve(days, found.stage_two_share, found.dry_share, span)
        ]
        for days in (found.early, found.days, found.late)
    ]
    places = [day for day, _ in courses[1]]
    low, middle, high = ([level for _, level in course] for course in courses)
    axes.fill_between(places, low, high, color=colours.water, alpha=0.22, linewidth=0, label="80 % band")
    style = (0, (5, 2)) if ahead else "solid"
    axes.plot(places, middle, color=colours.water, linewidth=3.5, linestyle=style, label="water")
    face = colours.paper if ahead else colours.water
    axes.plot(
        [start.toordinal()], [found.water_ml], marker="o", markersize=13, color=colours.water, markerfacecolor=face,
        markeredgewidth=3, label="watering",
    )  # fmt: skip
