"""Loads `config/country-names.toml`: how people write the countries of the handbook, and the small words around."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.lexicon import Language, page_of
from bot.adapters.handbook.wording import did_you_mean
from bot.care.answers.countries import Countries, Role, Signs, Spelled, phrases
from bot.care.answers.text import plain
from bot.care.goods import Country

FILE = "country-names.toml"
Names = tuple[Annotated[str, Field(min_length=2)], ...]
_ROLES = {"to": Role.TO, "in": Role.IN, "of": Role.OF, "from": Role.FROM}


class _Page(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class NamesPage(_Page):
    """Names of one country."""

    en: Names = ()
    de: Names = ()
    es: Names = ()
    fr: Names = ()
    after_preposition: dict[Language, Names] = {}
    capitals: Names = ()

    @property
    def spelled(self) -> Spelled:
        """The page as a value of the trade."""
        names = {"en": self.en, "de": self.de, "es": self.es, "fr": self.fr}
        after = {str(language): said for language, said in self.after_preposition.items()}
        return Spelled(names=names, after_preposition=after, capitals=self.capitals)


class SignsPage(_Page):
    """Small words around names."""

    articles: tuple[str, ...]
    joining: tuple[str, ...]
    elsewhere: tuple[str, ...] = ()
    prepositions: dict[Language, dict[Literal["to", "in", "of", "from"], tuple[str, ...]]]

    @property
    def signs(self) -> Signs:
        """The page as a value of the trade."""
        prepositions = {
            str(language): {plain(word): _ROLES[role] for role, said in shelf.items() for word in said}
            for language, shelf in self.prepositions.items()
        }
        return Signs(
            prepositions=prepositions,
            articles=frozenset(map(plain, self.articles)),
            joining=frozenset(map(plain, self.joining)),
            elsewhere=self.elsewhere,
        )


class CountryNamesPage(_Page):
    """The whole file."""

    signs: SignsPage
    names: dict[str, NamesPage]


def load_country_names(config: Path, countries: Mapping[str, Country]) -> Countries:
    """What finds the countries of a handbook in a text.

    Raises:
        HandbookError: the file cannot be read, or names a country that the handbook lacks, or one name means two.
    """
    page = page_of(config / FILE, CountryNamesPage, FILE)
    names = {code: entry.spelled for code, entry in page.names.items()}
    problems = [*_unknown(names, countries), *_clashes(names)]
    if problems:
        raise HandbookError(problems)
    return Countries(countries, names, page.signs.signs)


def _unknown(names: Iterable[str], countries: Mapping[str, Country]) -> Iterable[str]:
    for code in names:
        if code not in countries:
            hint = did_you_mean(code, countries)
            yield f"{FILE}: [names.{code}]: there is no country “{code}” in countries.toml{hint}."


def _clashes(names: Mapping[str, Spelled]) -> Iterable[str]:
    """Names of two countries, and names that both need a preposition and need none."""
    meant: dict[tuple[str, ...], tuple[str, bool]] = {}
    for code, spelled in names.items():
        place = f"{FILE}: [names.{code}]"
        for name, bare in _all(spelled):
            for key in phrases(name):
                other, was_bare = meant.setdefault(key, (code, bare))
                if other != code:
                    yield f"{place}: “{name}” already means {other}; a name belongs to one country."
                elif was_bare is not bare:
                    yield f"{place}: “{name}” stands under after_preposition and as a name too; keep one of them."


def _all(spelled: Spelled) -> Iterable[tuple[str, bool]]:
    """Names, and whether they need no preposition."""
    for bare, shelf in ((True, spelled.names), (False, spelled.after_preposition)):
        yield from ((name, bare) for said in shelf.values() for name in said)
