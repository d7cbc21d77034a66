"""What the handbook knows of a genus or species. Unknown stays `None`: the bot asks, widens the band, or says so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from bot.care.evidence import Evidence
from bot.care.units import Band


class DormancyClass(StrEnum):
    """Seasonal cycle of a species, after Kipyatkov 2001 (see `config/sources`), plus two of our own."""

    ENDO = "ENDO"
    """Runs an inner timer: rests every year, warm or cold."""
    EXO = "EXO"
    """Rests when autumn cools down."""
    QUASI = "QUASI"
    """Only slowed by cold; no true rest."""
    HOMO = "HOMO"
    """Active all year; must not be chilled."""
    REVERSED = "REVERSED"
    """Active in the cool season, rests in summer."""
    UNKNOWN = "UNKNOWN"


class Founding(StrEnum):
    """How a queen starts a colony."""

    CLAUSTRAL = "claustral"
    SEMI_CLAUSTRAL = "semi-claustral"
    PARASITIC = "parasitic"
    BUDDING = "budding"


class Guild(StrEnum):
    """What a genus lives on."""

    SEEDS = "seed harvester"
    LEAVES = "leaf cutter"
    FUNGUS = "fungus grower"
    HONEYDEW = "honeydew feeder"
    HONEYPOT = "honeypot"
    GENERALIST = "generalist"
    SMALL_PREY = "small-prey predator"
    BROOD_RAIDER = "brood raider"
    PREDATOR = "predator"
    ARMY = "army ant"
    PARASITE = "social parasite"


class Moisture(StrEnum):
    """How moist the nest should be; every nest still needs a gradient."""

    DRY = "dry"
    MEDIUM = "medium"
    HUMID = "humid"
    GRADIENT = "gradient"


class Growth(StrEnum):
    """How fast a well-kept colony grows."""

    SLOW = "slow"
    MODERATE = "moderate"
    FAST = "fast"


class WinterBrood(StrEnum):
    """Which brood a colony carries through winter."""

    NONE = "none"
    LARVAE = "larvae"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Development:
    """Linear rate model egg to worker: days = `degree_days` / (T - `threshold_c`)."""

    threshold_c: float
    degree_days: float
    spread: float
    """Relative half-width of the band, such as 0.3."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeciesProfile:
    """Resolved profile of a species, or of a genus where only that is known.

    Units: temperatures in C, lengths in mm, masses in mg, rest in weeks. `evidence` maps field names to what stands
    behind them; a field that is `None` has no entry.
    """

    name: str
    genus: str
    rank: str
    """`species` or `genus`; a genus widens the bands."""
    aliases: tuple[str, ...] = ()
    subfamily: str | None = None
    native_regions: tuple[str, ...] = ()
    hemispheres: tuple[str, ...] = ()
    dormancy: DormancyClass = DormancyClass.UNKNOWN
    rest_target_c: float | None = None
    rest_band_c: Band | None = None
    rest_weeks: Band | None = None
    rest_floor_weeks: float | None = None
    """Shortest rest we would accept."""
    winter_brood: WinterBrood | None = None
    founding: tuple[Founding, ...] = ()
    guilds: tuple[Guild, ...] = (Guild.GENERALIST,)
    moisture: Moisture | None = None
    active_c: Band | None = None
    """Warm side in the growing season."""
    heat_alarm_c: float | None = None
    worker_mm: Band | None = None
    worker_mg: float | None = None
    polymorphic: bool | None = None
    colony_size: Band | None = None
    pace: float | None = None
    """Metabolic pace relative to a fast tropical ant (1.0)."""
    nest_habits: tuple[str, ...] = ()
    hazard: int | None = None
    """0 harmless to 3 medically important; unknown counts as 2."""
    hazard_kinds: tuple[str, ...] = ()
    systemic_reactions: bool | None = None
    climbs_smooth: bool | None = None
    """Unknown counts as a climber."""
    growth: Growth | None = None
    development: Development | None = None
    regulation: tuple[str, ...] = ()
    note: str | None = None
    evidence: Mapping[str, Evidence] = field(default_factory=dict)
    weak_fields: tuple[str, ...] = ()

    @property
    def needs_rest(self) -> bool:
        """Whether the class winters at all (QUASI may, but need not)."""
        return self.dormancy in {DormancyClass.ENDO, DormancyClass.EXO, DormancyClass.UNKNOWN}

    @property
    def assumed_hazard(self) -> int:
        """Hazard with the unknown taken as 2."""
        return 2 if self.hazard is None else self.hazard

    @property
    def assumed_climber(self) -> bool:
        """Whether to plan barriers as if it climbs smooth walls."""
        return self.climbs_smooth is not False
