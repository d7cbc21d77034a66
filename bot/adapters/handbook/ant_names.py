"""Loads `config/ant-names.toml`: what people call ants who do not say their scientific name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import RootModel

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.lexicon import Language, page_of
from bot.adapters.handbook.wording import did_you_mean

FILE = "ant-names.toml"


class AntNamesPage(RootModel[dict[str, dict[Language, tuple[str, ...]]]]):
    """Entry of the handbook -> language -> names."""


def load_ant_names(config: Path, known: Iterable[str]) -> Mapping[str, tuple[str, ...]]:
    """Entry of the handbook -> everyday names.

    Raises:
        HandbookError: the file cannot be read, or names an ant that the handbook lacks, or one name means two.
    """
    page = page_of(config / FILE, AntNamesPage, FILE).root
    names = {ant: tuple(name for said in shelf.values() for name in said) for ant, shelf in page.items()}
    entries = set(known)
    problems = [
        f"{FILE}: [{ant}]: there is no such entry in species/{did_you_mean(ant, entries)}."
        for ant in names
        if ant not in entries
    ]
    meant: dict[str, str] = {}
    for ant, said in names.items():
        for name in said:
            other = meant.setdefault(name.casefold(), ant)
            if other != ant:
                problems.append(f"{FILE}: [{ant}]: “{name}” already means {other}; a name belongs to one entry.")
    if problems:
        raise HandbookError(problems)
    return names
