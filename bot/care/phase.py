"""Phases of a keeper's winter rest, and the calendar of one rest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from bot.care.duty import Duty, Why
from bot.care.units import Band


class Phase(StrEnum):
    """Where a colony stands in its year. `ACTIVE` is everything outside a rest."""

    ACTIVE = "active"
    WIND_DOWN = "wind-down"
    COOL_DOWN = "cool-down"
    REST = "rest"
    WARM_UP = "warm-up"
    RESUME = "resume"


COLD_PHASES = frozenset({Phase.COOL_DOWN, Phase.REST, Phase.WARM_UP})
"""Phases in which the nest stands in the cold: no food, and it dries slowly, so half the water."""


@dataclass(frozen=True, slots=True)
class PhaseSpan:
    """One phase from `start` up to and without `end`, with the nest temperature to aim at (C)."""

    phase: Phase
    start: date
    end: date
    temperature_c: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class RestPlan:
    """The winter rest of one colony around a day, or the reason why there is none.

    `phases` is empty when `needed` is false. `problems` are sentences such as a place that is too warm. `gates` name
    what must be seen before a phase may end, in plain words, by phase.
    """

    needed: bool
    why: str
    explained: Why
    phases: tuple[PhaseSpan, ...] = ()
    gates: Mapping[Phase, str] = field(default_factory=dict)
    problems: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    told: frozenset[Duty] = frozenset()
    """Steps that the keeper logged; the dates of all others are the calendar's."""

    def span_on(self, day: date) -> PhaseSpan | None:
        """The span that holds a day; `None` while the colony is active."""
        for span in self.phases:  # asked thousands of times a plan: a plain loop is the fastest
            if span.start <= day < span.end:
                return span
        return None

    def phase_on(self, day: date) -> Phase:
        """The phase on a day."""
        span = self.span_on(day)
        return Phase.ACTIVE if span is None else span.phase
