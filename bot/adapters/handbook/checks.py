"""Checks that need more than one entry: ids that must exist, figures of a profile that must fit each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from bot.adapters.handbook.figures import Page, Stated
from bot.adapters.handbook.species_pages import SpeciesPage
from bot.adapters.handbook.wording import did_you_mean
from bot.care.species import DormancyClass, SpeciesProfile

REST_FACTS = ("rest_target_c", "rest_band_c", "rest_weeks", "rest_floor_weeks")


def unknown_sources(page: Page, known: Iterable[str]) -> list[tuple[str, str]]:
    """(key, sentence) for each source id of a page that no file of `config/sources` has."""
    ids = set(known)
    return [
        (key, f"there is no source “{source}” in sources/{did_you_mean(source, ids)}")
        for key, sources in _sources_of(page)
        for source in sources
        if source not in ids
    ]


def unknown_cautions(page: Page, known: Iterable[str]) -> list[tuple[str, str]]:
    """(key, sentence) for each caution id of a page that no file of `config/cautions` has."""
    ids = set(known)
    law = getattr(page, "law_caution", None)
    named = [("cautions", caution) for caution in getattr(page, "cautions", ())]
    named += [("law_caution", law)] if law is not None else []
    return [
        (key, f"there is no caution “{caution}” in cautions/{did_you_mean(caution, ids)}")
        for key, caution in named
        if caution not in ids
    ]


def misfits(profile: SpeciesProfile) -> list[tuple[str, str]]:
    """(key, sentence) for figures of one profile that contradict each other."""
    found = []
    band, weeks, active = profile.rest_band_c, profile.rest_weeks, profile.active_c
    if profile.dormancy in {DormancyClass.HOMO, DormancyClass.REVERSED}:
        found += [
            (f"facts.{key}", f"{profile.dormancy.value} has no winter rest; leave this out or list it in unknown")
            for key in REST_FACTS
            if getattr(profile, key) is not None
        ]
    if band is not None and profile.rest_target_c is not None and profile.rest_target_c not in band:
        found.append(("facts.rest_target_c", f"lies outside rest_band_c, {band.low:g} to {band.high:g} C"))
    if weeks is not None and profile.rest_floor_weeks is not None and profile.rest_floor_weeks > weeks.low:
        found.append(("facts.rest_floor_weeks", f"is above the shortest usual rest, {weeks.low:g} weeks"))
    if active is not None and profile.heat_alarm_c is not None and profile.heat_alarm_c < active.high:
        found.append(("facts.heat_alarm_c", f"is below the top of active_c, {active.high:g} C"))
    return found


def _sources_of(page: Page) -> Iterable[tuple[str, tuple[str, ...]]]:
    """(key, source ids) of everything on a page that names sources."""
    for key in ("source", "note_source"):
        if hasattr(page, key):
            yield key, getattr(page, key)
    if isinstance(page, SpeciesPage):
        yield from ((f"facts.{key}", fact.source) for key, fact in page.facts.stated.items())
    named: Mapping[str, Any] = {key: getattr(page, key) for key in type(page).model_fields}
    yield from ((key, value.source) for key, value in named.items() if isinstance(value, Stated))
