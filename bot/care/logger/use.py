"""What a colony's plan takes from a logger in place of assumptions: the room while active, the place of rest in a rest.

Readings of a rest never count for the room, nor those of the active season for the place of rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from bot.care.colony import Colony
from bot.care.logger.readings import Evaluation, Quantity, recent_mean
from bot.care.phase import Phase, RestPlan
from bot.care.place import Place

ROOM_PHASES = frozenset({Phase.ACTIVE, Phase.WIND_DOWN, Phase.RESUME})


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Values that may replace assumed ones; `None`: nothing was measured for it. Temperatures in C, humidity in %."""

    room_c: float | None = None
    humidity_percent: float | None = None
    rest_low_c: float | None = None
    rest_high_c: float | None = None

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
        """The colony with what was measured where it rests."""
        if self.rest_low_c is None or self.rest_high_c is None:
            return colony
        return replace(colony, rest=replace(colony.rest, place_low_c=self.rest_low_c, place_high_c=self.rest_high_c))


def measured(found: Mapping[Quantity, Evaluation], rests: Sequence[RestPlan]) -> Measured:
    """Values from the whole days of each phase; means for the room, the lowest and highest reading days for a rest."""

    def phase(day: date) -> Phase:
        return next((span.phase for rest in rests if (span := rest.span_on(day)) is not None), Phase.ACTIVE)

    def in_room(day: date) -> bool:
        return phase(day) in ROOM_PHASES

    warmth, humidity = found.get(Quantity.TEMPERATURE), found.get(Quantity.HUMIDITY)
    resting = [] if warmth is None else [day for day in warmth.days if day.whole and phase(day.day) is Phase.REST]
    return Measured(
        room_c=None if warmth is None else recent_mean(warmth, in_room),
        humidity_percent=None if humidity is None else recent_mean(humidity, in_room),
        rest_low_c=round(min(day.low for day in resting), 1) if resting else None,
        rest_high_c=round(max(day.high for day in resting), 1) if resting else None,
    )
