"""Reads the files of a config folder into raw entries and remembers which file said what.

The layout stands in `SHELVES`. Goods, cautions, countries and sources are tables keyed by id; a species file holds one
genus and its species. Nothing is checked here beyond what is needed to tell entries apart.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

SHELVES = {
    "sources": ("sources/*.toml",),
    "cautions": ("cautions/*.toml",),
    "materials": ("materials/nests.toml",),
    "barriers": ("materials/barriers.toml",),
    "heaters": ("materials/heaters.toml",),
    "foods": ("foods/prey.toml", "foods/sugars.toml", "foods/seeds.toml", "foods/leaves.toml"),
    "feeders": ("feeders.toml",),
    "countries": ("countries.toml",),
    "species": ("species/*.toml",),
}
"""Shelf of the handbook -> files below the config folder."""


@dataclass
class Entry:
    """One raw entry. `fields` is flat: a fact of a species is `facts.<name>`; `files` says which file gave a field."""

    id: str
    file: str
    fields: dict[str, Any]
    files: dict[str, str] = field(default_factory=dict)

    def file_of(self, key: str) -> str:
        """The file that gave a field; for a missing field, the file that holds the entry."""
        return self.files.get(key, self.file)


@dataclass
class Folder:
    """What a config folder holds: shelf -> id -> entry; and what could not be read."""

    name: str
    shelves: dict[str, dict[str, Entry]] = field(default_factory=lambda: {name: {} for name in SHELVES})
    problems: list[str] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    """Shelves with a file that could not be read, where a missing id proves nothing."""


def read_folder(config: Path, *, whole: bool) -> Folder:
    """The raw entries of a config folder.

    Args:
        config: the folder.
        whole: whether every shelf must be there; an overlay holds only what it adds or changes.
    """
    folder = Folder(config.name)
    if not config.is_dir():
        folder.problems.append(f"{config.name}: there is no such folder; give the path of a config folder.")
        folder.broken.update(SHELVES)
        return folder
    for shelf, patterns in SHELVES.items():
        for pattern in patterns:
            paths = sorted(config.glob(pattern))
            if not paths and whole:
                folder.problems.append(f"{config.name}/{pattern}: no such file; the handbook needs its {shelf} there.")
                folder.broken.add(shelf)
            for path in paths:
                _read_file(folder, shelf, path, f"{config.name}/{path.relative_to(config).as_posix()}")
    return folder


def _read_file(folder: Folder, shelf: str, path: Path, label: str) -> None:
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except tomllib.TOMLDecodeError as error:
        folder.problems.append(f"{label}: not valid TOML: {error}.")
        folder.broken.add(shelf)
        return
    except (OSError, UnicodeDecodeError) as error:
        folder.problems.append(f"{label}: cannot be read as UTF-8 text: {error}.")
        folder.broken.add(shelf)
        return
    if shelf == "species":
        _take_genus(folder, content, label)
        return
    for key, table in content.items():
        if isinstance(table, dict):
            _take(folder, shelf, Entry(key, label, dict(table)))
        else:
            folder.problems.append(f"{label}: {key}: stands outside an entry; put it below a heading such as [{key}].")


def _take_genus(folder: Folder, content: dict[str, Any], label: str) -> None:
    """A genus file: the genus with its facts, then each `[[species]]`."""
    genus = content.get("genus")
    if not isinstance(genus, str) or not genus.isalpha():
        folder.problems.append(
            f'{label}: genus: must be one word; begin the file with a line such as genus = "Lasius".'
        )
        folder.broken.add("species")
        return
    species = content.pop("species", [])
    _take(folder, "species", Entry(genus, label, _flat(content)))
    if not isinstance(species, list) or not all(isinstance(page, dict) for page in species):
        folder.problems.append(f"{label}: species: must be a list of tables; head each with [[species]].")
        return
    for page in species:
        name = page.pop("name", None)
        if not isinstance(name, str) or not name.startswith(f"{genus} "):
            folder.problems.append(f"{label}: species.name: is {name!r}; a species of this file is “{genus} …”.")
            continue
        _take(folder, "species", Entry(name, label, {"genus": genus, **_flat(page)}))


def _flat(page: dict[str, Any]) -> dict[str, Any]:
    facts = page.pop("facts", {})
    if not isinstance(facts, dict):
        return {**page, "facts": facts}
    return page | {f"facts.{name}": fact for name, fact in facts.items()}


def _take(folder: Folder, shelf: str, entry: Entry) -> None:
    entry.files = dict.fromkeys(entry.fields, entry.file)
    known = folder.shelves[shelf].get(entry.id)
    if known is not None:
        folder.problems.append(f"{entry.file}: [{entry.id}] stands a second time; it is already in {known.file}.")
        return
    folder.shelves[shelf][entry.id] = entry
