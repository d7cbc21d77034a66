"""Water: what is due, on which side, and why. Never silent: no phase, stage or setting of a colony pauses water.

The days come from `water/nest.py` (drying physics) and `water/log.py` (what the log taught). Taking turns between two
sides, half the water in the cold and looking every one to two weeks are common practice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.colony import Colony, NestKind
from bot.care.duty import Duty, Urgency, Why
from bot.care.evidence import PRACTICE, Confidence, Evidence
from bot.care.phase import COLD_PHASES, Phase
from bot.care.situation import Advice, Situation
from bot.care.units import Band
from bot.care.water.log import (
    REMEMBERED,
    SideChoice,
    Visit,
    after_watering,
    drift,
    learn,
    learned_from_log,
    next_side,
    side_states,
    unsettle,
    visits,
)
from bot.care.water.nest import DryingForecast, forecast_drying

__all__ = [
    "DryingForecast",
    "SideChoice",
    "advise_water",
    "after_watering",
    "drift",
    "forecast_drying",
    "is_only_a_look",
    "learn",
    "learned_from_log",
    "next_side",
    "side_states",
    "unsettle",
]

TUBE_LOOK_DAYS = 14.0
TUBE_LASTS_DAYS = Band(30, 120)
"""A tube is replaced inside this band, mostly for dirt and mould rather than thirst."""
RAMP_LOOK_DAYS = 14.0
REST_WATER_DAYS = 21.0
"""In the rest itself the rest checks look at the water in between (every two to three weeks: common practice)."""
FRIDGE_WATER_DAYS = 14.0
FRIDGE_TUBE_DAYS = 7.0
"""A fridge is dry and shakes, so it is looked at more often."""
NOTICEABLE_HEAT = 1.3
"""From this ratio on the heater is named as what dries the nest."""
SMALL_WATER_ML = 5.0
FAST_DAYS = 3.0
HURRY_DAYS = 7.0
"""A heater or little water makes it urgent only where a side lasts less than a week."""
NEARLY_DAYS = 4
"""A look so few days before the forecast counts as the watering: it may have come forward to share a visit."""
IF_DRY = "only where nearly dry"
WATER_HELPS_DAYS = 60
"""A watering that was missed stays due; this only bounds how long one occurrence is shown."""
MODEL = Evidence(("FAO56", "PAUK95", "judgement"), Confidence.DERIVED, "days")
WOULD_CHANGE = (
    "tell me after a look whether the side is still damp, about dry or bone dry",
    "the weight of the nest before and after, if you can weigh it",
    "a measured temperature and humidity beside the nest",
)


@dataclass(frozen=True, slots=True)
class _Rhythm:
    """When to look, its band, the sentence for it, and the rule behind it."""

    days: float
    band: Band
    reason: str
    rule: str
    evidence: Evidence


def advise_water(situation: Situation) -> Advice:
    """The next look at the water. Never `None`: water is due in every phase.

    Facts: `water_ml`, `side` (no side for a tube), `gives` (in the cold: a look gives water only where it is nearly
    dry), `early_days`, `late_days`, `loss_g_day`, `dries_times_faster` (with a heater that is felt), `mould_index` of
    the side (once a look found one damp), `replace_after_days` (tubes). Where the heater may still be on in a rest, a
    look comes no later than in the warm season.
    """
    found = _advice(situation)
    if not situation.heater_in_doubt:
        return found
    warm = _advice(situation.kept_warm)
    return warm if warm.interval_days < found.interval_days else found


def _advice(situation: Situation) -> Advice:
    learned = situation.colony.drying
    if learned is None:
        learned = learned_from_log(situation)
    forecast = forecast_drying(situation, learned)
    choice = next_side(situation, learned)
    rhythm = _rhythm(situation, forecast, choice)
    interval = _since_watering(situation, rhythm.days, forecast)
    return Advice(
        duty=Duty.WATER,
        interval_days=round(interval, 1),
        band_days=Band(round(min(rhythm.band.low, interval), 1), round(max(rhythm.band.high, interval), 1)),
        reason=rhythm.reason,
        why=Why(
            rule=rhythm.rule,
            inputs=forecast.inputs,
            evidence=rhythm.evidence,
            would_change=(*_to_ask(forecast), *WOULD_CHANGE),
        ),
        urgency=_urgency(situation.colony, forecast),
        useful_days=WATER_HELPS_DAYS,
        facts=_facts(situation, forecast, choice),
        cautions=tuple(_cautions(situation, forecast, choice)),
    )


def is_only_a_look(situation: Situation) -> bool:
    """Whether a look in the cold that falls on this day should find the side still damp, so that it gives no water.

    A plan that runs ahead must not pretend that it did: only water restarts the drying.
    """
    if situation.colony.nest.kind is NestKind.TUBE or situation.phase not in COLD_PHASES or situation.heater_in_doubt:
        return False
    watered = _last_watered(visits(situation.colony, REMEMBERED))
    if watered is None:
        return False
    lasts = forecast_drying(situation, situation.colony.drying).days
    return (situation.day - watered).days + NEARLY_DAYS < round(lasts)


def _rhythm(situation: Situation, forecast: DryingForecast, choice: SideChoice | None) -> _Rhythm:
    cold = situation.phase in COLD_PHASES
    if choice is None:
        return _tube_rhythm(situation, forecast)
    if cold:
        return _cold_rhythm(situation, forecast, choice)
    last, choice_text = situation.colony.nest.watered_side, choice.reason
    heat = ""
    if forecast.heat_ratio >= NOTICEABLE_HEAT:
        heat = f" The heater makes it dry about {forecast.heat_ratio:.1f} times faster."
    # Where nothing about the size of the nest was said the median is a guess: look early, for thirst kills.
    days = forecast.days if forecast.sized else forecast.look_days
    ask = "" if forecast.sized else " I guess the size of your nest: tell me how much water you give a side."
    often = " A cover over part of it, or a larger water supply, spares you and them the hurry." if days < 2 else ""
    return _Rhythm(
        days,
        Band(forecast.early, forecast.late),
        f"Side {last} should be nearly dry {_say_days(forecast)} after watering.{heat} {choice_text}{ask}{often}",
        "Water the other side when the watered one is nearly dry: the ants choose, and no place stays wet.",
        MODEL,
    )


def _tube_rhythm(situation: Situation, forecast: DryingForecast) -> _Rhythm:
    longest = _longest_gap(situation)
    days = min(longest, forecast.early)
    return _Rhythm(
        days,
        Band(days / 2, days),
        f"Look at the water in the tube: it should last {_say_days(forecast)} from full, and must not run out.",
        f"A tube is looked at every {longest:.0f} days, in every season, and sooner where it runs low sooner.",
        PRACTICE,
    )


def _cold_rhythm(situation: Situation, forecast: DryingForecast, choice: SideChoice) -> _Rhythm:
    longest = _longest_gap(situation)
    days = min(longest, forecast.days if forecast.sized else forecast.look_days)
    half = ", half as much as in summer" if forecast.halved else ""
    return _Rhythm(
        days,
        Band(days / 2, days),
        f"Look at the water: in the cold a side lasts {_say_days(forecast)}. Give some only where it is nearly dry"
        f"{half}. {choice.reason}",
        f"Water goes on through the rest: a look at least every {longest:.0f} days, half the water where that lasts.",
        PRACTICE,
    )


def _longest_gap(situation: Situation) -> float:
    """Longest stretch without a look, in days."""
    fridge = situation.phase in COLD_PHASES and situation.colony.rest.place == "fridge"
    if situation.colony.nest.kind is NestKind.TUBE:
        return FRIDGE_TUBE_DAYS if fridge else TUBE_LOOK_DAYS
    if fridge:
        return FRIDGE_WATER_DAYS
    return REST_WATER_DAYS if situation.phase is Phase.REST else RAMP_LOOK_DAYS


def _since_watering(situation: Situation, days: float, forecast: DryingForecast) -> float:
    """Days from the last time water counts as done to the next look.

    After a look that gave nothing, the drying still runs from the watering before. In the cold the next look comes
    when the forecast says so, `days` later at the latest; else a day to half a forecast after the damp look.
    """
    looks = [visit for visit in visits(situation.colony, REMEMBERED) if visit.day <= situation.day]
    done, watered = situation.done.get(Duty.WATER), _last_watered(looks)
    if not looks or done is None:
        return days
    if situation.phase in COLD_PHASES and situation.colony.nest.kind is not NestKind.TUBE:
        if watered is None or watered == done:
            return days
        left = (watered + timedelta(days=round(forecast.days)) - done).days
        return float(max(1, min(left, days)))
    if looks[-1].watered or done > looks[-1].day:
        return days
    damp = looks[-1].day
    left = round(days / 2) if watered is None else (watered + timedelta(days=round(days)) - damp).days
    due = damp + timedelta(days=max(1, round(min(left, days / 2))))
    return float(max(1, (due - done).days))


def _last_watered(looks: Sequence[Visit]) -> date | None:
    return next((visit.day for visit in reversed(looks) if visit.watered), None)


def _urgency(colony: Colony, forecast: DryingForecast) -> Urgency:
    """Water comes soon everywhere, and at once where little water or a heater leaves little time."""
    if colony.nest.kind is NestKind.TUBE:
        return Urgency.SOON
    little_time = forecast.heat_ratio > 1 or forecast.water_ml < SMALL_WATER_ML
    hurried = forecast.days < FAST_DAYS or (little_time and forecast.days < HURRY_DAYS)
    return Urgency.URGENT if hurried else Urgency.SOON


def _facts(situation: Situation, forecast: DryingForecast, choice: SideChoice | None) -> dict[str, float | str]:
    facts: dict[str, float | str] = {
        "early_days": round(forecast.early, 1),
        "late_days": round(forecast.late, 1),
        "loss_g_day": round(forecast.grams_a_day, 2),
    }
    if choice is None:
        facts["replace_after_days"] = round(TUBE_LASTS_DAYS.clamp(forecast.days))
        return facts
    if situation.phase in COLD_PHASES:
        facts["gives"] = IF_DRY
    facts["water_ml"] = round(forecast.water_ml * choice.share, 1)
    facts["side"] = choice.side.value
    if choice.side in choice.states:
        facts["mould_index"] = round(choice.states[choice.side].index.value, 2)
    if forecast.heat_ratio >= NOTICEABLE_HEAT:
        facts["dries_times_faster"] = round(forecast.heat_ratio, 1)
    return facts


def _cautions(situation: Situation, forecast: DryingForecast, choice: SideChoice | None) -> Iterable[str]:
    yield "WATER"
    cold = situation.phase in COLD_PHASES
    if cold:
        yield "REST-DRY-AIR"
        yield "REST-WATER"
    if choice is None:
        yield "FIX-14"
        return
    yield "WATER-SIDES"
    if forecast.heat_ratio >= NOTICEABLE_HEAT:
        yield "HEAT-DRIES"
    if forecast.heat_ratio > 1:
        yield "FIX-10"
    if choice.collided or choice.side is situation.colony.nest.watered_side:
        yield "MOULD-SPECK"
    yield "WATER-LITTLE"
    yield "ESTIMATE-WATER"


def _to_ask(forecast: DryingForecast) -> tuple[str, ...]:
    """What the keeper could say instead of the defaults."""
    return tuple(f"your own value for: {label}" for label in forecast.defaulted)


def _say_days(forecast: DryingForecast) -> str:
    middle, early, late = round(forecast.days), round(forecast.early), round(forecast.late)
    unit = "day" if middle == 1 else "days"
    return f"about {middle} {unit}" if early == late else f"about {middle} {unit} ({early}–{late})"
