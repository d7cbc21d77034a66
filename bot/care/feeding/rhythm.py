"""How many days lie between two feedings: by workers, larvae, temperature and phase.

The table follows what laboratories do (Lasius niger, Solenopsis, Nylanderia, small myrmicines); no feeding trial across
genera was found, so it is common practice. Temperature stretches it with the Q10 of 1.8 (Lighton 1988).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bot.care.feeding.energy import COOL_REST_C, NO_FOOD_C, Q10
from bot.care.growth.founding import FoundingCare
from bot.care.phase import COLD_PHASES, Phase
from bot.care.species import Guild
from bot.care.units import Band

ACTIVE_C = Band(10, 36)
"""Outside this no amount is named in the active season (judgement)."""
PROTEIN_WIND_DOWN_C = 15.0
"""Below this protein stops before a rest (common practice)."""
OPTIONAL_SUGAR = frozenset({Guild.SEEDS, Guild.PREDATOR, Guild.BROOD_RAIDER, Guild.ARMY})
"""Guilds that may do without sugar; it is offered weekly."""
FUNGUS_FARMERS = frozenset({Guild.LEAVES, Guild.FUNGUS})
"""Guilds that live on their fungus: neither prey nor sugar is planned."""
_HUNTERS = frozenset({Guild.PREDATOR, Guild.BROOD_RAIDER, Guild.ARMY})
_TINY_SUGAR_DAYS = Band(14, 21)
_WEEKLY = Band(7, 7)
ALWAYS_WARM_C = 28.0
_HARVESTER_WEEK = 7
"""Harvesters with larvae get insects at least weekly; how much more often follows the table (common practice)."""
_UNSURE_FOUNDING = Band(3, 14)
_SMALL_FARM = 1000
_PATIENT_DAYS = 3
_LARGE = 5000
_TABLE_RULE = "Days by colony size and larvae at 25 °C, stretched in the cool and shortened in the warm."


@dataclass(frozen=True, slots=True)
class Row:
    """Days at 25 C for colonies of up to `workers`; `sugar` is `None` where sugar is always there."""

    workers: float
    larvae: Band
    no_larvae: Band
    sugar: Band | None


@dataclass(frozen=True, slots=True)
class Rhythm:
    """Whole days between feedings, the band around them, and the rule in plain words."""

    days: int
    band: Band
    rule: str
    tiny: bool = False
    """Only a taste is offered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What the rhythm depends on.

    `founding` is `None` once there are workers. `larvae` `None`: not known, planned as if there were some, with a band
    that reaches to the other case. `foraging`: workers were seen at food since the colony woke.
    """

    workers: int
    founding: FoundingCare | None = None
    guild: Guild = Guild.GENERALIST
    phase: Phase = Phase.ACTIVE
    phase_day: int = 0
    temperature_c: float = 25.0
    larvae: bool | None = None
    foraging: bool = False

    @property
    def sleeps(self) -> bool:
        """Too cold to eat, outside the active season."""
        return self.phase is not Phase.ACTIVE and self.temperature_c <= NO_FOOD_C


TABLE = (
    Row(10, Band(4, 4), Band(7, 7), Band(4, 4)),
    Row(50, Band(3, 3), Band(7, 7), Band(3, 3)),
    Row(200, Band(3, 3), Band(6, 6), Band(3, 3)),
    Row(1000, Band(2, 2), Band(5, 5), Band(2, 3)),
    Row(5000, Band(2, 2), Band(4, 4), None),
    Row(math.inf, Band(1, 2), Band(3, 3), None),
)
FOUNDING_ROW = Row(0, Band(3, 4), Band(7, 7), Band(3, 4))
"""A semi-claustral queen."""


def row_of(workers: int) -> Row:
    """The row of the table that holds a colony with workers."""
    return next(row for row in TABLE if workers <= row.workers)


def temperature_multiplier(temperature_c: float) -> float:
    """Stretches intervals in the cool and shortens them in the warm: 1 at 25 C, between 0.6 and 2.5."""
    exponent = min(max((25 - temperature_c) / 10, -10.0), 10.0)
    return Band(0.6, 2.5).clamp(float(Q10**exponent))


def whole_days(days: float) -> int:
    """Nearest whole day, halves to the shorter one, at least 1."""
    return max(1, math.ceil(days - 0.5))


def _rhythm(base: Band, factor: float, rule: str) -> Rhythm:
    days = whole_days(base.middle * factor)
    # Short intervals have no slack downwards: a visit for something else must not turn into a feeding.
    low = max(1, min(days, math.ceil(base.low * factor * 0.85)))
    high = max(days, math.ceil(base.high * factor * 1.25))
    return Rhythm(days, Band(low, high), rule)


def _always(temperature_c: float) -> Rhythm:
    # In a closed feeder sugar water keeps five days at 25 C, half as long above 28 C; honey water three (common
    # practice). An open dish of it would have to be washed every other day.
    days = 2 if temperature_c > ALWAYS_WARM_C else 3
    rule = "A colony of this size always has sugar, in a closed feeder or on a wick: wash and refill it on its day."
    return Rhythm(days, Band(1, days + 2 if days == 3 else days), rule)


def always_sugar(at: Conditions) -> bool:
    """Whether the colony is so large that sugar is never taken away."""
    awake = at.phase in {Phase.ACTIVE, Phase.WIND_DOWN, Phase.RESUME}
    return awake and at.founding is None and at.guild not in OPTIONAL_SUGAR and row_of(at.workers).sugar is None


def with_a_pause(rhythm: Rhythm, workers: int, lying_days: int) -> Rhythm:
    """A day without work between taking leftovers out and the next feeding: every third day is often enough.

    Judgement: nothing is done more often than a patient keeper would, and a fed colony bears far more. Above 5000
    workers the band of the table stays the limit. `lying_days` is how long food may lie.
    """
    most = math.inf if workers <= _LARGE else rhythm.band.high
    days = int(max(rhythm.days, min(lying_days + 2, _PATIENT_DAYS, most)))
    return replace(rhythm, days=days, band=Band(rhythm.band.low, max(rhythm.band.high, days)))


def sugar_from_day(at: Conditions) -> int:
    """Day of the running phase from which food is offered: water alone on the day of waking."""
    return 1 if at.phase is Phase.RESUME else 0


def protein_from_day(at: Conditions) -> int:
    """The same for protein: after waking the fourth day, if larvae or foragers call for it, else the seventh."""
    if at.phase is not Phase.RESUME:
        return 0
    return 4 if at.larvae is True or at.foraging else 7


def _no_sugar(at: Conditions) -> bool:
    """Deep rest, walled-in queens, fungus farmers, and in the cool those that need little sugar anyway."""
    spared = at.guild in FUNGUS_FARMERS or at.founding is FoundingCare.WATER_ONLY
    return spared or at.sleeps or (at.guild in OPTIONAL_SUGAR and _only_a_taste(at))


def _only_a_taste(at: Conditions) -> bool:
    """A cool rest and the cool steps before and after it."""
    cooled = at.phase in COLD_PHASES
    return cooled and (at.temperature_c <= COOL_REST_C or at.phase is Phase.REST)


def sugar_rhythm(at: Conditions) -> Rhythm | None:
    """Days between sugar feedings, `None` where no sugar is due."""
    if _no_sugar(at):
        return None
    if _only_a_taste(at):
        rule = "In a cool rest between 12 and 16 °C only a taste of sugar every two to three weeks, none in the cold."
        return Rhythm(round(_TINY_SUGAR_DAYS.low), _TINY_SUGAR_DAYS, rule, tiny=True)
    if at.founding in {FoundingCare.FED_AND_ASKED, FoundingCare.NEEDS_WORKERS}:
        rule = "A smear of sugar once a week, until it is known how this queen founds, or until she has workers."
        return Rhythm(7, _UNSURE_FOUNDING, rule, tiny=True)
    factor = temperature_multiplier(at.temperature_c)
    row = FOUNDING_ROW if at.founding is FoundingCare.FED else row_of(at.workers)
    if at.guild in OPTIONAL_SUGAR and at.founding is None:
        return _rhythm(_WEEKLY, factor, "Ants of this diet need little sugar; it is offered about weekly.")
    return _always(at.temperature_c) if row.sugar is None else _rhythm(row.sugar, factor, _TABLE_RULE)


def _protein_share(at: Conditions) -> float:
    """Multiplier of the protein interval in a phase; 0 where protein stops."""
    if at.phase is Phase.ACTIVE:
        return 1
    if at.phase is Phase.WIND_DOWN:
        return 0 if at.larvae is False or at.temperature_c < PROTEIN_WIND_DOWN_C else 2
    return 1 if at.phase is Phase.RESUME and not at.sleeps else 0


def protein_rhythm(at: Conditions) -> Rhythm | None:
    """Days between protein feedings, `None` where none is due."""
    unfed = {FoundingCare.WATER_ONLY, FoundingCare.NEEDS_WORKERS}
    share = _protein_share(at)
    if at.guild in FUNGUS_FARMERS or at.founding in unfed or share == 0:
        return None
    if at.founding is FoundingCare.FED_AND_ASKED:
        return Rhythm(7, _UNSURE_FOUNDING, "A pinhead of prey once a week, until it is known how this queen founds.")
    row = FOUNDING_ROW if at.founding is FoundingCare.FED else row_of(at.workers)
    factor = share * temperature_multiplier(at.temperature_c)
    factor *= 1.5 if at.guild is Guild.SEEDS else 0.75 if at.guild in _HUNTERS else 1
    without = _rhythm(row.no_larvae, factor, _TABLE_RULE)
    if at.larvae is False:
        return without
    fed = _rhythm(row.larvae, factor, _TABLE_RULE)
    if at.guild is Guild.SEEDS and at.founding is None:
        fed = _towards_weekly(fed, without.days)
    return fed if at.larvae else Rhythm(fed.days, Band(fed.band.low, max(fed.band.high, without.band.high)), fed.rule)


def _towards_weekly(rhythm: Rhythm, most: int) -> Rhythm:
    """Halfway between the table and once a week, `most` days: their seeds hold protein too."""
    days = min(max(rhythm.days, whole_days((rhythm.days + _HARVESTER_WEEK) / 2)), max(rhythm.days, most))
    rule = "Harvesters live on seeds; insects for the larvae come between once a week and what others of this size get."
    return Rhythm(days, Band(rhythm.band.low, max(_HARVESTER_WEEK, rhythm.band.high)), rule)


def leaf_days(workers: int, *, slow: bool = False) -> Rhythm:
    """Days between portions for a fungus: daily while small, never more than two (it starves after 48 hours).

    `slow` is for founding queens, who want peace, and for lower fungus growers, whose oats and frass keep.
    """
    days = 1 if workers < _SMALL_FARM and not slow else 2
    return Rhythm(days, Band(1, 2), "The fungus never stays without fresh food for more than 48 hours.")
