"""One colony on one day, with everything an engine may look at; and the advice an engine gives back.

Each engine offers functions `advise_<duty>(situation) -> Advice | None`; `agenda.py` calls them and turns advice into
dated occurrences. `None` means: this duty does not exist for this colony in this phase.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property

from bot.care.colony import Colony
from bot.care.duty import Duty, Input, Urgency, Why
from bot.care.handbook import Handbook
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.place import Keeper, Place
from bot.care.species import SpeciesProfile
from bot.care.units import Band, say_temperature

DEFAULT_ROOM_C = 22.0
"""Heated room where the keeper has not said (common practice)."""


@dataclass(frozen=True, kw_only=True)
class Situation:
    """A colony on `day`. `done` holds the last day of each duty, from the log or, ahead of it, from the plan itself.

    What follows from the day is worked out once, for the engines ask again and again.
    `offered` holds the days on which the plan itself offered a food ahead of the log, by the food's id.
    """

    colony: Colony
    profile: SpeciesProfile
    place: Place
    keeper: Keeper
    handbook: Handbook
    day: date
    rest: RestPlan
    done: Mapping[Duty, date] = field(default_factory=dict)
    offered: Mapping[str, date] = field(default_factory=dict)
    heater_in_doubt: bool = False
    """The rest runs by the calendar alone, and nobody said that the heater is off."""

    @cached_property
    def span(self) -> PhaseSpan | None:
        """The span of the winter rest that holds this day; `None` while active."""
        return self.rest.span_on(self.day)

    @cached_property
    def phase(self) -> Phase:
        """The phase of the colony's year on this day."""
        return Phase.ACTIVE if self.span is None else self.span.phase

    @property
    def kept_warm(self) -> Situation:
        """The same day as if no rest ran."""
        return replace(self, rest=replace(self.rest, phases=()), heater_in_doubt=False)

    @property
    def phase_day(self) -> int:
        """Days since the running phase began; 0 on its first day and while active."""
        return 0 if self.span is None else (self.day - self.span.start).days

    @cached_property
    def room_c(self) -> float:
        """Air temperature around the nest: the phase's target in a winter rest, else the room's, else the default."""
        return self.room_c_on(self.day)

    def room_c_on(self, day: date) -> float:
        """The same on another day of this plan."""
        span = self.rest.span_on(day)
        if span is not None and span.phase is not Phase.ACTIVE:
            return span.temperature_c.middle
        return DEFAULT_ROOM_C if self.place.temperature_c is None else self.place.temperature_c

    @cached_property
    def warm_c(self) -> float:
        """Temperature at the warm end: the heater's wall in the active season, else the room."""
        heater = self.colony.heater
        if heater is None or self.phase is not Phase.ACTIVE:
            return self.room_c
        if heater.hot_c is not None:
            return heater.hot_c
        kind = self.handbook.heaters.get(heater.kind)
        rise = 0.0 if kind is None or kind.assumed_rise_c is None else kind.assumed_rise_c
        return self.room_c + rise

    @cached_property
    def room_input(self) -> Input:
        """The room temperature as an input of an explanation."""
        defaulted = self.phase is Phase.ACTIVE and self.place.temperature_c is None
        return Input("room temperature", say_temperature(self.room_c, self.keeper.units), defaulted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What an engine says about one duty: how often, how sure, why.

    `interval_days` counts from the last time the duty was done; `first_after_days` from the start of the plan when it
    was never done. `band_days` is the 80 % band around the interval, in days.
    """

    duty: Duty
    interval_days: float
    band_days: Band
    reason: str
    why: Why
    first_after_days: float = 0
    urgency: Urgency = Urgency.ROUTINE
    useful_days: int = 3
    facts: Mapping[str, float | str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
