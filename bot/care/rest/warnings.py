"""What is wrong or doubtful about a planned rest, as sentences and caution ids: place, wishes, brood, dates.

Rules: gates, limits and caution lines of the dossier on dormancy (common practice unless the caution names a source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from bot.care.colony import Colony, LogEntry
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase
from bot.care.place import Keeper
from bot.care.rest.course import TOO_LATE_DAYS, RestCourse, floor_days
from bot.care.rest.terms import COLDEST_ADVISED_C, PAUSE_C, YOUNG_C, RestKind, RestTerms, is_young
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import say_temperature, say_temperatures

WARM_REST_C = 10
LONG_DAYS = 150
OFF_TABLE_DAYS = 56
CROSSING_MATTERS_DAYS = 730
LEARNED_LATELY_DAYS = 60
STILL_RESTS_DAYS = 180
"""So long after a wind-down began a colony may still be resting (judgement)."""

Finding = tuple[str | None, str | None]
"""A sentence, a caution id, or both."""


def rest_warnings(
    colony: Colony,
    profile: SpeciesProfile,
    keeper: Keeper,
    terms: RestTerms,
    course: RestCourse,
    log: Sequence[LogEntry],
    day: date,
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Problems in plain words, and caution ids, both without repeats."""
    found = [
        *_place_cautions(colony, terms),
        *_place_warnings(keeper, terms),
        *_wish_warnings(colony, keeper, terms, course),
        *_brood_warnings(colony, keeper, course, log, day),
        *_knowledge_warnings(colony, profile, keeper, terms, course),
        *_length_warnings(terms, course),
        *_late_warnings(colony, course, day),
    ]
    sentences = dict.fromkeys(sentence for sentence, _ in found if sentence)
    return tuple(sentences), tuple(dict.fromkeys(caution for _, caution in found if caution))


def _place_cautions(colony: Colony, terms: RestTerms) -> Iterator[Finding]:
    yield None, "REST-DRY-AIR"
    if colony.rest.place == "fridge":
        yield None, "FIX-04"
        yield None, "REST-FRIDGE"
    if colony.rest.place == "outdoors":
        yield None, "REST-OUTDOORS"
    if is_young(colony) and terms.target_c <= YOUNG_C.high:
        yield None, "REST-LONE-QUEEN"


def _place_warnings(keeper: Keeper, terms: RestTerms) -> Iterator[Finding]:
    place = terms.place_c
    if place is None:
        yield (
            "How cold and how warm the place of rest gets is not known yet: log its lowest and highest temperature.",
            None,
        )
        return
    low, high = say_temperature(place.low, keeper.units), say_temperature(place.high, keeper.units)
    wanted = say_temperatures(terms.suits_c, keeper.units)
    if place.low < COLDEST_ADVISED_C:
        yield (
            f"The place of rest falls to {low}. That is colder than any colony needs, and frost can kill.",
            "REST-TOO-COLD",
        )
    elif place.low < terms.suits_c.low:
        yield f"The place of rest falls to {low}; {wanted} suits this colony. Find a milder spot.", None
    if place.high > terms.suits_c.high:
        burns = terms.kind is RestKind.ENDO and place.high > WARM_REST_C
        sentence = f"The place of rest reaches {high}; {wanted} suits this colony. Find a cooler spot."
        yield sentence, "REST-TOO-WARM" if burns else None


def _wish_warnings(colony: Colony, keeper: Keeper, terms: RestTerms, course: RestCourse) -> Iterator[Finding]:
    usual, weeks = course.start.calendar, colony.rest.weeks
    if usual is not None and abs((course.start.day - usual).days) > OFF_TABLE_DAYS:
        yield (
            f"Your date lies more than eight weeks from {usual.isoformat()}, which our calendar gives for your place.",
            None,
        )
    if keeper.tropical:
        yield (
            "In the tropics neither light nor season says when to rest: watch the colony more than the calendar.",
            None,
        )
    if weeks is not None and weeks < terms.floor_weeks:
        yield f"You asked for {weeks:g} weeks; fewer than {terms.floor_weeks:g} are too short, so we plan those.", None
    if weeks is not None and round(7 * weeks) > terms.longest_days:
        yield f"You asked for {weeks:g} weeks; with both ramps that is longer than we plan for this kind of ant.", None


def _brood_warnings(
    colony: Colony, keeper: Keeper, course: RestCourse, log: Sequence[LogEntry], day: date
) -> Iterator[Finding]:
    phase = _phase(course, day)
    if course.waiting and day < course.first_day(Phase.REST):
        yield "Eggs or pupae were seen: the cool-down waits for them, at most four weeks longer.", "REST-PUPAE"
    seen = {entry.outcome for entry in log if entry.day >= course.edges[0] and _phase(course, entry.day) is phase}
    if phase is Phase.COOL_DOWN and Outcome.PUPAE in seen:
        pause = say_temperatures(PAUSE_C, keeper.units)
        yield f"Pupae during the cool-down: stop at {pause} until they are gone.", "REST-PUPAE"
    if phase is Phase.REST and Outcome.AWAKE in seen:
        yield "Ants were awake in the rest: check the real temperature, and look for a colder, darker spot.", None
    first = date(course.start.day.year, 8 if keeper.hemisphere == "north" else 2, 1)
    stopped = colony.brood.eggs is False and colony.brood.pupae is False
    if stopped and first <= day < course.edges[0]:
        yield (
            (
                "No eggs and no pupae. If the larvae have not grown for two weeks either, the colony leads: "
                "log the wind-down as begun, and all dates follow."
            ),
            None,
        )


def _knowledge_warnings(
    colony: Colony, profile: SpeciesProfile, keeper: Keeper, terms: RestTerms, course: RestCourse
) -> Iterator[Finding]:
    if course.start.convention:
        yield None, "REST-DATES"
    if terms.assumed:
        wanted = say_temperatures(terms.band_c, keeper.units)
        yield f"Nobody has told us how cold {profile.name} should rest; {wanted} is our judgement.", "REST-DATES"
    if profile.dormancy is DormancyClass.UNKNOWN:
        yield f"Whether {profile.name} rests is not well studied; this plan is the cautious one.", "REST-DATES"
    crossed = colony.rest.from_other_hemisphere_since
    if crossed is not None and (course.edges[0] - crossed).days < CROSSING_MATTERS_DAYS:
        yield None, "REST-HEMISPHERE"


def _late_warnings(colony: Colony, course: RestCourse, day: date) -> Iterator[Finding]:
    """The bot learned of the colony in the middle of a season, and does not know whether it rests already."""
    learned = colony.learned_of
    if learned is None or course.real or not 0 <= (day - learned).days <= LEARNED_LATELY_DAYS:
        return
    last_start = course.start.day - timedelta(days=365)
    if course.late_days:
        yield "If it rests already, tell me since when; else it winds down from now, slowly, and rests later.", None
    elif TOO_LATE_DAYS < (learned - last_start).days <= STILL_RESTS_DAYS and not _began_since(colony, last_start):
        yield (
            "If it rests already, tell me since when; else it is too late this season, and it waits for the next.",
            None,
        )


def _began_since(colony: Colony, day: date) -> bool:
    """A colony founded after a day cannot have gone into the rest that began then."""
    return colony.founded is not None and colony.founded > day


def _length_warnings(terms: RestTerms, course: RestCourse) -> Iterator[Finding]:
    if (course.edges[4] - course.edges[1]).days >= LONG_DAYS:
        yield None, "REST-TOO-LONG"
    short = (course.first_day(Phase.WARM_UP) - course.first_day(Phase.REST)).days < floor_days(terms)
    if short and Duty.REST_WARM_UP in course.real:
        yield (
            f"The rest was shorter than the {terms.floor_weeks:g} weeks we would plan. Watch the brood in spring.",
            None,
        )


def _phase(course: RestCourse, day: date) -> Phase:
    return next((phase for phase, first, last in course.spans if first <= day < last), Phase.ACTIVE)
