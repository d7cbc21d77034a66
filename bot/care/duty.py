"""Kinds of care, and one dated occurrence of them with everything needed to explain it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import IntEnum, StrEnum

from bot.care.evidence import Evidence


class Duty(StrEnum):
    """Every kind of care the bot plans. Values are the command-line contract."""

    SUGAR = "sugar"
    PROTEIN = "protein"
    SEEDS = "seeds"
    LEAVES = "leaves"
    LEFTOVERS = "leftovers"
    WATER = "water"
    BARRIER_CHECK = "barrier_check"
    BARRIER_RENEW = "barrier_renew"
    OUTSIDE_WIPE = "outside_wipe"
    WASTE = "waste"
    NEST_CHANGE = "nest_change"
    SPACE = "space"
    REST_WIND_DOWN = "rest_wind_down"
    REST_COOL_DOWN = "rest_cool_down"
    REST_BEGIN = "rest_begin"
    REST_CHECK = "rest_check"
    REST_WARM_UP = "rest_warm_up"
    REST_END = "rest_end"
    HEAT_CHECK = "heat_check"
    FEEDER_CARE = "feeder_care"
    CENSUS = "census"


FEEDING = frozenset({Duty.SUGAR, Duty.PROTEIN, Duty.SEEDS, Duty.LEAVES})
REST_STEPS = frozenset(
    {
        Duty.REST_WIND_DOWN,
        Duty.REST_COOL_DOWN,
        Duty.REST_BEGIN,
        Duty.REST_CHECK,
        Duty.REST_WARM_UP,
        Duty.REST_END,
    }
)


class Outcome(StrEnum):
    """What a keeper says of an occurrence, or what was seen on a day."""

    DONE = "done"
    DAMP = "still damp"
    ABOUT_DRY = "about dry"
    BONE_DRY = "bone dry"
    TAKEN = "taken"
    HALF_TAKEN = "half taken"
    REFUSED = "refused"
    GONE_QUICKLY = "gone quickly"
    OK = "ok"
    WORN = "worn"
    SKIPPED = "not needed"
    AWAKE = "awake"
    MOULD = "mould"
    PUPAE = "pupae present"
    EGGS = "eggs seen"
    ALATES = "alates seen"
    DEATHS = "deaths"
    MITES = "mites"
    CLUSTERED = "clustered"
    NOTED = "noted"
    MORE = "more than before"
    FEWER = "fewer than before"
    SAME = "about the same"


SEEN = frozenset(
    {
        Outcome.AWAKE,
        Outcome.MOULD,
        Outcome.PUPAE,
        Outcome.EGGS,
        Outcome.ALATES,
        Outcome.DEATHS,
        Outcome.MITES,
        Outcome.CLUSTERED,
        Outcome.NOTED,
    }
)
"""What was only seen or thought: no care was given by it, so it moves no date of the duty it stands under."""


class Urgency(IntEnum):
    """Order inside a message, and whether quiet days may hold it back."""

    ROUTINE = 0
    SOON = 1
    URGENT = 2


@dataclass(frozen=True, slots=True)
class Input:
    """A value that went into a decision. `label` is plain words, `shown` carries the unit."""

    label: str
    shown: str
    defaulted: bool = False
    """True when the keeper has not said it and a default stood in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """The explanation of one decision: inputs, rule, source, and what would change it."""

    rule: str
    inputs: tuple[Input, ...] = ()
    evidence: Evidence
    would_change: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Occurrence:
    """A duty of one colony, or of one feeder culture, on one local day.

    `facts` are figures with the unit at the end of their key, such as `interval_days` or `water_ml`. `cautions` are
    ids of `config/cautions`, in the order they are shown.
    """

    colony: str
    """Key of the colony; empty for a culture."""
    duty: Duty
    day: date
    due_at: datetime
    """UTC."""
    earliest: date
    latest: date
    reason: str
    why: Why
    urgency: Urgency = Urgency.ROUTINE
    useful_days: int = 3
    """How many days after `day` it still helps to do it."""
    facts: Mapping[str, float | str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    culture: str | None = None
    """Key of the feeder culture it belongs to, if not to a colony."""
