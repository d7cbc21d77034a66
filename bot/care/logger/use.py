"""What a colony's plan takes from a logger in place of assumptions, by the spot where it lay.

The room speaks for the room, the warm wall for the heater's wall, the place of rest for the rest; nest and outworld
are as warm as the room only where nothing heats them. Readings of a rest never count for the room, nor those of the
active season for a wall in winter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from bot.care.colony import Colony
from bot.care.logger.readings import Evaluation, Quantity, recent_mean
from bot.care.logger.spot import LIKE_THE_ROOM, Spot
from bot.care.phase import Phase, RestPlan
from bot.care.place import Place

ROOM_PHASES = frozenset({Phase.ACTIVE, Phase.WIND_DOWN, Phase.RESUME})
REST_DAYS = 60
"""Newest whole days by which a place of rest is judged before the rest begins (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Values that may replace assumed ones; `None`: nothing was measured for it. Temperatures in C, humidity in %."""

    room_c: float | None = None
    humidity_percent: float | None = None
    rest_low_c: float | None = None
    rest_high_c: float | None = None
    wall_c: float | None = None

    @property
    def empty(self) -> bool:
        """Whether nothing would change."""
        return self == Measured()

    def place(self, place: Place) -> Place:
        """The place with what was measured in the room.

        Raises:
            BadValueError: a logger that saw what no room of a colony is like.
        """
        return replace(
            place,
            temperature_c=place.temperature_c if self.room_c is None else self.room_c,
            humidity_percent=place.humidity_percent if self.humidity_percent is None else self.humidity_percent,
        )

    def colony(self, colony: Colony) -> Colony:
        """The colony with what was measured where it rests, and at its heater's wall."""
        if self.rest_low_c is not None and self.rest_high_c is not None:
            rest = replace(colony.rest, place_low_c=self.rest_low_c, place_high_c=self.rest_high_c)
            colony = replace(colony, rest=rest)
        if self.wall_c is not None and colony.heater is not None:
            colony = replace(colony, heater=replace(colony.heater, hot_c=self.wall_c))
        return colony


def measured(found: Mapping[Quantity, Evaluation], rests: Sequence[RestPlan], spot: Spot, *, heated: bool) -> Measured:
    """Values from whole days: means while active; for a rest its lowest and highest readings.

    Args:
        found: what was read.
        rests: the rests around the days that were measured.
        spot: where the logger lay.
        heated: whether the colony has a heater.
    """

    def phase(day: date) -> Phase:
        return next((span.phase for rest in rests if (span := rest.span_on(day)) is not None), Phase.ACTIVE)

    warmth, humidity = found.get(Quantity.TEMPERATURE), found.get(Quantity.HUMIDITY)
    if spot is Spot.REST:
        return _resting(warmth, phase)
    active = None if warmth is None else recent_mean(warmth, lambda day: phase(day) in ROOM_PHASES)
    if spot is Spot.WARM_WALL:
        return Measured(wall_c=active if heated else None)
    if spot in LIKE_THE_ROOM:
        return Measured(room_c=None if heated else active)
    air = None if humidity is None else recent_mean(humidity, lambda day: phase(day) in ROOM_PHASES)
    return Measured(room_c=active, humidity_percent=air)


def _resting(warmth: Evaluation | None, phase: Callable[[date], Phase]) -> Measured:
    """Lowest and highest where it rests: of the days of rest, or before any of the newest days."""
    whole = [] if warmth is None else [day for day in warmth.days if day.whole]
    resting = [day for day in whole if phase(day.day) is Phase.REST] or whole[-REST_DAYS:]
    if not resting:
        return Measured()
    return Measured(
        rest_low_c=round(min(day.low for day in resting), 1), rest_high_c=round(max(day.high for day in resting), 1)
    )
