"""Loads `config/` into the handbook: read, lay overlays over it, check all of it, convert; or say all that is wrong."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from bot.adapters.handbook.checks import misfits, unknown_cautions, unknown_sources
from bot.adapters.handbook.convert import fields_of, to_caution, to_profile, to_source
from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.figures import Page
from bot.adapters.handbook.names import index_names
from bot.adapters.handbook.overlay import lay_over
from bot.adapters.handbook.reading import Entry, Folder, read_folder
from bot.adapters.handbook.schema import (
    BarrierPage,
    CautionPage,
    CountryPage,
    FeederPage,
    FoodPage,
    HeaterPage,
    MaterialPage,
    SourcePage,
)
from bot.adapters.handbook.species_pages import GenusPage, SpeciesPage
from bot.adapters.handbook.wording import key_of, sentence
from bot.care.goods import Barrier, Country, FeederCulture, Food, HeaterKind, Material
from bot.care.handbook import Handbook
from bot.care.species import SpeciesProfile

P = TypeVar("P", bound=Page)
V = TypeVar("V")


def load_handbook(config: Path, *overlays: Path) -> Handbook:
    """The handbook of a config folder; each overlay folder may add entries or replace fields of entries.

    Raises:
        HandbookError: with one line for everything that is wrong, not only the first.
    """
    folder = read_folder(config, whole=True)
    for overlay in overlays:
        lay_over(folder, read_folder(overlay, whole=False))
    checked = _Checked(folder)
    handbook = _assemble(checked)
    if checked.problems:
        raise HandbookError(checked.problems)
    return handbook


class _Checked:
    """The pages of a folder that pass their schema and name only known sources and cautions; and all problems."""

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self.problems = list(folder.problems)

    def pages(self, shelf: str, schema: type[P]) -> dict[str, P]:
        """The valid pages of a shelf by id."""
        pages = {}
        for entry in self.folder.shelves[shelf].values():
            page = self.page(entry, schema)
            if page is not None:
                pages[entry.id] = page
        return pages

    def page(self, entry: Entry, schema: type[P]) -> P | None:
        """One page, or `None` after noting what is wrong with it."""
        try:
            page = schema.model_validate(_nested(entry.fields))
        except ValidationError as errors:
            for error in errors.errors(include_url=False):
                self.note(entry, key_of(error["loc"]), sentence(error, schema))
            return None
        if "sources" not in self.folder.broken:
            self._note_all(entry, unknown_sources(page, self.folder.shelves["sources"]))
        if "cautions" not in self.folder.broken:
            self._note_all(entry, unknown_cautions(page, self.folder.shelves["cautions"]))
        return page

    def note(self, entry: Entry, key: str, said: str) -> None:
        """Adds a problem with its file, entry and key."""
        field = ".".join(key.split(".")[:2]) if key.startswith("facts.") else key.split(".", maxsplit=1)[0]
        place = f"[{entry.id}] {key}" if key else f"[{entry.id}]"
        self.problems.append(f"{entry.file_of(field)}: {place}: {said}.")

    def _note_all(self, entry: Entry, found: list[tuple[str, str]]) -> None:
        for key, said in found:
            self.note(entry, key, said)

    def profiles(self) -> dict[str, SpeciesProfile]:
        """All genera and species, resolved."""
        entries = self.folder.shelves["species"]
        genera = {key: self.page(entry, GenusPage) for key, entry in entries.items() if " " not in key}
        profiles = {}
        for key, entry in entries.items():
            genus = genera.get(entry.fields["genus"])
            page: SpeciesPage | None = self.page(entry, SpeciesPage) if " " in key else genus
            if page is None or genus is None:
                continue
            profiles[key] = to_profile(key, page, genus)
            inherited = [] if page is genus else misfits(to_profile(genus.genus, genus, genus))
            self._note_all(entry, [found for found in misfits(profiles[key]) if found not in inherited])
        return profiles


def _assemble(checked: _Checked) -> Handbook:
    species = checked.profiles()
    names, clashes = index_names(species.values())
    checked.problems += [f"{checked.folder.name}/species: {clash}" for clash in clashes]
    countries = checked.pages("countries", CountryPage)
    return Handbook(
        species=species,
        materials=_goods(checked.pages("materials", MaterialPage), Material),
        barriers=_goods(checked.pages("barriers", BarrierPage), Barrier),
        heaters=_goods(checked.pages("heaters", HeaterPage), HeaterKind),
        foods=_goods(checked.pages("foods", FoodPage), Food),
        feeders=_goods(checked.pages("feeders", FeederPage), FeederCulture),
        cautions={key: to_caution(key, page) for key, page in checked.pages("cautions", CautionPage).items()},
        sources={key: to_source(key, page) for key, page in checked.pages("sources", SourcePage).items()},
        countries={key: Country(code=key, **fields_of(page)) for key, page in countries.items()},
        names=names,
        fingerprint=_fingerprint(checked.folder),
    )


def _fingerprint(folder: Folder) -> str:
    """Made of every field of every entry, whatever their order."""
    said = [
        (shelf, key, sorted(entry.fields.items()))
        for shelf, entries in folder.shelves.items()
        for key, entry in entries.items()
    ]
    return hashlib.blake2b(repr(sorted(said)).encode(), digest_size=12).hexdigest()


def _goods(pages: Mapping[str, Page], value: Callable[..., V]) -> dict[str, V]:
    return {key: value(id=key, **fields_of(page)) for key, page in pages.items()}


def _nested(fields: Mapping[str, Any]) -> dict[str, Any]:
    """The flat fields of an entry as the schema wants them: facts of a species under `facts`."""
    plain = {key: value for key, value in fields.items() if not key.startswith("facts.")}
    facts = {key.removeprefix("facts."): value for key, value in fields.items() if key.startswith("facts.")}
    return plain | {"facts": facts} if facts else plain
