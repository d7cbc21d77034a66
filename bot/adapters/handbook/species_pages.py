"""Schemas of the species files: a genus, its species, and the facts both may state.

Unknown is written by leaving a fact out. A species takes from its genus every fact that it does not state itself; a
fact that holds for the genus but is unknown, or does not apply, for one species is named in that species' `unknown`
list, and is then absent. There is no null and no placeholder: what is absent stays `None` in the care values.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import AfterValidator, Field, StrictFloat, model_validator

from bot.adapters.handbook.figures import (
    Number,
    Page,
    Range,
    Stated,
    Whole,
    YesNo,
    category,
    in_unit,
    measured,
    once,
    words,
)
from bot.adapters.handbook.vocabulary import HAZARDS, HEMISPHERES, NEST_HABITS, REGIONS, REGULATION
from bot.care.evidence import Confidence
from bot.care.species import DormancyClass, Founding, Growth, Guild, Moisture, WinterBrood

is_category = AfterValidator(category)
is_list = AfterValidator(once)


class DevelopmentValue(Page):
    """Constants of the linear rate model; see `bot.care.species.Development`."""

    threshold_c: Annotated[StrictFloat, Field(ge=0, le=25)]
    degree_days: Annotated[StrictFloat, Field(ge=50, le=3000)]
    spread: Annotated[StrictFloat, Field(gt=0, le=1)]


def _in_degree_days(fact: Stated[DevelopmentValue]) -> Stated[DevelopmentValue]:
    return in_unit(fact, "C and degree-days")


class Facts(Page):
    """What a genus or species file may state; names and meaning as in `bot.care.species.SpeciesProfile`."""

    native_regions: Annotated[Stated[tuple[str, ...]], words(REGIONS)] | None = None
    hemispheres: Annotated[Stated[tuple[str, ...]], words(HEMISPHERES)] | None = None
    dormancy: Annotated[Stated[DormancyClass], is_category] | None = None
    rest_target_c: Annotated[Number, measured("C", 0, 25)] | None = None
    rest_band_c: Annotated[Range, measured("C", 0, 25)] | None = None
    rest_weeks: Annotated[Range, measured("weeks", 0, 40)] | None = None
    rest_floor_weeks: Annotated[Number, measured("weeks", 0, 30)] | None = None
    winter_brood: Annotated[Stated[WinterBrood], is_category] | None = None
    founding: Annotated[Stated[tuple[Founding, ...]], is_category, is_list] | None = None
    guilds: Annotated[Stated[tuple[Guild, ...]], is_category, is_list] | None = None
    moisture: Annotated[Stated[Moisture], is_category] | None = None
    active_c: Annotated[Range, measured("C", 5, 40)] | None = None
    heat_alarm_c: Annotated[Number, measured("C", 20, 45)] | None = None
    worker_mm: Annotated[Range, measured("mm", 0.5, 50)] | None = None
    worker_mg: Annotated[Number, measured("mg", 0.02, 500)] | None = None
    polymorphic: YesNo | None = None
    colony_size: Annotated[Range, measured("workers", 1, 50_000_000)] | None = None
    pace: Annotated[Number, measured("1", 0.05, 3)] | None = None
    nest_habits: Annotated[Stated[tuple[str, ...]], words(NEST_HABITS)] | None = None
    hazard: Annotated[Whole, measured("grade", 0, 3)] | None = None
    hazard_kinds: Annotated[Stated[tuple[str, ...]], words(HAZARDS)] | None = None
    systemic_reactions: YesNo | None = None
    climbs_smooth: YesNo | None = None
    growth: Annotated[Stated[Growth], is_category] | None = None
    development: Annotated[Stated[DevelopmentValue], AfterValidator(_in_degree_days)] | None = None
    regulation: Annotated[Stated[tuple[str, ...]], words(REGULATION)] | None = None

    @property
    def stated(self) -> dict[str, Stated[object]]:
        """The facts that are known, by name."""
        return {name: fact for name in type(self).model_fields if (fact := getattr(self, name)) is not None}


class SpeciesPage(Page):
    """One species of a genus file: what it states beyond, or instead of, its genus."""

    genus: str
    aliases: tuple[str, ...] = ()
    note: str | None = None
    note_source: tuple[str, ...] = ()
    note_confidence: Confidence | None = None
    weak: tuple[str, ...] = ()
    """Facts to check first."""
    unknown: tuple[str, ...] = ()
    """Facts of the genus that do not carry over to this species."""
    facts: Facts = Facts()

    @model_validator(mode="after")
    def _names_are_facts(self) -> Self:
        for key in ("weak", "unknown"):
            for name in getattr(self, key):
                if name not in Facts.model_fields:
                    facts = ", ".join(Facts.model_fields)
                    raise ValueError(f"{key} names “{name}”, which is no fact; facts are {facts}")
        return self

    @model_validator(mode="after")
    def _a_note_has_a_source(self) -> Self:
        if self.note is not None and not (self.note_source and self.note_confidence):
            raise ValueError("a note needs note_source and note_confidence beside it")
        return self


class GenusPage(SpeciesPage):
    """The head of a genus file."""

    subfamily: str
