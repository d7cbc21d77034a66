"""What the log of waterings says: one learned drying factor a nest, how long each side was wet, which side is next.

The factor is log-normal and is updated by each verdict (still damp, about dry, bone dry); spreads are judgement.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from math import log, sqrt

from bot.care.colony import Colony, LearnedDrying, LogEntry, NestKind, Side
from bot.care.duty import Duty, Outcome
from bot.care.once import once
from bot.care.phase import COLD_PHASES
from bot.care.situation import Situation
from bot.care.units import Band
from bot.care.water.mould import DRY_REST_DAYS, HIGH_INDEX, WetIndex
from bot.care.water.nest import FACTOR, forecast_drying, fresh_learning, material_of, nest_water

TOUCH_SPREAD = 0.35
WEIGHED_SPREAD = 0.10
HINT_SPREAD = 0.5
"""Spread of a verdict that only says "not yet" or "too late"."""
DRIFT_A_DAY = 0.0007
WIDEST = 0.36
REMEMBERED = 30
"""Verdicts to learn from, and waterings to judge the sides by; older ones no longer change the answer."""
WATERED = frozenset({Outcome.DONE, Outcome.ABOUT_DRY, Outcome.BONE_DRY})
"""A visit with one of these gave water. `still damp` did so only where it names the side that was watered."""
LOOKED = WATERED | {Outcome.DAMP}
MEAN = Band(log(FACTOR.low), log(FACTOR.high))


@dataclass(frozen=True, slots=True)
class Visit:
    """A look at the water on a day. The verdict speaks of the side that was drying; `side` is the one watered then.

    A look without water keeps the side that was watered last.
    """

    day: date
    side: Side
    verdict: Outcome
    watered: bool


def learn(
    learned: LearnedDrying, model_days: float, observed_days: float, verdict: Outcome, *, weighed: bool = False
) -> LearnedDrying:
    """The factor after one verdict, `observed_days` after watering, where the model alone says `model_days`.

    Still damp only ever lengthens the forecast, bone dry only ever shortens it; other outcomes teach nothing. What is
    too far off (a holiday, a spill) is dropped.
    """
    if model_days <= 0 or observed_days <= 0:
        return learned
    offset = log(model_days / observed_days)
    match verdict:
        case Outcome.ABOUT_DRY:
            seen, spread = offset, WEIGHED_SPREAD if weighed else TOUCH_SPREAD
        case Outcome.DAMP if learned.mean > offset:
            seen, spread = offset - log(1.25), HINT_SPREAD
        case Outcome.BONE_DRY if learned.mean < offset:
            seen, spread = offset - log(0.8), HINT_SPREAD
        case _:
            return learned
    if abs(seen - learned.mean) > 3 * sqrt(learned.variance + spread**2):
        return learned
    variance = 1 / (1 / learned.variance + 1 / spread**2)
    mean = variance * (learned.mean / learned.variance + seen / spread**2)
    return LearnedDrying(MEAN.clamp(mean), variance)


def drift(learned: LearnedDrying, days: float) -> LearnedDrying:
    """A little less sure with every day that passes: season, ageing of the material."""
    return replace(learned, variance=min(learned.variance + DRIFT_A_DAY * max(days, 0), max(learned.variance, WIDEST)))


def unsettle(learned: LearnedDrying) -> LearnedDrying:
    """After a change of place or heater: keep the mean, be as unsure as at first."""
    return replace(learned, variance=WIDEST)


@once
def visits(colony: Colony, newest: int | None = None) -> tuple[Visit, ...]:
    """Looks at the water since the colony moved into its nest, oldest first, one a day (the last word of the day).

    Entries without a side alternate backwards from the side the colony has watered last. `newest`: only so many.
    """
    since = colony.nest.changed or date.min
    side, day, found = colony.nest.watered_side, date.max, list[Visit]()
    for entry in reversed(colony.log):
        if entry.duty is not Duty.WATER or entry.outcome not in LOOKED or entry.day >= day:
            continue
        if entry.day < since or len(found) == newest:
            break
        day = entry.day
        side = side if entry.side is None else entry.side
        watered = entry.outcome in WATERED or entry.side is not None
        found.append(Visit(day, side, entry.outcome, watered))
        side = side.other if watered else side
    return tuple(reversed(found))


def after_watering(colony: Colony, day: date, side: Side | None) -> Colony:
    """The colony after water was given as planned, for a plan that runs ahead; `side` is `None` for a tube."""
    entry = LogEntry(day=day, duty=Duty.WATER, outcome=Outcome.DONE, side=side)
    nest = colony.nest if side is None else replace(colony.nest, watered_side=side)
    return replace(colony, nest=nest, log=(*colony.log, entry))


def learned_from_log(situation: Situation) -> LearnedDrying:
    """What the nest's own log teaches up to the day. A nest before the present one teaches nothing."""
    learned = fresh_learning(nest_water(situation))
    watered: date | None = None
    seen: date | None = None
    looks = [visit for visit in visits(situation.colony) if visit.day <= situation.day]
    taught = [visit for visit in looks if visit.verdict is not Outcome.DONE][-REMEMBERED:]
    for visit in looks:
        if seen is not None:
            learned = drift(learned, (visit.day - seen).days)
        if watered is not None and visit in taught:
            then = nest_water(replace(situation, day=watered))
            learned = learn(learned, then.model_days, (visit.day - watered).days, visit.verdict)
        seen = visit.day
        watered = visit.day if visit.watered else watered
    return learned if seen is None else drift(learned, (situation.day - seen).days)


@dataclass(frozen=True, slots=True)
class SideState:
    """One side: mould index when its last wet spell ended and now, and how long it has been dry (0 while wet)."""

    peak: float = 0.0
    index: WetIndex = field(default_factory=WetIndex)
    dry_days: float = 0.0

    @property
    def needs_dry(self) -> bool:
        """Whether it must stay dry for now: traces of mould are expected and it had no dry week yet."""
        return self.peak >= HIGH_INDEX and self.dry_days < DRY_REST_DAYS


@dataclass(frozen=True, slots=True)
class SideChoice:
    """The side to water next and the share of the usual water; `collided` when both sides should stay dry.

    `states` is empty while no look has found a side damp too long: then nothing hangs on it.
    """

    side: Side
    share: float
    reason: str
    collided: bool
    states: Mapping[Side, SideState] = field(default_factory=dict)


def side_states(situation: Situation, learned: LearnedDrying) -> dict[Side, SideState]:
    """How wet both sides have been, from the log and, between visits, from the forecast."""
    looks = [visit for visit in visits(situation.colony, REMEMBERED) if visit.day <= situation.day]
    spells = _spells(situation, _Lasting(situation, learned), looks)
    return {side: _state(situation, spells[side], side) for side in Side}


class _Lasting:
    """Forecast days by the day of a watering; phase and month decide, so each pair of them is computed once."""

    def __init__(self, situation: Situation, learned: LearnedDrying) -> None:
        self._situation, self._learned = situation, learned
        self._known: dict[tuple[date | None, int], float] = {}

    def days(self, watered: date) -> float:
        span = self._situation.rest.span_on(watered)
        key = (None if span is None else span.start, watered.month)
        if key not in self._known:
            self._known[key] = forecast_drying(replace(self._situation, day=watered), self._learned).days
        return self._known[key]


def next_side(situation: Situation, learned: LearnedDrying | None = None) -> SideChoice | None:
    """Which side gets water next; `None` for a tube, which has one water supply.

    The sides take turns. A side that moulds stays dry for a week; when both should, the colony's need for water comes
    first: the better side gets half.
    """
    colony = situation.colony
    if colony.nest.kind is NestKind.TUBE:
        return None
    last = colony.nest.watered_side
    turn = last.other
    # Sides that took turns as planned are not accused of mould: a look must have found one damp too long, or fuzz.
    if not _seen_damp(situation):
        return SideChoice(turn, 1.0, f"Water side {turn} next.", collided=False)
    states = side_states(situation, learned_from_log(situation) if learned is None else learned)
    if not states[turn].needs_dry:
        return SideChoice(turn, 1.0, f"Water side {turn} next.", collided=False, states=states)
    if not states[last].needs_dry:
        why = f"Water side {last} again: side {turn} should have been damp for long and needs a dry week against mould."
        return SideChoice(last, 1.0, why, collided=False, states=states)
    best = min((turn, last), key=lambda side: states[side].index.value)
    if situation.phase in COLD_PHASES:
        why = f"Both sides should have been damp for long: if one is nearly dry, give a little to side {best}."
    else:
        why = (
            f"Both sides should have been damp for long: give side {best} half as much, raise the nest a little and "
            "let air move. Mould? Offer a clean nest."
        )
    return SideChoice(best, 0.5, why, collided=True, states=states)


def _spells(situation: Situation, lasts: _Lasting, looks: Sequence[Visit]) -> dict[Side, list[tuple[date, float]]]:
    """Wet spells of both sides, oldest first: the day of the watering, and the days until that side was dry.

    A spell lasts as long as the forecast says, unless the next visits saw the side damp later or dry sooner.
    """
    spells: dict[Side, list[tuple[date, float]]] = {side: [] for side in Side}
    for number, visit in enumerate(looks):
        if not visit.watered:
            continue
        lasted = lasts.days(visit.day)
        for later in looks[number + 1 :]:
            seen = (later.day - visit.day).days
            if later.verdict is Outcome.DAMP:
                lasted = max(lasted, seen)
            elif later.verdict in {Outcome.ABOUT_DRY, Outcome.BONE_DRY}:
                lasted = min(lasted, seen)
            if later.watered:
                break
        spells[visit.side].append((visit.day, min(lasted, (situation.day - visit.day).days)))
    return spells


def _state(situation: Situation, spells: Sequence[tuple[date, float]], side: Side) -> SideState:
    index, sensitivity = WetIndex(), material_of(situation).mould_sensitivity
    dry_since: float | None = None
    """Days before `situation.day`, as a negative number."""
    for watered, lasted in spells:
        start = (watered - situation.day).days
        if dry_since is not None and start > dry_since:
            index = index.dry(start - dry_since)
        end, wet_from = start + lasted, start if dry_since is None else max(start, dry_since)
        index = index.wet(end - wet_from, situation.room_c_on(watered), sensitivity)
        dry_since = end if dry_since is None else max(end, dry_since)
    if _fuzz_seen(situation, side):
        index = WetIndex(max(index.value, 2.0))
    dry_days = 0.0 if dry_since is None else -dry_since
    return SideState(index.value, index.dry(dry_days), dry_days)


def _seen_damp(situation: Situation) -> bool:
    damp = any(visit.verdict is Outcome.DAMP for visit in visits(situation.colony, REMEMBERED))
    return damp or any(_fuzz_seen(situation, side) for side in Side)


def _fuzz_seen(situation: Situation, side: Side) -> bool:
    """Whether mould was logged on this side since the last move."""
    since = situation.colony.nest.changed or date.min
    return any(
        entry.outcome is Outcome.MOULD and entry.side is side and entry.day >= since for entry in situation.colony.log
    )
