"""A growing colony: when to count it, and when it needs room or has too much of it.

Room is judged by how much of the chambers the workers fill. Each takes a square of its body length on the floor, for
itself, brood and passage, and a height of three lengths but no more than a chamber's centimetre. No measured figure was
found; this is judgement, and the keeper's eye outranks it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bot.care.colony import Colony, NestKind
from bot.care.duty import Duty, Input, Urgency, Why
from bot.care.evidence import JUDGEMENT, PRACTICE
from bot.care.growth.founding import is_founding
from bot.care.growth.trend import Direction, counts_of, known_since, trend
from bot.care.phase import Phase
from bot.care.situation import Advice, Situation
from bot.care.species import SpeciesProfile
from bot.care.units import Band

CENSUS_DAYS = 30
CENSUS_AFTER_DAYS = 14
"""A colony that just came has just been counted."""
LENGTHS_HIGH = 3.0
CHAMBER_MM = 10.0
"""Height of a usual chamber."""
DIFFER = 2.0
MOSTLY_SMALL = 0.3
"""Where the longest workers have more than `DIFFER` times the length of the shortest, most are small: the mean lies so
far on the way between both."""
OUTWORLD_SHARE = 0.5
"""A tube filled to this share gets an outworld."""
FULL_SHARE = 0.8
TOO_LARGE_SHARE = 0.1
"""A nest filled to less than this is mostly used for waste."""
TUBE_BORE_MM = 16.0
TUBE_LENGTH_MM = 60.0
"""Living space between the cotton and the stopper (common practice)."""
TUBES_BEFORE_NEST = 3
LEAD_WEEKS = 4
"""Space is prepared so long before a growing colony needs it."""
SPECIAL_HOMES = (
    (frozenset({"leaf_woven", "silk_nest"}), " Ants that weave build their own: give them leafy living plants."),
    (frozenset({"dead_wood", "twig", "acorn_twig", "carton"}), " Wood or cork suits them, as these ants live in it."),
)
"""Homes of ants that live nowhere else (common practice)."""
MOVING_IN = (
    "Join it, dark and moist, to the old one and let light and dryness come to the old: they move by themselves, in "
    "days or months. Do not shake them out."
)


@dataclass(frozen=True, slots=True)
class Room:
    """Volume of the chambers in cm3 and the share of it that is filled; `None` where it cannot be said."""

    volume_cm3: float | None
    share: float | None
    tubes: float
    assumed: bool


@dataclass(frozen=True, slots=True)
class _Step:
    """What to do about the room."""

    reason: str
    next_space: str
    cautions: tuple[str, ...] = ("STRESS-MOVE",)
    urgency: Urgency = Urgency.ROUTINE


def tube_cm3(bore_mm: float | None) -> float:
    """Living space of one tube in cm3."""
    bore = TUBE_BORE_MM if bore_mm is None else bore_mm
    return math.pi * (bore / 2) ** 2 * TUBE_LENGTH_MM / 1000


def worker_cm3(length_mm: Band) -> float:
    """Room that one worker takes, in cm3."""
    differ = length_mm.high > DIFFER * length_mm.low
    mean = length_mm.low + MOSTLY_SMALL * (length_mm.high - length_mm.low) if differ else length_mm.middle
    return mean**2 * min(LENGTHS_HIGH * mean, CHAMBER_MM) / 1000


def room_of(colony: Colony, profile: SpeciesProfile) -> Room:
    """How full the nest is; a tube of unknown size counts as one of the usual size."""
    one, volume = tube_cm3(colony.nest.bore_mm), colony.nest.volume_cm3
    assumed = volume is None
    if volume is None and colony.nest.kind is NestKind.TUBE:
        volume = one
    share = None
    if volume and profile.worker_mm is not None:
        share = colony.workers * worker_cm3(profile.worker_mm) / volume
    return Room(volume, share, 1.0 if volume is None else max(1.0, volume / one), assumed)


def _weeks_until_full(situation: Situation, share: float) -> float | None:
    """Weeks until a growing colony fills its nest, `None` where the counts do not show growth."""
    found = trend(counts_of(situation.colony.log))
    if found.direction is not Direction.GROWING or share <= 0:
        return None
    return max(0.0, math.log(FULL_SHARE / share) / math.log1p(found.percent_per_week / 100))


def _home(profile: SpeciesProfile) -> str:
    """A word where the species lives in something special."""
    habits = frozenset(profile.nest_habits)
    return next((word for special, word in SPECIAL_HOMES if habits and habits <= special), "")


def _tube_step(situation: Situation, room: Room, *, full: bool) -> _Step | None:
    share = room.share or 0.0
    if situation.colony.outworld is None:
        if share < OUTWORLD_SHARE and not full:
            return None
        reason = "The tube fills up: join it to an outworld, where food, waste and dead find their place."
        return _Step(reason, "outworld", (), Urgency.SOON)
    if not full:
        return None
    if round(room.tubes) < TUBES_BEFORE_NEST:
        return _Step(f"The tube is nearly full: lay another one, filled and dark, beside it. {MOVING_IN}", "tube")
    kind = _home(situation.profile)
    return _Step(f"Several tubes are full: it is time for a nest, a small one.{kind} {MOVING_IN}", "nest")


def _nest_step(situation: Situation, room: Room, *, full: bool) -> _Step | None:
    if full and situation.colony.nest.kind is NestKind.NATURALISTIC:
        reason = "The tank is nearly full: join a further one, its ground baked or boiled before. Do not dig them out."
        return _Step(reason, "nest", ("STRESS-MOVE", "SUBSTRATE-CLEAN"))
    if full:
        kind = _home(situation.profile)
        reason = f"The nest is nearly full: add a chamber or a further nest of like size.{kind} {MOVING_IN}"
        return _Step(reason, "nest")
    spacious = room.share is not None and room.share < TOO_LARGE_SHARE
    if spacious and situation.colony.nest.kind is NestKind.NEST:
        reason = "The nest is much too large: unused chambers fill with waste and mould. Close part of it off for now."
        return _Step(reason, "less", ("SPACE-LARGE",))
    return None


def _step(situation: Situation, room: Room) -> _Step | None:
    if room.share is None:
        reason = "I cannot tell how full the nest is: look, and add room when workers and brood fill most of it."
        return _Step(reason, "look", ())
    weeks = _weeks_until_full(situation, room.share)
    full = room.share >= FULL_SHARE or (weeks is not None and weeks <= LEAD_WEEKS)
    in_tube = situation.colony.nest.kind is NestKind.TUBE
    return (_tube_step if in_tube else _nest_step)(situation, room, full=full)


def _may_disturb(situation: Situation) -> bool:
    empty = situation.colony.queens + situation.colony.workers == 0
    return situation.phase is Phase.ACTIVE and not empty and not is_founding(situation.colony)


def advise_space(situation: Situation) -> Advice | None:
    """Add or close off room; `None` while it fits, while a queen founds, and outside the active season."""
    colony = situation.colony
    room = room_of(colony, situation.profile)
    step = _step(situation, room) if _may_disturb(situation) else None
    if step is None:
        return None
    facts: dict[str, float | str] = {"interval_days": 30, "next_space": step.next_space}
    if room.share is not None:
        facts["filled_percent"] = round(100 * room.share)
    volume = "not known" if room.volume_cm3 is None else f"{room.volume_cm3:.0f} cm³"
    length = situation.profile.worker_mm
    return Advice(
        duty=Duty.SPACE,
        interval_days=30,
        band_days=Band(14, 60),
        reason=step.reason,
        why=Why(
            rule="Each worker takes a square of its body length on the floor, up to a centimetre high; above four "
            "fifths it is full, below a tenth too large.",
            inputs=(
                Input("workers", str(colony.workers)),
                Input("room in the chambers", volume, room.assumed),
                Input("length of a worker", "not known" if length is None else f"{length.middle:.1f} mm"),
            ),
            evidence=JUDGEMENT,
            would_change=("A new count, another nest, or what you see: your eye outranks this figure.",),
        ),
        urgency=step.urgency,
        useful_days=14,
        facts=facts,
        cautions=step.cautions,
    )


def advise_census(situation: Situation) -> Advice | None:
    """Count the workers about monthly; `None` while a queen founds (leave her alone) and outside the active season."""
    colony = situation.colony
    if is_founding(colony) or situation.phase is not Phase.ACTIVE or colony.queens + colony.workers == 0:
        return None
    found = trend(counts_of(colony.log))
    # Anchored on a date of the past: a wait that began anew with every plan would never end.
    known_days = (situation.day - (known_since(colony) or situation.day)).days
    facts: dict[str, float | str] = {"interval_days": CENSUS_DAYS, "trend": found.direction.value}
    if found.direction is not Direction.UNKNOWN:
        facts["percent_per_week"] = round(found.percent_per_week, 1)
    return Advice(
        duty=Duty.CENSUS,
        interval_days=CENSUS_DAYS,
        band_days=Band(21, 42),
        reason="Count or estimate the workers about once a month: food, space and water follow their number.",
        why=Why(
            rule="Monthly while active; never while a queen founds or a colony rests, so that nobody is disturbed.",
            inputs=(Input("workers", str(colony.workers)), Input("counts so far", str(found.counts))),
            evidence=PRACTICE,
            would_change=("A rest or a founding stage stops it.",),
        ),
        first_after_days=max(0, CENSUS_AFTER_DAYS - known_days),
        useful_days=14,
        facts=facts,
    )
