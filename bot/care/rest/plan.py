"""The winter rest of one colony around a day: its dated phases, or the reason why there is none.

A pure function of its arguments, so it gives the same dates on every day while nothing changes; steps that the keeper
logged outrank the calendar. Rules: decision tables A.1 and A.2 of the dossier on dormancy; classes after
Kipyatkov 2001.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache

from bot.care.colony import Colony, LogEntry
from bot.care.duty import Input, Why
from bot.care.evidence import JUDGEMENT, PRACTICE, Confidence, Evidence
from bot.care.handbook import Handbook
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.place import Keeper, Place
from bot.care.rest.course import TOO_LATE_DAYS, RestCourse, lay_out, rest_log
from bot.care.rest.start import RestStart, rest_starts
from bot.care.rest.terms import PAUSE_C, RestTerms, applied_class, rest_terms
from bot.care.rest.warnings import rest_warnings
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import Band, Units, say_temperature, say_temperatures

CLASS_WORDS = {
    DormancyClass.ENDO: "rests every year by an inner clock",
    DormancyClass.EXO: "rests when autumn cools down",
    DormancyClass.QUASI: "is only slowed by cold",
    DormancyClass.HOMO: "is active all year",
    DormancyClass.REVERSED: "is active in the cool season and rests in summer",
    DormancyClass.UNKNOWN: "not well studied",
}
SOURCE_WORDS = {
    Confidence.SEEN: "published work",
    Confidence.SECOND_HAND: "published work, read second hand",
    Confidence.DERIVED: "worked out from published figures",
    Confidence.MEMORY: "from memory, not checked",
    Confidence.COMMON_PRACTICE: "custom among keepers",
    Confidence.JUDGEMENT: "our judgement",
}


def plan_rest(
    colony: Colony,
    profile: SpeciesProfile,
    place: Place,
    keeper: Keeper,
    handbook: Handbook,
    day: date,
    *,
    daily_means_c: Mapping[date, float] | None = None,
) -> RestPlan:
    """The rest that runs on `day`, else the next one; or a plan without phases that says why or what is missing.

    Args:
        colony: with wishes, brood and log; entries after `day` are not looked at.
        profile: resolved profile of its species.
        place: where it stands in the active season.
        keeper: whose latitude and units count.
        handbook: for the sources of the figures.
        day: the local day to plan around.
        daily_means_c: outdoor daily means in C, where a record exists.
    """
    refusal = _refusal(colony, profile)
    if refusal is not None:
        return refusal
    terms = rest_terms(colony, profile, place)
    log = rest_log(colony, day)
    course = _course_around(day, colony, keeper, terms, log, daily_means_c)
    if course is None:
        return _undated(profile, keeper, terms)
    problems, cautions = rest_warnings(colony, profile, keeper, terms, course, log, day)
    return RestPlan(
        needed=True,
        why=_reason(profile, keeper, terms, course.start),
        explained=_explained(profile, place, keeper, handbook, terms, course),
        phases=_phases(terms, course),
        gates=_gates(keeper.units),
        problems=problems,
        cautions=cautions,
        told=course.real,
    )


def _course_around(
    day: date,
    colony: Colony,
    keeper: Keeper,
    terms: RestTerms,
    log: Sequence[LogEntry],
    daily_means_c: Mapping[date, float] | None,
) -> RestCourse | None:
    """The first course that is not over on `day`; `None` where neither calendar nor keeper gives a start."""
    wishes = colony.rest
    starts = rest_starts(
        keeper,
        day,
        wished=wishes.start,
        crossed=wishes.from_other_hemisphere_since,
        daily_means_c=daily_means_c,
    )
    courses = (lay_out(start, terms, colony, log, day) for start in starts)
    return next((course for course in courses if course.end > day and course.late_days <= TOO_LATE_DAYS), None)


def _refusal(colony: Colony, profile: SpeciesProfile) -> RestPlan | None:
    """The plan of a colony that is not to rest, or `None` for one that is."""
    dormancy = applied_class(colony, profile)
    asked = colony.rest.start is not None or colony.rest.weeks is not None
    name = profile.name
    if dormancy is DormancyClass.HOMO:
        return _none(f"{name} is active all year and must not be chilled: no winter rest.", dormancy, "REST-TROPICAL")
    if dormancy is DormancyClass.REVERSED:
        sentence = (
            f"{name} turns the year round: it is active in the cool months and rests in summer. Keep it cool then."
        )
        return _none(sentence, dormancy, "REST-SUMMER")
    if dormancy is DormancyClass.QUASI and not asked:
        sentence = f"{name} needs no winter rest. A mild pause is possible: give a first day or a number of weeks."
        return _none(sentence, dormancy, "REST-NONE")
    if dormancy is DormancyClass.UNKNOWN and not asked:
        sentence = (
            f"Whether {name} rests is not well studied. Tell us the latitude its stock comes from; until then keep it "
            "out of the cold."
        )
        return _none(sentence, dormancy, "REST-DATES")
    if colony.rest.skip:
        inner_clock = dormancy is DormancyClass.ENDO
        sentence = f"You skip the rest of {name}. Many believe that it shortens a queen’s life; it is hardly measured."
        return _none(sentence, dormancy, *(["REST-ENDO"] if inner_clock else []), needed=inner_clock)
    return None


def _none(sentence: str, dormancy: DormancyClass, *cautions: str, needed: bool = False) -> RestPlan:
    evidence = JUDGEMENT if dormancy is DormancyClass.UNKNOWN else PRACTICE
    explained = Why(
        rule="the seasonal cycle of the species decides whether a colony rests",
        inputs=(Input("seasonal cycle", CLASS_WORDS[dormancy]),),
        evidence=evidence,
        would_change=("a closer identification", "your own decision about the rest"),
    )
    return RestPlan(needed=needed, why=sentence, explained=explained, cautions=cautions)


def _undated(profile: SpeciesProfile, keeper: Keeper, terms: RestTerms) -> RestPlan:
    """A rest that is due but has no date: the place does not tell the season."""
    if keeper.latitude is None:
        missing = "your latitude, or at least the half of the earth you live on, is not known"
    else:
        missing = "your place lies in the tropics, where light does not tell the season"
    band = say_temperatures(terms.suits_c, keeper.units)
    explained = Why(
        rule="without a season of the place only the keeper can set the first day",
        inputs=(Input("latitude", _latitude(keeper)), Input("rest temperature", band, terms.assumed)),
        evidence=terms.evidence,
        would_change=("a first day of your own", "the latitude of your place"),
    )
    why = f"{profile.name} should rest at {band}, but {missing}. Set the first day yourself and we plan the rest."
    return RestPlan(needed=True, why=why, explained=explained, cautions=("REST-DATES",))


@cache
def _gates(units: Units) -> Mapping[Phase, str]:
    pause = say_temperatures(PAUSE_C, units)
    return {
        Phase.WIND_DOWN: "No fresh eggs, and no pupae left; otherwise wait up to four weeks longer.",
        Phase.COOL_DOWN: f"The nest has reached its rest temperature; stop at {pause} while pupae remain.",
        Phase.REST: "The shortest rest is over, and spring light is back or the usual length is reached.",
        Phase.WARM_UP: "The nest is back at its usual temperature.",
        Phase.RESUME: "Eggs or growing larvae are seen; look again after 30 days if not.",
    }


def _phases(terms: RestTerms, course: RestCourse) -> tuple[PhaseSpan, ...]:
    usual = Band(terms.usual_c, terms.usual_c)
    ramp = Band(min(terms.target_c, terms.usual_c), max(terms.target_c, terms.usual_c))
    aims = {
        Phase.WIND_DOWN: usual,
        Phase.COOL_DOWN: ramp,
        Phase.REST: terms.band_c,
        Phase.WARM_UP: ramp,
        Phase.RESUME: usual,
    }
    return tuple(PhaseSpan(phase, first, last, aims[phase]) for phase, first, last in course.spans)


def _reason(profile: SpeciesProfile, keeper: Keeper, terms: RestTerms, start: RestStart) -> str:
    band = say_temperatures(terms.band_c, keeper.units)
    return (
        f"{profile.name} rests at {band} for {terms.weeks.low:g}–{terms.weeks.high:g} weeks "
        f"({source_words(terms.evidence)}); first day by {start.rule}."
    )


def source_words(evidence: Evidence) -> str:
    """How a figure is known, in words for a sentence."""
    return SOURCE_WORDS[evidence.confidence]


def _explained(
    profile: SpeciesProfile,
    place: Place,
    keeper: Keeper,
    handbook: Handbook,
    terms: RestTerms,
    course: RestCourse,
) -> Why:
    known = (handbook.sources[source].citation for source in terms.evidence.sources if source in handbook.sources)
    cited = "; ".join(known) or source_words(terms.evidence)
    place_c = "not known" if terms.place_c is None else say_temperatures(terms.place_c, keeper.units)
    return Why(
        rule=f"wind-down begins on {course.edges[0].isoformat()}, by {course.start.rule}",
        inputs=(
            Input("seasonal cycle", CLASS_WORDS[profile.dormancy]),
            Input("latitude", _latitude(keeper)),
            Input("rest temperature", say_temperatures(terms.suits_c, keeper.units), terms.assumed),
            Input("where that comes from", cited),
            Input("usual length", f"{terms.weeks.low:g}–{terms.weeks.high:g} weeks, at least {terms.floor_weeks:g}"),
            Input("room", say_temperature(terms.usual_c, keeper.units), place.temperature_c is None),
            Input("place of rest", place_c, terms.place_c is None),
        ),
        evidence=terms.evidence,
        would_change=(
            "a first day or a number of weeks of your own",
            "eggs or pupae at the end of the wind-down",
            "the day on which you log a step as done",
        ),
    )


def _latitude(keeper: Keeper) -> str:
    if keeper.latitude is None:
        return "not known"
    return f"{abs(keeper.latitude):.1f}° {keeper.hemisphere}"
