"""The season of a community: its halves of the earth, its stages, and what one colony adds to the figures.

A share holds no name and no place, only what the figures need; `season/figures.py` decides what of it may be shown,
`season/dates.py` when each stage is due, `season/words.py` what a notice says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from bot.care.colony import Colony
from bot.care.duty import REST_STEPS, Outcome
from bot.care.handbook import Handbook
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.place import Keeper, Place
from bot.care.rest.plan import plan_rest
from bot.care.rest.terms import applied_class, rest_terms
from bot.care.species import DormancyClass, SpeciesProfile

WINDOW_SHIFT_DAYS = {"north": -120, "south": 61}
"""A season runs six months to either side of the usual start of its wind-down: 1 November north, 1 May south."""


class Half(StrEnum):
    """Where the year of a member turns; in the tropics the calendar does not tell it."""

    NORTH = "north"
    SOUTH = "south"
    TROPICS = "tropics"


class SeasonStage(StrEnum):
    """What a season notice is about, in the order of the season."""

    PREPARE = "prepare"
    WIND_DOWN = "wind-down"
    COOL_DOWN = "cool-down"
    MID_REST = "mid-rest check"
    WARM_UP = "warm-up"
    WELCOME_BACK = "welcome back"
    NOTHING_DUE = "nothing due"
    """For communities in the tropics."""


class Mark(StrEnum):
    """What may stand in the way of a rest, or has been seen in it."""

    NO_PLAN = "no first day yet"
    NO_PLACE = "place of rest not measured"
    TOO_WARM = "place too warm"
    TOO_COLD = "place too cold"
    PUPAE = "eggs or pupae present"
    AWAKE = "seen awake"


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What one colony adds. `member` is an opaque key: it says only which shares belong together."""

    member: str
    half: Half
    dormancy: DormancyClass
    year: int
    """Year in which the wind-down of the season begins."""
    phases: tuple[PhaseSpan, ...] = ()
    marks: frozenset[Mark] = frozenset()


def half_of(keeper: Keeper) -> Half | None:
    """The half a keeper lives on; `None` where the latitude is not known."""
    if keeper.latitude is None:
        return None
    return Half.TROPICS if keeper.tropical else Half(keeper.hemisphere or Half.NORTH)


def season_year(half: Half, day: date) -> int:
    """The season a day belongs to, by the year of its usual wind-down; in the tropics the calendar year."""
    return (day + timedelta(days=WINDOW_SHIFT_DAYS.get(half.value, 0))).year


def share_of(
    member: str, colony: Colony, profile: SpeciesProfile, place: Place, keeper: Keeper, handbook: Handbook, day: date
) -> Share | None:
    """What a colony adds to the figures on its keeper's `day`; `None` where the half of the earth is not known."""
    half = half_of(keeper)
    if half is None:
        return None
    plan = plan_rest(colony, profile, place, keeper, handbook, day)
    begin = plan.phases[0].start if plan.phases else day
    return Share(
        member=member,
        half=half,
        dormancy=applied_class(colony, profile),
        year=season_year(half, begin),
        phases=plan.phases,
        marks=frozenset(_marks(plan, colony, profile, place, day)),
    )


def _marks(plan: RestPlan, colony: Colony, profile: SpeciesProfile, place: Place, day: date) -> Iterable[Mark]:
    if not plan.needed or colony.rest.skip:
        return
    if not plan.phases:
        yield Mark.NO_PLAN
        return
    terms = rest_terms(colony, profile, place)
    if terms.place_c is None:
        yield Mark.NO_PLACE
    elif terms.place_c.low < terms.suits_c.low:
        yield Mark.TOO_COLD
    if terms.place_c is not None and terms.place_c.high > terms.suits_c.high:
        yield Mark.TOO_WARM
    if "REST-PUPAE" in plan.cautions:
        yield Mark.PUPAE
    if _awake(colony, plan, day):
        yield Mark.AWAKE


def _awake(colony: Colony, plan: RestPlan, day: date) -> bool:
    """Whether ants were seen awake since the cold part of this rest began."""
    cold = next((span.start for span in plan.phases if span.phase is Phase.REST), day)
    return any(
        entry.outcome is Outcome.AWAKE and entry.duty in REST_STEPS and cold <= entry.day <= day for entry in colony.log
    )
