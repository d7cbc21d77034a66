"""Feeder cultures: how long they take to grow, and when they want care.

Linear model: days = degree-days / (temperature - threshold), nothing at or below the observed stop (Tenebrio molitor:
2564 degree-days above 6 C, seen to stop at 15 C; Korean seven-temperature study). Unknown figures stay unknown.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from bot.care.culture import Culture, CultureEvent
from bot.care.duty import Duty, Input, Urgency, Why
from bot.care.evidence import PRACTICE
from bot.care.goods import FeederCulture
from bot.care.place import Place
from bot.care.situation import Advice
from bot.care.units import Band, Units, say_temperature, say_temperatures

WEEK = timedelta(days=7)
SPREAD = 0.15
"""Relative half-width of the time to grow (judgement: model and observation differ by 5 %, households by more)."""
MOST_DEATHS = 0.1
"""More unexplained deaths in a week than this share: discard the culture (judgement)."""
CAUTIONS = ("FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE")
_TOO_LONG_DAYS = 3650


@dataclass(frozen=True, slots=True)
class Growing:
    """How long a culture grows at a temperature; days are `None` where it does not, or where nobody knows."""

    days: float | None
    reason: str


def degree_days(temperatures: Iterable[float], culture: FeederCulture) -> float | None:
    """Degree-days gathered over daily mean temperatures; `None` where the threshold is unknown."""
    if culture.threshold_c is None:
        return None
    return sum(_gain(culture.threshold_c, culture.stop_c, day) for day in temperatures)


def _gain(threshold_c: float, stop_c: float | None, temperature_c: float) -> float:
    stopped = stop_c is not None and temperature_c <= stop_c
    return 0.0 if stopped else max(0.0, temperature_c - threshold_c)


def growing(culture: FeederCulture, temperature_c: float, units: Units = Units.CELSIUS) -> Growing:
    """Days a culture takes at a steady temperature."""
    if culture.threshold_c is None or culture.degree_days is None:
        return Growing(None, f"I have no figure for how fast {culture.name} grow, so I cannot say when they are grown.")
    gain = _gain(culture.threshold_c, culture.stop_c, temperature_c)
    shown = say_temperature(temperature_c, units)
    if gain == 0:
        return Growing(None, f"At {shown} {culture.name} do not grow.")
    days = culture.degree_days / gain
    early, late = (_say_days(days * (1 + side)) for side in (-SPREAD, SPREAD))
    return Growing(days, f"At {shown} {culture.name} take about {early} to {late} days to grow up.")


def _say_days(days: float) -> int:
    """Whole days, above a month in fives: nobody knows it more closely."""
    return round(days) if days < 30 else 5 * round(days / 5)


def ready_between(culture: FeederCulture, temperature_c: float, started: date) -> tuple[date, date] | None:
    """First and last likely day on which a culture begun on `started` is grown; `None` where it never is."""
    days = growing(culture, temperature_c).days
    if days is None or days * (1 + SPREAD) > _TOO_LONG_DAYS:
        return None
    early, late = math.floor(days * (1 - SPREAD)), math.ceil(days * (1 + SPREAD))
    return started + timedelta(days=early), started + timedelta(days=late)


def is_failing(died: int, alive_before: int) -> bool:
    """Whether so many died within a week, without a known reason, that the whole culture goes."""
    return died > MOST_DEATHS * alive_before


def losses(culture: Culture, day: date) -> tuple[int, bool | None]:
    """How many died in the week up to a day, and whether the culture fails; `None` where its size is not known."""
    died = culture.counted(CultureEvent.DIED, day - WEEK + timedelta(days=1), day)
    if died == 0:
        return 0, False
    return died, None if culture.animals is None else is_failing(died, culture.animals)


def temperature_of(culture: Culture, place: Place) -> float | None:
    """Where a culture stands in C: as measured, else as the room; `None` where neither was said."""
    return place.temperature_c if culture.temperature_c is None else culture.temperature_c


def advise_feeder_care(culture: Culture, kind: FeederCulture, place: Place, day: date, units: Units) -> Advice:
    """Care of one culture at its own interval, with when it will be grown; or its end, where too many died."""
    died, failing = losses(culture, day)
    temperature = temperature_of(culture, place)
    facts: dict[str, float | str] = {"interval_days": kind.care_days, "feeder": kind.id}
    ready = _ready(culture, kind, temperature)
    if ready is not None:
        facts |= {"ready_from": ready[0].isoformat(), "ready_until": ready[1].isoformat()}
    # Growth is worth a line of a reminder until the first are grown; all else of it stands with the culture.
    coming = ready is not None and day <= ready[1]
    growth = [growth_said(culture, kind, temperature, day, units)] if coming else []
    reason = " ".join([kind.tasks + _losses_said(died, failing), *growth])
    cautions = dict.fromkeys([*CAUTIONS, *kind.cautions])
    if failing:
        reason = (
            f"{died} of about {culture.animals} died within a week without a known reason, which is more than a tenth: "
            "feed none of them to ants any more. Freeze the whole culture for a week, throw it away, and begin anew "
            "with animals from elsewhere."
        )
        cautions = dict.fromkeys(["PREY-POISON", "PREY-FUNGUS", *cautions])
    return Advice(
        duty=Duty.FEEDER_CARE,
        interval_days=kind.care_days,
        band_days=Band(max(1, kind.care_days - 2), kind.care_days + 2),
        reason=reason,
        why=_why(culture, kind, temperature, units),
        urgency=Urgency.SOON if failing else Urgency.ROUTINE,
        facts=facts,
        cautions=tuple(cautions),
    )


def growth_said(culture: Culture, kind: FeederCulture, temperature_c: float | None, day: date, units: Units) -> str:
    """When the first are grown, in a sentence or two; what is not known is said so."""
    if temperature_c is None:
        return "How warm it stands is not known, so I cannot say when they are grown."
    grown = growing(kind, temperature_c, units)
    best = ""
    if kind.best_c is not None and temperature_c not in kind.best_c:
        best = f" They do best at {say_temperatures(kind.best_c, units)}."
    ready = _ready(culture, kind, temperature_c)
    if ready is None:
        undated = grown.days is not None and culture.started is None
        ask = " When this culture was begun is not known, so I name no day." if undated else ""
        return grown.reason + ask + best
    if day < ready[0]:
        when = f"The first should be grown between {_say_day(ready[0])} and {_say_day(ready[1])}."
    elif day <= ready[1]:
        when = f"The first are likely grown by now, at the latest by {_say_day(ready[1])}."
    else:
        when = "The first should be grown by now."
    return when + best


def _ready(culture: Culture, kind: FeederCulture, temperature_c: float | None) -> tuple[date, date] | None:
    if culture.started is None or temperature_c is None:
        return None
    return ready_between(kind, temperature_c, culture.started)


def _losses_said(died: int, failing: bool | None) -> str:  # noqa: FBT001 - a finding, not a switch
    if failing is not None:
        return ""
    return (
        f" {died} died within a week; how many live in it is not known, so judge yourself: more than a tenth without a "
        "known reason means that the whole culture goes."
    )


def _say_day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"


def _why(culture: Culture, kind: FeederCulture, temperature_c: float | None, units: Units) -> Why:
    shown = "not known" if temperature_c is None else say_temperature(temperature_c, units)
    begun = "not known" if culture.started is None else culture.started.isoformat()
    return Why(
        rule="Cultures are looked after at a fixed interval; growth adds up the warmth above a threshold, and the band "
        "is 15 % to either side. More than a tenth dead within a week ends a culture.",
        inputs=(Input("temperature", shown, culture.temperature_c is None), Input("begun", begun)),
        evidence=kind.evidence.get("care_days", PRACTICE),
        would_change=("A warmer or cooler place.", "Mites, mould or many deaths: discard the whole culture."),
    )
