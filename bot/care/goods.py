"""Things of the trade with figures of their own: nest materials, barriers, heaters, foods, feeder insects, countries.

All are values read from `config/`; unknown figures are `None`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from bot.care.evidence import Evidence
from bot.care.units import Band


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """A nest material.

    Units: capacity in ml water per cm3; `stage_two_share` is the share of the water left when drying slows down;
    `interval_days` bounds the answer of the drying model, and `rest_interval_days` does so in rest.
    """

    id: str
    name: str
    capacity: float
    capacity_band: Band
    stage_two_share: float
    interval_days: Band
    rest_interval_days: Band
    mould_sensitivity: float
    lime_based: bool = False
    reservoir: bool = False
    """Water sits in an insert or reservoir, not in the walls."""
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Barrier:
    """An escape barrier. Days; `renew_days` is `None` for barriers that are refilled or renewed on wear."""

    id: str
    name: str
    check_days: int
    renew_days: int | None
    humidity_sensitive: bool
    cautions: tuple[str, ...] = ()
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaterKind:
    """A kind of heat source; `assumed_rise_c` stands in where the wall was not measured."""

    id: str
    name: str
    assumed_rise_c: float | None
    check_days: int
    cautions: tuple[str, ...] = ()
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


class FoodKind(StrEnum):
    """What a food gives."""

    SUGAR = "sugar"
    PREY = "prey"
    SEEDS = "seeds"
    LEAVES = "leaves"


@dataclass(frozen=True, slots=True, kw_only=True)
class Food:
    """A food. Masses in g per piece, composition in percent of wet mass, energy in kcal per g dry mass.

    Sugars carry `sugar_percent` (w/w) and `open_hours` at 25 C; prey carries mass and composition.
    """

    id: str
    name: str
    kind: FoodKind
    item_g: float | None = None
    item_band_g: Band | None = None
    water_percent: float | None = None
    protein_percent: float | None = None
    fat_percent: float | None = None
    energy_dry: float | None = None
    sugar_percent: float | None = None
    open_hours: float | None = None
    cautions: tuple[str, ...] = ()
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeederCulture:
    """A feeder insect that keepers breed.

    Linear model: days = `degree_days` / (T - `threshold_c`), never below `stop_c`; `None` where no figure is known.
    """

    id: str
    name: str
    threshold_c: float | None
    degree_days: float | None
    stop_c: float | None
    best_c: Band | None
    care_days: int
    tasks: str
    cautions: tuple[str, ...] = ()
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Country:
    """What a country changes: emergency number and the law caution to show. Never a word that something is allowed."""

    code: str
    name: str
    emergency: str | None
    law_caution: str | None
    evidence: Mapping[str, Evidence] = field(default_factory=dict)
