"""When each stage of a season is due: by the community's own plans where they may be shown, else by our calendar.

The calendar is the plan of an imagined colony that rests by an inner clock and of which nothing else is known; it is a
convention (see `rest/start.py`), and notices say so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from bot.care.colony import Colony
from bot.care.phase import Phase
from bot.care.place import Place
from bot.care.rest.course import lay_out
from bot.care.rest.start import LIGHT_FROM_LATITUDE, RestStart, calendar_start, spring_after
from bot.care.rest.terms import rest_terms
from bot.care.season.community import Half, SeasonStage
from bot.care.season.figures import GroupFigures, Spread, monday
from bot.care.species import DormancyClass, SpeciesProfile

USUAL_LATITUDE = 45.0
"""Where the zone of the community does not tell a season (judgement: halfway between tropics and polar circle)."""
POLEMOST_LATITUDE = 60.0
TROPICAL_NOTE = (10, 1)
"""Month and day of the note that nothing is due: when keepers in the north begin to speak of winter (judgement)."""
RESTING = (DormancyClass.ENDO, DormancyClass.EXO)
"""Kinds of ants that the dates of notices follow."""
_STAGE_PHASES = {
    SeasonStage.WIND_DOWN: Phase.WIND_DOWN,
    SeasonStage.COOL_DOWN: Phase.COOL_DOWN,
    SeasonStage.WARM_UP: Phase.WARM_UP,
    SeasonStage.WELCOME_BACK: Phase.RESUME,
}


@dataclass(frozen=True, slots=True)
class StageDay:
    """The first day of a stage, and whether members' plans or the calendar gave it."""

    day: date
    counted: bool


def stage_days(
    half: Half, year: int, figures: Sequence[GroupFigures], latitude: float | None
) -> Mapping[SeasonStage, StageDay]:
    """First days of all stages of one season, in order. Preparing has the day of the wind-down that it leads to.

    Args:
        half: whose season.
        year: the year in which its wind-down begins.
        figures: what may be shown of the community; other halves and seasons are left aside.
        latitude: of the community's own time zone; its sign is not looked at.
    """
    if half is Half.TROPICS:
        return {SeasonStage.NOTHING_DUE: StageDay(date(year, *TROPICAL_NOTE), counted=False)}
    usual = {phase: StageDay(day, counted=False) for phase, day in _calendar(half, year, _reference(latitude)).items()}
    own = [group for group in figures if group.key.half is half and group.key.year == year]
    known = {phase: _earliest(phase, own) or usual[phase] for phase in usual}
    found = {stage: known[phase] for stage, phase in _STAGE_PHASES.items()}
    found[SeasonStage.PREPARE] = known[Phase.WIND_DOWN]
    found[SeasonStage.MID_REST] = _halfway(known[Phase.REST], known[Phase.WARM_UP])
    return {stage: found[stage] for stage in SeasonStage if stage in found}


def _earliest(phase: Phase, figures: Sequence[GroupFigures]) -> StageDay | None:
    """The first week of the phase over the groups that rest; nobody is told too late."""
    spreads: list[Spread] = [
        group.begins[phase] for group in figures if phase in group.begins and group.key.dormancy in RESTING
    ]
    return StageDay(min(spread.first for spread in spreads), counted=True) if spreads else None


def _halfway(rest: StageDay, warm: StageDay) -> StageDay:
    between = max(timedelta(0), warm.day - rest.day) / 2
    return StageDay(monday(rest.day + between), counted=rest.counted and warm.counted)


def _reference(latitude: float | None) -> float:
    """A latitude whose light tells the season."""
    if latitude is None or abs(latitude) < LIGHT_FROM_LATITUDE:
        return USUAL_LATITUDE
    return min(abs(latitude), POLEMOST_LATITUDE)


@cache
def _calendar(half: Half, year: int, latitude: float) -> Mapping[Phase, date]:
    """First days of the phases of an imagined colony."""
    signed = latitude if half is Half.NORTH else -latitude
    first = calendar_start(signed, year)
    if first is None:
        raise ValueError(f"our calendar knows no winter at {signed} degrees")
    colony = Colony(key="", name="", species="", workers=100)
    profile = SpeciesProfile(name="", genus="", rank="genus", dormancy=DormancyClass.ENDO)
    start = RestStart(first, "our calendar convention", spring_after(signed, first))
    course = lay_out(start, rest_terms(colony, profile, Place()), colony, (), first)
    return {phase: begin for phase, begin, _ in course.spans}
