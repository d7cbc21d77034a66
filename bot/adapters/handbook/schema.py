"""Schemas of everything in `config/` but species, whose schemas stand in `species_pages.py`.

Entries are keyed by id; fields are named as in `bot.care.goods` and `bot.care.cautions`.

A figure is stated with unit, source and confidence; texts, switches and kinds are plain. Unknown is written by leaving
the key out and stays `None`.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, Field, StrictBool, StringConstraints

from bot.adapters.handbook.figures import Number, Page, Range, Stated, Whole, in_unit, measured
from bot.care.cautions import Kind, Severity
from bot.care.evidence import Confidence
from bot.care.goods import FoodKind

Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Ids = tuple[str, ...]


class SourcePage(Page):
    """A published source and what of it was read."""

    citation: Text
    read: Text


class CautionPage(Page):
    """A caution; its text is shown whole, so it must fit one line of a message."""

    kind: Kind
    severity: Severity
    text: Annotated[Text, Field(max_length=240)]
    advice: Text
    medical: StrictBool = False
    whom: Annotated[Text, Field(max_length=60)] | None = None
    source: Annotated[Ids, Field(min_length=1)]
    confidence: Confidence


class MaterialPage(Page):
    """A nest material."""

    name: Text
    capacity: Annotated[Number, measured("ml/cm3", 0, 1)]
    capacity_band: Annotated[Range, measured("ml/cm3", 0, 1)]
    stage_two_share: Annotated[Number, measured("1", 0, 1)]
    interval_days: Annotated[Range, measured("d", 0.5, 400)]
    rest_interval_days: Annotated[Range, measured("d", 0.5, 400)]
    mould_sensitivity: Annotated[Number, measured("1", 0, 5)]
    lime_based: StrictBool = False
    reservoir: StrictBool = False


class BarrierPage(Page):
    """An escape barrier; `renew_days` is absent where it is renewed on wear."""

    name: Text
    check_days: Annotated[Whole, measured("d", 1, 365)]
    renew_days: Annotated[Whole, measured("d", 1, 730)] | None = None
    humidity_sensitive: StrictBool
    cautions: Ids = ()


class HeaterPage(Page):
    """A kind of heat source."""

    name: Text
    assumed_rise_c: Annotated[Number, measured("C", 0, 30)] | None = None
    check_days: Annotated[Whole, measured("d", 1, 365)]
    cautions: Ids = ()


class FoodPage(Page):
    """A food."""

    name: Text
    kind: FoodKind
    item_g: Annotated[Number, measured("g", 0.00001, 50)] | None = None
    item_band_g: Annotated[Range, measured("g", 0.00001, 50)] | None = None
    water_percent: Annotated[Number, measured("%", 0, 100)] | None = None
    protein_percent: Annotated[Number, measured("%", 0, 100)] | None = None
    fat_percent: Annotated[Number, measured("%", 0, 100)] | None = None
    energy_dry: Annotated[Number, measured("kcal/g", 0, 10)] | None = None
    sugar_percent: Annotated[Number, measured("% w/w", 0, 100)] | None = None
    open_hours: Annotated[Number, measured("h", 0.5, 2000)] | None = None
    cautions: Ids = ()


class FeederPage(Page):
    """A feeder insect that keepers breed."""

    name: Text
    threshold_c: Annotated[Number, measured("C", 0, 30)] | None = None
    degree_days: Annotated[Number, measured("C d", 20, 5000)] | None = None
    stop_c: Annotated[Number, measured("C", 0, 30)] | None = None
    best_c: Annotated[Range, measured("C", 5, 45)] | None = None
    care_days: Annotated[Whole, measured("d", 1, 90)]
    tasks: Text
    cautions: Ids = ()


def _without_unit(fact: Stated[str]) -> Stated[str]:
    return in_unit(fact, "1")


class CountryPage(Page):
    """A country; its key is the ISO 3166-1 alpha-2 code."""

    name: Text
    emergency: Annotated[Stated[Text], AfterValidator(_without_unit)] | None = None
    law_caution: str | None = None
