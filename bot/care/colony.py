"""A colony as its keeper describes it: who lives there, in which nest, on which place, and what was logged.

Everything a keeper has not said is `None`; engines fill defaults and say that they did.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.care.duty import Duty, Outcome
from bot.care.errors import BadValueError


class Amount(StrEnum):
    """How much brood is seen, by eye."""

    NONE = "none"
    FEW = "few"
    SOME = "some"
    MANY = "many"


class Stage(StrEnum):
    """Where a colony stands; follows from its workers unless the keeper says otherwise."""

    FOUNDING = "founding"
    FIRST_WORKERS = "first workers"
    GROWING = "growing"
    MATURE = "mature"


class Side(StrEnum):
    """The two halves of a nest that take turns being watered. Keepers may read them as left and right."""

    A = "A"
    B = "B"

    @property
    def other(self) -> Side:
        """The other half."""
        return Side.B if self is Side.A else Side.A


class NestKind(StrEnum):
    """What the colony lives in."""

    TUBE = "tube"
    NEST = "nest"
    NATURALISTIC = "naturalistic tank"


@dataclass(frozen=True, slots=True)
class Brood:
    """Brood seen. `level` is the overall impression; the three kinds are `None` where the keeper has not looked."""

    level: Amount | None = None
    eggs: bool | None = None
    larvae: bool | None = None
    pupae: bool | None = None

    @property
    def has_larvae(self) -> bool | None:
        """Larvae seen; falls back on the overall level, `None` when nothing is known."""
        if self.larvae is not None:
            return self.larvae
        return None if self.level is None else self.level is not Amount.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """The inhabited chambers. `material` is an id of `config/materials`."""

    kind: NestKind = NestKind.TUBE
    material: str | None = None
    water_ml: float | None = None
    """Water given at one watering of one side, or the reservoir of a tube."""
    wetted_cm2: float | None = None
    openness: float | None = None
    """Share of the wetted area that exchanges air with the room, 0..1."""
    volume_cm3: float | None = None
    """Room inside the chambers."""
    changed: date | None = None
    """When the colony moved in."""
    watered_side: Side = Side.A
    """The side that was watered last."""
    bore_mm: float | None = None
    """Inner width of a tube."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heater:
    """A heat source at one edge of the nest. `kind` is an id of `config/materials/heaters`."""

    kind: str = "heat-cable"
    hot_c: float | None = None
    """Measured at the nest wall."""
    share: float | None = None
    """Share of the wetted area that is warmed, 0..1."""
    watts: float | None = None
    thermostat: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outworld:
    """The foraging area. `barrier` is an id of `config/materials/barriers`; `None` means not said."""

    barrier: str | None = None
    renewed: date | None = None
    dusty: bool = False
    limestone: bool = False
    """Stands on marble or limestone, or is made of lime-based material."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RestWishes:
    """What the keeper decided about the winter rest, and where it would happen."""

    skip: bool = False
    start: date | None = None
    """Explicit first day of the wind-down."""
    weeks: float | None = None
    place: str | None = None
    """`unheated room`, `cellar`, `fridge`, `outdoors`; `None` means not said."""
    place_low_c: float | None = None
    place_high_c: float | None = None
    origin_latitude: float | None = None
    """Where the stock comes from, for UNKNOWN classes."""
    from_other_hemisphere_since: date | None = None
    """Day on which the colony crossed the equator."""
    first_year_queen: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LogEntry:
    """Something that was done or seen on a local day."""

    day: date
    duty: Duty
    outcome: Outcome
    side: Side | None = None
    food: str | None = None
    count: int | None = None
    """Workers counted, for a census."""
    note: str | None = None


@dataclass(frozen=True, slots=True)
class LearnedDrying:
    """What watering has taught about one nest: mean and variance of ln of its drying factor (see `water/advice.py`)."""

    mean: float = 0.0
    variance: float = 0.36


@dataclass(frozen=True, kw_only=True)
class Colony:
    """One colony. `key` is an opaque identity; `species` names a profile of the handbook."""

    key: str
    name: str
    species: str
    workers: int = 0
    queens: int = 1
    brood: Brood = Brood()
    stage: Stage | None = None
    founding: str | None = None
    """Founding mode as the keeper knows it (value of `species.Founding`); `None`: take the profile's first."""
    founded: date | None = None
    arrived: date | None = None
    """Day it moved in with the keeper."""
    registered: date | None = None
    """Day the bot learned of it; nothing before is assumed to have been done."""
    place: str | None = None
    """Name of a place of the household; `None`: the household's first."""
    nest: Nest = Nest()
    heater: Heater | None = None
    outworld: Outworld | None = None
    rest: RestWishes = RestWishes()
    log: tuple[LogEntry, ...] = ()
    """Oldest first."""
    drying: LearnedDrying | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.workers <= 20_000_000:
            raise BadValueError("workers", "Workers is a number from 0 to 20,000,000; an estimate is fine.")
        if not 0 <= self.queens <= 100_000:
            raise BadValueError("queens", "Queens is a number from 0 to 100,000.")

    @property
    def learned_of(self) -> date | None:
        """The day from which the bot can know what was done: the later of arrival and registration."""
        return max((day for day in (self.arrived, self.registered) if day is not None), default=None)

    @property
    def current_stage(self) -> Stage:
        """The stage the keeper set, else one that follows from the workers."""
        if self.stage is not None:
            return self.stage
        if self.workers == 0:
            return Stage.FOUNDING
        if self.workers <= 10:
            return Stage.FIRST_WORKERS
        return Stage.GROWING if self.workers < 1000 else Stage.MATURE

    def last(self, duty: Duty, *outcomes: Outcome) -> LogEntry | None:
        """Newest log entry of a duty, optionally only with one of `outcomes`."""
        wanted = outcomes or tuple(Outcome)
        return next((entry for entry in reversed(self.log) if entry.duty is duty and entry.outcome in wanted), None)
