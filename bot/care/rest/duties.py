"""The steps of a winter rest as dated duties, and how often to look at a resting colony.

Rates, gates and lengths are those of the rest's terms; looking every one to two weeks is common practice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from bot.care.duty import Duty, Input, Why
from bot.care.evidence import PRACTICE
from bot.care.feeding.energy import NO_FOOD_C
from bot.care.feeding.rhythm import FUNGUS_FARMERS, OPTIONAL_SUGAR
from bot.care.growth.founding import FoundingCare, founding_care
from bot.care.phase import Phase, PhaseSpan, RestPlan
from bot.care.rest.course import WAIT_DAYS, floor_days
from bot.care.rest.plan import source_words
from bot.care.rest.terms import COLDEST_ADVISED_C, COOLING_C_PER_WEEK, PAUSE_C, YOUNG_C, RestTerms, is_young, rest_terms
from bot.care.situation import Advice, Situation
from bot.care.species import Guild
from bot.care.units import Band, Units, say_temperature, say_temperatures

SHIFT_DAYS = 42
"""How far a keeper may move the start for their climate (our convention: six weeks)."""
STILL_DAYS = 14
"""Warm days before anyone says that a waking colony is dead (common practice)."""
NO_FOOD_BELOW_C = 8
CHECK_DAYS = Band(7, 14)

_DUTIES = {
    Phase.WIND_DOWN: Duty.REST_WIND_DOWN,
    Phase.COOL_DOWN: Duty.REST_COOL_DOWN,
    Phase.REST: Duty.REST_BEGIN,
    Phase.WARM_UP: Duty.REST_WARM_UP,
    Phase.RESUME: Duty.REST_END,
}
_STEP_CAUTIONS: Mapping[Duty, tuple[str, ...]] = {
    Duty.REST_WIND_DOWN: (),
    Duty.REST_COOL_DOWN: ("REST-COOL-SLOWLY",),
    Duty.REST_BEGIN: ("REST-DRY-AIR",),
    Duty.REST_WARM_UP: ("REST-WARM-UP",),
    Duty.REST_END: ("REST-WAKING",),
}
_COLD_PLACE = frozenset({"REST-TOO-COLD", "REST-TOO-WARM", "REST-OUTDOORS", "REST-FRIDGE", "FIX-04", "REST-LONE-QUEEN"})
_PLAN_CAUTIONS: Mapping[Duty, frozenset[str]] = {
    Duty.REST_WIND_DOWN: frozenset({"REST-PUPAE", "REST-DATES", "REST-HEMISPHERE", "REST-TOO-COLD"}),
    Duty.REST_COOL_DOWN: frozenset({"REST-PUPAE"}) | _COLD_PLACE,
    Duty.REST_BEGIN: frozenset({"REST-PUPAE"}) | _COLD_PLACE,
    Duty.REST_WARM_UP: frozenset({"REST-TOO-LONG"}),
    Duty.REST_END: frozenset(),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RestStep:
    """One step of a rest on a local day; see `Occurrence` for the fields."""

    duty: Duty
    day: date
    earliest: date
    latest: date
    reason: str
    why: Why
    useful_days: int
    """Days after `day` on which it still helps: until the next step takes its place at the latest."""
    facts: Mapping[str, float | str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


def rest_steps(plan: RestPlan, situation: Situation) -> tuple[RestStep, ...]:
    """The steps of a plan in order, one for each phase it holds; none without phases."""
    if not plan.phases:
        return ()
    terms = rest_terms(situation.colony, situation.profile, situation.place)
    return tuple(_step(plan, span, terms, situation) for span in plan.phases)


def advise_rest_check(situation: Situation) -> Advice | None:
    """How often to look at water, mould, leaks and the real temperature while the colony rests; `None` otherwise."""
    span = situation.span
    if span is None or span.phase is not Phase.REST:
        return None
    young = is_young(situation.colony)
    days = CHECK_DAYS.high if young else CHECK_DAYS.low
    band = say_temperatures(span.temperature_c, situation.keeper.units)
    look = "Look through the wall without opening" if young else "Look"
    return Advice(
        duty=Duty.REST_CHECK,
        interval_days=days,
        band_days=Band(days, CHECK_DAYS.high),
        reason=(
            f"{look}: is there water, is anything mouldy or leaking, and does the nest really stand at {band}? "
            "Water is never paused."
        ),
        why=_why_check(band, young=young),
        first_after_days=days,
        useful_days=int(CHECK_DAYS.high),
        facts={
            "target_low_c": span.temperature_c.low,
            "target_high_c": span.temperature_c.high,
        },
        cautions=_check_cautions(situation, young=young),
    )


def _why_check(band: str, *, young: bool) -> Why:
    return Why(
        rule="a resting colony is looked at every one to two weeks; drying out kills more than cold",
        inputs=(
            Input("rest temperature", band),
            Input("colony", "founding or in its first year" if young else "grown"),
        ),
        evidence=PRACTICE,
        would_change=("more often in a dry fridge", "after mould or a leak"),
    )


def _check_cautions(situation: Situation, *, young: bool) -> tuple[str, ...]:
    cautions = ["REST-DRY-AIR"]
    if young and situation.room_c <= YOUNG_C.high:
        cautions.append("REST-LONE-QUEEN")
    if situation.colony.rest.place == "fridge":
        cautions.append("FIX-04")
    low = situation.colony.rest.place_low_c
    if low is not None and low < COLDEST_ADVISED_C:
        cautions.append("REST-TOO-COLD")
    return tuple(cautions)


def _step(plan: RestPlan, span: PhaseSpan, terms: RestTerms, situation: Situation) -> RestStep:
    duty = _DUTIES[span.phase]
    earliest, latest = _window(plan, span, terms)
    return RestStep(
        duty=duty,
        day=span.start,
        earliest=earliest,
        latest=latest,
        reason=_reason(span, terms, situation),
        why=plan.explained,
        useful_days=min((latest - span.start).days, (span.end - span.start).days - 1),
        facts={
            "target_low_c": span.temperature_c.low,
            "target_high_c": span.temperature_c.high,
            "phase_days": (span.end - span.start).days,
        },
        cautions=_cautions(duty, plan),
    )


def _window(plan: RestPlan, span: PhaseSpan, terms: RestTerms) -> tuple[date, date]:
    """First and last day that still fit; a step on a real date keeps that date inside."""
    begins = {each.phase: each.start for each in plan.phases}
    wind_down = begins.get(Phase.WIND_DOWN, span.start)
    cool_down = begins.get(Phase.COOL_DOWN, span.start)
    rest = begins.get(Phase.REST, span.start)
    usual_cool = wind_down + timedelta(days=terms.kind.wind_down_days)
    windows = {
        Phase.WIND_DOWN: (-timedelta(days=SHIFT_DAYS) + span.start, span.start + timedelta(days=SHIFT_DAYS)),
        Phase.COOL_DOWN: (usual_cool, usual_cool + timedelta(days=WAIT_DAYS)),
        Phase.REST: (
            cool_down + timedelta(days=terms.cool_down_days),
            cool_down + timedelta(days=terms.cool_down_days + WAIT_DAYS),
        ),
        Phase.WARM_UP: (
            rest + timedelta(days=floor_days(terms)),
            rest + timedelta(days=min(round(7 * terms.weeks.high), terms.longest_days)),
        ),
        Phase.RESUME: (span.start, span.start + timedelta(days=STILL_DAYS)),
    }
    first, last = windows[span.phase]
    return min(first, span.start), max(last, span.start)


def _reason(span: PhaseSpan, terms: RestTerms, situation: Situation) -> str:
    known, units = source_words(terms.evidence), situation.keeper.units
    match span.phase:
        case Phase.WIND_DOWN:
            return _wind_down(situation)
        case Phase.COOL_DOWN:
            step = f"{COOLING_C_PER_WEEK} °C" if units is Units.CELSIUS else f"{COOLING_C_PER_WEEK * 9 / 5:.0f} °F"
            aim, pause = say_temperature(terms.target_c, units), say_temperatures(PAUSE_C, units)
            stop = "stop the cooling" if terms.target_c >= PAUSE_C.low else f"stop at {pause}"
            return (
                f"Cool down towards {aim} ({known}), at most {step} a week, once no fresh eggs and no pupae are left. "
                f"If pupae show up, {stop}. Keep the water up."
            )
        case Phase.REST:
            band = say_temperatures(span.temperature_c, units)
            food = _rest_food(terms, span, situation)
            return f"Keep the nest dark and still at {band} ({known}): {food}, always water."
        case Phase.WARM_UP:
            pause = say_temperatures(PAUSE_C, units)
            days = "" if terms.target_c >= PAUSE_C.low else f", with some days at {pause}"
            food = "" if _unfed(situation) else ", food later" if _farms(situation) else ", then sugar"
            return f"Warm up by room air in steps{days}; no heat pad now. Water first{food}."
        case _:
            return _resume(situation)


def _unfed(situation: Situation) -> bool:
    """A queen who founds walled in lives on her reserves."""
    return founding_care(situation.colony, situation.profile) is FoundingCare.WATER_ONLY


def _alone(situation: Situation) -> bool:
    """A queen who cannot found without the workers of others."""
    return founding_care(situation.colony, situation.profile) is FoundingCare.NEEDS_WORKERS


def _farms(situation: Situation) -> bool:
    return not FUNGUS_FARMERS.isdisjoint(situation.profile.guilds)


def _wind_down(situation: Situation) -> str:
    if _unfed(situation):
        return "The rest begins in two weeks: leave the queen in peace at her usual temperature, with water, unfed."
    if _alone(situation):
        return "The rest begins in two weeks: go on with a smear of sugar water, and leave the queen in peace."
    if _farms(situation):
        return "The rest begins in two weeks: go on feeding the fungus, a little less each time, and keep it moist."
    if situation.profile.guilds[0] is Guild.SEEDS:
        return (
            "The rest begins in two weeks: see that the seed store is full; insects only as far as larvae ask for them."
        )
    return "Let the colony eat its fill of sugar at its usual temperature; protein only as far as larvae ask for it."


def _rest_food(terms: RestTerms, span: PhaseSpan, situation: Situation) -> str:
    guild = situation.profile.guilds[0]
    if guild is Guild.SEEDS and terms.target_c >= NO_FOOD_BELOW_C:
        return "their seed store feeds them"
    if terms.target_c < NO_FOOD_BELOW_C or _unfed(situation) or _farms(situation) or guild in OPTIONAL_SUGAR:
        return "no food"
    if span.temperature_c.middle <= NO_FOOD_C:
        return "a drop of sugar water only if you find some awake"
    return "a little sugar water for those awake"


def _resume(situation: Situation) -> str:
    begin = (
        "The colony is back at its usual temperature. It starts slowly and may look dead at first: wait two warm weeks "
    )
    begin += "before you judge. "
    if _unfed(situation):
        return begin + "Water and peace until her first workers come."
    if _alone(situation):
        return begin + "Water and a smear of sugar now; she still needs workers beside her."
    if _farms(situation):
        return begin + "Water and a little fresh food for the fungus."
    return begin + "Water and sugar now, a little protein after three to seven days."


def _cautions(duty: Duty, plan: RestPlan) -> tuple[str, ...]:
    """Cautions of the step, and those of the plan as far as they matter then."""
    kept = _PLAN_CAUTIONS[duty]
    return tuple(dict.fromkeys((*_STEP_CAUTIONS[duty], *(caution for caution in plan.cautions if caution in kept))))
