"""What readings of a logger mean for one colony: the band wanted on each day; warnings of frost, heat and warm rests.

Limits come from the engines that own them (heat, rest terms) and from the figures of the cautions themselves; a warm
rest is one whose mean lies a degree above the band (judgement).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from bot.care.localtime import local_day
from bot.care.logger.readings import DayOfReadings, Evaluation, Quantity, Wanted
from bot.care.logger.spot import WITH_THE_ANTS, Spot
from bot.care.phase import COLD_PHASES, Phase, PhaseSpan, RestPlan
from bot.care.physics.thermal_time import FULL_CREDIT_C, FULL_CREDIT_MILD_C
from bot.care.place import Keeper
from bot.care.rest.plan import plan_rest
from bot.care.rest.terms import COLDEST_ADVISED_C, COOLING_C_PER_WEEK, MILD_FROM_C
from bot.care.rest.warnings import WARM_REST_C
from bot.care.situation import Situation
from bot.care.species import DormancyClass, SpeciesProfile
from bot.care.units import Band, Units, fahrenheit, say_temperature, say_temperatures
from bot.care.upkeep.heat import COOLEST_ACTIVE_C, Warm, heat_limits

WARMEST_ACTIVE_C = 30.0
"""Upper end of the active season where the profile names none (common practice)."""
TROPICAL_LEAST_C = 18.0
MILD_LEAST_C = 15.0
"""Least warmth for ants without a winter, and for those that bear a mild pause; the figures of their cautions."""
DRY_REST_PERCENT = 40.0
"""Air of a rest that is called dry (judgement)."""
MARGIN_C = 1.0


@dataclass(frozen=True, slots=True)
class LoggerWarning:
    """A sentence about what was measured, and ids of `config/cautions` that go with it, strongest first."""

    sentence: str
    cautions: tuple[str, ...] = ()


def active_band(profile: SpeciesProfile) -> Band:
    """Temperatures in C wanted while active; the usual ones where the profile has none."""
    return profile.active_c or Band(COOLEST_ACTIVE_C, WARMEST_ACTIVE_C)


def wanted_band(profile: SpeciesProfile, rests: Sequence[RestPlan], spot: Spot) -> Wanted:
    """The temperatures wanted on a day at a spot.

    The phase's in a cold phase, else those of the active season; at the warm wall up to what the species bears; in the
    place of rest those of the rest, also before it begins. In the outworld, where ants only forage, none.
    """
    if spot is Spot.OUTWORLD:
        return lambda _: None
    active = active_band(profile)
    if spot is Spot.WARM_WALL:
        active = Band(active.low, max(active.high, heat_limits(profile).warn_c))
    if spot is Spot.REST:
        spans = [span for rest in rests for span in rest.phases if span.phase is Phase.REST]
        resting = spans[0].temperature_c if spans else None
        return lambda day: resting if (span := _rest_span(rests, day)) is None else span.temperature_c

    def wanted(day: date) -> Band:
        span = _span(rests, day)
        return span.temperature_c if span is not None and span.phase in COLD_PHASES else active

    return wanted


def rests_during(situation: Situation, days: Iterable[date]) -> tuple[RestPlan, ...]:
    """The rests that touch days, which may lie in the past; `days` ascend, and one every few weeks is enough.

    `situation` brings colony, profile, place, keeper and handbook; its own day and rest are not looked at.
    """
    found: list[RestPlan] = []
    for day in days:
        if found and found[-1].phases and day < found[-1].phases[-1].end:
            continue
        rest = plan_rest(
            situation.colony, situation.profile, situation.place, situation.keeper, situation.handbook, day
        )
        if not rest.phases:
            return (*found, rest)
        found.append(rest)
    return tuple(found)


def rest_credit(profile: SpeciesProfile) -> Band:
    """Daily means that earn a whole rest-day: milder for species of mild winters."""
    mild = profile.rest_target_c is not None and profile.rest_target_c >= MILD_FROM_C
    return FULL_CREDIT_MILD_C if mild else FULL_CREDIT_C


def logger_warnings(
    found: Evaluation, situation: Situation, rests: Sequence[RestPlan], spot: Spot
) -> tuple[LoggerWarning, ...]:
    """Warnings for one colony, dangers first.

    `situation` brings profile, heater, keeper; `rests` the dated phases. How ants fared in a rest is told only of spots
    where they are; a place of rest may be hot in summer, when no ants are there.
    """
    with_ants = spot in WITH_THE_ANTS
    if found.quantity is Quantity.HUMIDITY:
        return (*(_dry_rest(found, rests) if with_ants else ()), *_gaps(found, situation.keeper))
    hot_day = local_day(found.highest.at, situation.keeper.zone)
    return (
        *_frost(found, situation),
        *(() if spot is Spot.REST and _span(rests, hot_day) is None else _heat(found, situation)),
        *(_warm_rest(found, rests, situation.keeper.units) if with_ants else ()),
        *(_steep_fall(found, rests, situation.keeper.units) if with_ants else ()),
        *_gaps(found, situation.keeper),
    )


def say_difference(value_c: float, units: Units) -> str:
    """A difference of temperatures, such as a swing: `9 °C` or `16 °F`."""
    shown = value_c if units is Units.CELSIUS else fahrenheit(value_c) - fahrenheit(0)
    return f"{round(shown * 2) / 2:g} °{units.value}"


def say_moment(at: datetime, keeper: Keeper) -> str:
    """`3 January 2027 at 04:10`, on the keeper's wall."""
    local = at.astimezone(keeper.zone)
    return f"{local.day} {local:%B %Y} at {local:%H:%M}"


def _frost(found: Evaluation, situation: Situation) -> Iterator[LoggerWarning]:
    lowest, keeper = found.lowest, situation.keeper
    cold = say_temperature(lowest.value, keeper.units)
    when = say_moment(lowest.at, keeper)
    least = {DormancyClass.HOMO: (TROPICAL_LEAST_C, "REST-TROPICAL"), DormancyClass.QUASI: (MILD_LEAST_C, "REST-NONE")}
    limit = least.get(situation.profile.dormancy)
    if lowest.value <= 0:
        yield LoggerWarning(f"Frost: {cold} on {when}. Find a place that stays above freezing now.", ("REST-TOO-COLD",))
    elif lowest.value < COLDEST_ADVISED_C:
        yield LoggerWarning(f"It fell to {cold} on {when}, colder than any colony needs.", ("REST-TOO-COLD",))
    if limit is not None and lowest.value < limit[0]:
        name, wanted = situation.profile.name, say_temperature(limit[0], keeper.units)
        yield LoggerWarning(f"{cold} on {when} is too cold for {name}: keep it above {wanted}.", (limit[1],))


def _heat(found: Evaluation, situation: Situation) -> Iterator[LoggerWarning]:
    highest, keeper = found.highest, situation.keeper
    level = heat_limits(situation.profile).judge(highest.value)
    if level is Warm.FINE:
        return
    heated = situation.colony.heater is not None
    warm, when = say_temperature(highest.value, keeper.units), say_moment(highest.at, keeper)
    advice = "turn the heater down" if heated else "find a cooler place"
    if level is Warm.SWITCH_OFF:
        urgent = "if it is still so warm, switch the heater off" if heated else "if it is still so warm, cool it"
        source = "HEAT-OFF" if heated else "FIX-03"
        yield LoggerWarning(f"Heat: {warm} on {when}; {urgent} now.", (source, "HEAT-WALL"))
        return
    yield LoggerWarning(f"It reached {warm} on {when}: {advice}.", ("HEAT-WALL",))


def _warm_rest(found: Evaluation, rests: Sequence[RestPlan], units: Units) -> Iterator[LoggerWarning]:
    resting = [(day, span) for day in found.days if day.whole and (span := _rest_span(rests, day.day)) is not None]
    warm = [(day, span) for day, span in resting if day.mean > span.temperature_c.high + MARGIN_C]
    if not warm:
        return
    worst, span = max(warm, key=lambda pair: pair[0].mean)
    burns = span.temperature_c.high <= WARM_REST_C < worst.mean
    yield LoggerWarning(
        f"The rest was too warm on {len(warm)} of {len(resting)} days: up to {say_temperature(worst.mean, units)} in "
        f"the mean of a day, where {say_temperatures(span.temperature_c, units)} is wanted. Find a cooler spot.",
        ("REST-TOO-WARM",) if burns else (),
    )


def _steep_fall(found: Evaluation, rests: Sequence[RestPlan], units: Units) -> Iterator[LoggerWarning]:
    """More than a week's worth of cooling from one day to the next, on the way into a rest."""
    steep = [
        (earlier, later)
        for earlier, later in pairwise(day for day in found.days if day.whole)
        if (later.day - earlier.day).days == 1
        and earlier.mean - later.mean > COOLING_C_PER_WEEK
        and _goes_to_rest(rests, later)
    ]
    if steep:
        earlier, later = max(steep, key=lambda pair: pair[0].mean - pair[1].mean)
        fall = say_difference(earlier.mean - later.mean, units)
        yield LoggerWarning(
            f"It fell by {fall} from one day to the next, on {later.day.day} {later.day:%B %Y}; that much should take "
            "a week.",
            ("REST-COOL-SLOWLY",),
        )


def _dry_rest(found: Evaluation, rests: Sequence[RestPlan]) -> Iterator[LoggerWarning]:
    dry = [day for day in found.days if day.mean < DRY_REST_PERCENT and _rest_span(rests, day.day) is not None]
    if dry:
        driest = min(day.mean for day in dry)
        sentence = f"The air of the rest was dry on {len(dry)} days, down to {driest:.0f} % in the mean of a day."
        yield LoggerWarning(f"{sentence} Look at the water more often.", ("REST-DRY-AIR",))


def _gaps(found: Evaluation, keeper: Keeper) -> Iterator[LoggerWarning]:
    if found.gaps:
        longest = max(found.gaps, key=lambda gap: gap.end - gap.start)
        hours = (longest.end - longest.start).total_seconds() / 3600
        length = f"{hours:.0f} hours" if hours < 48 else f"{hours / 24:.0f} days"
        count = "One gap" if len(found.gaps) == 1 else f"{len(found.gaps)} gaps"
        yield LoggerWarning(
            f"{count} without readings, the longest {length} from {say_moment(longest.start, keeper)}: "
            "what happened there I cannot know."
        )


def _span(rests: Sequence[RestPlan], day: date) -> PhaseSpan | None:
    return next((span for rest in rests if (span := rest.span_on(day)) is not None), None)


def _rest_span(rests: Sequence[RestPlan], day: date) -> PhaseSpan | None:
    span = _span(rests, day)
    return span if span is not None and span.phase is Phase.REST else None


def _goes_to_rest(rests: Sequence[RestPlan], day: DayOfReadings) -> bool:
    span = _span(rests, day.day)
    return span is not None and span.phase in {Phase.COOL_DOWN, Phase.REST}
