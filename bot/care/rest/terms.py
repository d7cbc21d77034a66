"""The terms of a winter rest: temperature, weeks, ramps and limits, from the profile or, where it is silent, its class.

Figures: common practice, gathered in the decision table of the project's dossier on dormancy; the cooling rate of at
most 4 C a week is from published upkeep of ants. A fallback is our judgement and is marked as such.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from math import ceil

from bot.care.colony import Colony, Stage
from bot.care.evidence import JUDGEMENT, Evidence
from bot.care.place import Place
from bot.care.situation import DEFAULT_ROOM_C
from bot.care.species import DormancyClass, SpeciesProfile, WinterBrood
from bot.care.units import Band

COOLING_C_PER_WEEK = 4
WARMING_C_PER_WEEK = 8
COLDEST_ADVISED_C = 2
MILD_FROM_C = 12
PAUSE_C = Band(12, 15)
"""Where a ramp stops for a while."""
YOUNG_C = Band(5, 8)
"""Where queens alone and in their first year are aimed if their species rests this cold; in one species, young workers
did worse at 2 than at 7 to 8 C."""
TEMPERATE_FROM_LATITUDE = 35.0
"""Stock of an unstudied species from here polewards is taken for one that rests."""


class RestKind(Enum):
    """How a colony rests, as planned. Value: days of wind-down, of resume, and the most of all that lies between."""

    ENDO = (14, 14, 200)
    EXO_COOL = (14, 14, 150)
    EXO_MILD = (14, 10, 130)
    QUASI = (7, 7, 70)

    @property
    def wind_down_days(self) -> int:
        """Days of eating up at the usual temperature."""
        return self.value[0]

    @property
    def resume_days(self) -> int:
        """Days of slow feeding after the warm-up."""
        return self.value[1]

    @property
    def limit_days(self) -> int:
        """Most days from the start of the cool-down to the end of the warm-up."""
        return self.value[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestTerms:
    """What one rest should be like. Temperatures in C, `weeks` and `floor_weeks` at the target."""

    kind: RestKind
    usual_c: float
    target_c: float
    band_c: Band
    """What suits the colony and the place can give."""
    suits_c: Band
    """What suits the colony, wherever it stands."""
    weeks: Band
    floor_weeks: float
    gated: bool
    """Whether eggs and pupae have to be gone first."""
    evidence: Evidence
    assumed: bool
    """The handbook has no temperature for this species; a fallback stands in."""
    place_c: Band | None
    """Coldest and warmest of the place of rest, as far as the keeper said."""

    @property
    def cool_down_days(self) -> int:
        """At most 4 C a week."""
        return max(1, ceil(7 * (self.usual_c - self.target_c) / COOLING_C_PER_WEEK))

    @property
    def warm_up_days(self) -> int:
        """About 8 C a week; a fixed week for species without a true rest."""
        if self.kind is RestKind.QUASI:
            return 7
        return max(1, ceil(7 * (self.usual_c - self.target_c) / WARMING_C_PER_WEEK))

    @property
    def longest_days(self) -> int:
        """Most days at the target that the hard limit leaves."""
        return max(1, self.kind.limit_days - self.cool_down_days - self.warm_up_days)


@dataclass(frozen=True, slots=True)
class _Fallback:
    target_c: float
    band_c: Band
    weeks: Band
    floor_weeks: float


FALLBACKS = {
    DormancyClass.ENDO: _Fallback(5, Band(2, 8), Band(12, 20), 8),
    # Where cool and mild winters overlap: right for either kind of facultative rester.
    DormancyClass.EXO: _Fallback(11, Band(10, 12), Band(8, 12), 6),
    DormancyClass.QUASI: _Fallback(17, Band(16, 18), Band(0, 8), 0),
}


def applied_class(colony: Colony, profile: SpeciesProfile) -> DormancyClass:
    """The class planned with: an unstudied species follows the latitude its stock comes from, when that is known."""
    origin = colony.rest.origin_latitude
    if profile.dormancy is not DormancyClass.UNKNOWN or origin is None:
        return profile.dormancy
    return DormancyClass.EXO if abs(origin) >= TEMPERATE_FROM_LATITUDE else DormancyClass.QUASI


def rest_terms(colony: Colony, profile: SpeciesProfile, place: Place) -> RestTerms:
    """Terms for a colony of a class that can rest; an unstudied species without origin counts as a mild rester."""
    dormancy = applied_class(colony, profile)
    fallback = FALLBACKS.get(dormancy, FALLBACKS[DormancyClass.EXO])
    band = fallback.band_c if profile.rest_band_c is None else profile.rest_band_c
    target = band.clamp(fallback.target_c) if profile.rest_target_c is None else profile.rest_target_c
    weeks = fallback.weeks if profile.rest_weeks is None else profile.rest_weeks
    floor = fallback.floor_weeks if profile.rest_floor_weeks is None else profile.rest_floor_weeks
    terms = RestTerms(
        kind=_kind(dormancy, target),
        usual_c=_usual_c(profile, place),
        target_c=target,
        band_c=Band(min(band.low, target), max(band.high, target)),
        suits_c=band,
        weeks=weeks,
        floor_weeks=min(floor, weeks.low),
        gated=profile.winter_brood is not WinterBrood.ALL,
        evidence=profile.evidence.get("rest_target_c", JUDGEMENT),
        assumed=profile.rest_target_c is None,
        place_c=place_of_rest(colony, place),
    )
    return _aimed(terms, young=is_young(colony))


def _usual_c(profile: SpeciesProfile, place: Place) -> float:
    """The room's temperature, but never more than suits the species: a plan does not aim at too much heat."""
    room = DEFAULT_ROOM_C if place.temperature_c is None else place.temperature_c
    return room if profile.active_c is None else min(room, profile.active_c.high)


def is_young(colony: Colony) -> bool:
    """A queen alone, or a queen in her first year: the risk group of a winter."""
    return colony.current_stage is Stage.FOUNDING or colony.rest.first_year_queen


def place_of_rest(colony: Colony, place: Place) -> Band | None:
    """Coldest and warmest of the place of rest; the room's own winter temperature where no other place is named."""
    low, high = colony.rest.place_low_c, colony.rest.place_high_c
    if low is None and high is None and colony.rest.place in {None, "unheated room"}:
        low = high = place.winter_temperature_c
    known = [value for value in (low, high) if value is not None]
    return Band(min(known), max(known)) if known else None


def _kind(dormancy: DormancyClass, target_c: float) -> RestKind:
    if dormancy is DormancyClass.ENDO:
        return RestKind.ENDO
    if dormancy is DormancyClass.QUASI:
        return RestKind.QUASI
    return RestKind.EXO_MILD if target_c >= MILD_FROM_C else RestKind.EXO_COOL


def _aimed(terms: RestTerms, *, young: bool) -> RestTerms:
    """The band narrowed to what suits young colonies and to what the place can give, where that leaves anything."""
    band = _overlap(terms.band_c, Band(COLDEST_ADVISED_C, max(COLDEST_ADVISED_C, terms.band_c.high)))
    if young and terms.target_c <= YOUNG_C.high:
        band = _overlap(band, YOUNG_C)
    offered = band if terms.place_c is None else _overlap(band, terms.place_c)
    return replace(terms, suits_c=band, band_c=offered, target_c=offered.clamp(terms.target_c))


def _overlap(band: Band, other: Band) -> Band:
    """What both hold; `band` itself where they do not meet."""
    low, high = max(band.low, other.low), min(band.high, other.high)
    return Band(low, high) if low <= high else band
