"""Turns checked pages into the immutable values of the trade."""

from __future__ import annotations

from typing import Any

from bot.adapters.handbook.figures import Page, Stated
from bot.adapters.handbook.schema import CautionPage, SourcePage
from bot.adapters.handbook.species_pages import DevelopmentValue, GenusPage, SpeciesPage
from bot.care.cautions import Caution
from bot.care.evidence import Evidence, Source
from bot.care.species import Development, SpeciesProfile


def to_source(key: str, page: SourcePage) -> Source:
    """A source of the handbook."""
    return Source(key, page.citation, page.read)


def to_caution(key: str, page: CautionPage) -> Caution:
    """A caution of the handbook."""
    return Caution(
        id=key,
        kind=page.kind,
        severity=page.severity,
        text=page.text,
        advice=page.advice,
        medical=page.medical,
        whom=page.whom or "",
        evidence=Evidence(page.source, page.confidence),
    )


def fields_of(page: Page) -> dict[str, Any]:
    """Field values of a goods page for the care value of the same field names, with `evidence` for its figures."""
    fields: dict[str, Any] = {}
    evidence: dict[str, Evidence] = {}
    for name in type(page).model_fields:
        value = getattr(page, name)
        if isinstance(value, Stated):
            evidence[name] = value.evidence
            value = value.value
        fields[name] = value
    return fields | {"evidence": evidence}


def to_profile(name: str, page: SpeciesPage, genus: GenusPage) -> SpeciesProfile:
    """The resolved profile of a species, or of the genus itself when `page` is `genus`.

    A species takes each fact from its own page, else from its genus, unless its page calls that fact unknown.
    """
    own = page.facts.stated
    taken = {key: fact for key, fact in genus.facts.stated.items() if key not in page.unknown} | own
    note = page if page.note is not None else genus
    values = {key: _care_value(fact.value) for key, fact in taken.items()}
    evidence = {key: fact.evidence for key, fact in taken.items()}
    if note.note is not None and note.note_confidence is not None:
        evidence["note"] = Evidence(note.note_source, note.note_confidence, "text")
    return SpeciesProfile(
        name=name,
        genus=genus.genus,
        rank="genus" if page is genus else "species",
        aliases=page.aliases,
        subfamily=genus.subfamily,
        note=note.note,
        evidence=evidence,
        weak_fields=_weak(page, genus, taken),
        **values,
    )


def _weak(page: SpeciesPage, genus: GenusPage, taken: dict[str, Stated[object]]) -> tuple[str, ...]:
    """Weak facts: those of the page, and those of the genus that the page took over."""
    inherited = [key for key in genus.weak if key in taken and key not in page.facts.stated]
    return tuple(dict.fromkeys([*page.weak, *inherited]))


def _care_value(value: Any) -> Any:
    if isinstance(value, DevelopmentValue):
        return Development(value.threshold_c, value.degree_days, value.spread)
    return value
