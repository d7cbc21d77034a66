"""Which countries a text names, and what is said of their rules: whose they are, never that something is allowed.

Names are found by whole words, the longest first. A name that is also an ordinary word counts behind a preposition of
its language, beside another country, or in capitals. The country travelled to comes first, the one left behind last.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import IntEnum

from bot.care.answers.filling import SLOTS
from bot.care.answers.text import longest_phrase, spellings, words
from bot.care.caution_rules import UNION_LIST
from bot.care.goods import Country
from bot.care.handbook import Handbook

MOST_TOLD = 3
"""Countries whose rules one answer tells (judgement: the screen of a phone)."""
_WITH_ARTICLE = ("United ", "Netherlands", "Philippines")
"""How names begin that are spoken with an article."""
_CAPITALS = re.compile(r"\b[A-Z]{2,3}\b")
_HEAD = re.compile(r"^(?:[A-Z][a-z]+ ?){1,3}: ")
"""A country that a law line begins with."""


_NO_RULES = " I hold no rules, which does not mean that there are none: ask the authorities there."
_NOT_LISTED = (
    ": the EU bans the species on its list. I do not hold the ant you name as one of them, but the list grows and "
    "countries have rules of their own: ask the authorities there."
)


class Role(IntEnum):
    """What a country is to whoever asks, in the order in which countries are told."""

    TO = 0
    IN = 1
    NAMED = 2
    """Nothing before the name tells."""
    OF = 3
    """Of or from: some languages have one word for both."""
    FROM = 4


@dataclass(frozen=True, slots=True)
class Land:
    """A country that a text names."""

    country: Country
    role: Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Spelled:
    """How a country is written, by language."""

    names: Mapping[str, tuple[str, ...]]
    after_preposition: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Names that are ordinary words too."""
    capitals: tuple[str, ...] = ()
    """Names that count in capital letters only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """Small words around names of countries, without accents."""

    prepositions: Mapping[str, Mapping[str, Role]]
    """Language -> one or two words -> role."""
    articles: frozenset[str]
    joining: frozenset[str]
    elsewhere: tuple[str, ...]
    """Phrases that hold the name of a country and mean something else."""


@dataclass(slots=True)
class _Phrase:
    code: str | None
    languages: set[str]
    bare: bool
    """Whether it counts without a preposition."""


class Countries:
    """Finds countries; built once from their names."""

    def __init__(self, countries: Mapping[str, Country], names: Mapping[str, Spelled], signs: Signs) -> None:
        self._countries, self._signs = countries, signs
        self._phrases: dict[tuple[str, ...], _Phrase] = {}
        for code, spelled in names.items():
            for bare, shelf in ((True, spelled.names), (False, spelled.after_preposition)):
                for language, said in shelf.items():
                    self._add(code, said, language, bare=bare)
        self._add(None, signs.elsewhere, "", bare=True)
        self._capitals = {name: code for code, spelled in names.items() for name in spelled.capitals}
        self._longest = max(map(len, self._phrases), default=0)

    def _add(self, code: str | None, names: Iterable[str], language: str, *, bare: bool) -> None:
        for key in (parts for name in names for parts in phrases(name)):
            self._phrases.setdefault(key, _Phrase(code, set(), bare)).languages.add(language)

    def find(self, text: str) -> tuple[Land, ...]:
        """The countries that a text names, each once: the one travelled to first, else in the order of the text."""
        found: dict[str, Role] = {}
        for code, role in self._walk(words(text), self._in_capitals(text)):
            found[code] = min(role, found.get(code, role))
        lands = (Land(self._countries[code], role) for code, role in found.items())
        return tuple(sorted(lands, key=lambda land: land.role))

    def _in_capitals(self, text: str) -> Mapping[str, str]:
        """Word -> the country that it is short for, in a text that is not all in capitals."""
        if text == text.upper():
            return {}
        return {said.lower(): self._capitals[said] for said in _CAPITALS.findall(text) if said in self._capitals}

    def _walk(self, tokens: Sequence[str], capitals: Mapping[str, str]) -> Iterator[tuple[str, Role]]:
        at, last = 0, (-1, Role.NAMED)
        while at < len(tokens):
            phrase, used = longest_phrase(self._phrases, tokens, at, self._longest)
            short = capitals.get(tokens[at])
            role = self._role(tokens, at, phrase)
            role = self._beside(tokens, at, last) if role is None else role
            code = None if phrase is None or not (phrase.bare or role is not None) else phrase.code
            code = code or (short if used == 1 else None)
            at += used
            if code is not None:
                role = Role.NAMED if role is None else role
                last = (at, role)
                yield code, role

    def _role(self, tokens: Sequence[str], at: int, phrase: _Phrase | None) -> Role | None:
        """What the preposition before a name tells: one of the name's own language, else of any, if it needs none."""
        shelves = self._signs.prepositions
        own = [] if phrase is None else [shelf for language, shelf in shelves.items() if language in phrase.languages]
        others = list(shelves.values()) if phrase is None or phrase.bare else []
        behind = at - 1 if at and tokens[at - 1] in self._signs.articles else at
        for shelf in (*own, *others):
            for before in (
                tokens[max(at - 2, 0) : at],
                tokens[max(at - 1, 0) : at],
                tokens[max(behind - 1, 0) : behind],
            ):
                role = shelf.get(" ".join(before))
                if role is not None:
                    return role
        return None

    def _beside(self, tokens: Sequence[str], at: int, last: tuple[int, Role]) -> Role | None:
        """The role of the country just named, where no more than a joining word stands between."""
        end, role = last
        small = self._signs.joining | self._signs.articles
        near = end >= 0 and at - end <= 2 and all(token in small for token in tokens[end:at])
        return role if near else None


def phrases(name: str) -> Iterator[tuple[str, ...]]:
    """A name as the words of a question, in each way of typing it."""
    yield from (words(spelling) for spelling in spellings(name.lower()))


def ruling(lands: Sequence[Land]) -> tuple[Land, ...]:
    """Countries whose rules count for whoever asks: all but those that ants only come from."""
    return tuple(land for land in lands if land.role is not Role.FROM)


def called(country: Country) -> str:
    """The name of a country inside a sentence."""
    return f"the {country.name}" if country.name.startswith(_WITH_ARTICLE) else country.name


def rules_of(
    lands: Sequence[Land], own: str | None, handbook: Handbook, above: Collection[str] = (), *, listed: bool = True
) -> str:
    """What is known of the rules of named countries, each sentence saying whose they are.

    Args:
        lands: the countries, in the order in which they are told; at least one.
        own: code of the asker's own country; ants that come from elsewhere are theirs to bring in.
        handbook: its countries and law lines.
        above: cautions that are shown with it, so that their first sentence is enough.
        listed: whether the ant in question may be on the list of the EU.
    """
    home = handbook.countries.get(own or "")
    countries = [land.country for land in lands]
    if not ruling(lands) and home is not None and home not in countries:
        countries = [home, *countries]
    told = countries[:MOST_TOLD]
    whose: dict[str | None, list[str]] = {}
    for country in told:
        whose.setdefault(country.law_caution, []).append(called(country))
    briefly = len(told) > 1
    said = []
    for law, names in whose.items():
        off_the_list = law == UNION_LIST and not listed
        rule = _NOT_LISTED if off_the_list else _rule(law, handbook, briefly=briefly or law in above)
        said.append(f"For {' and '.join(names)}{rule}")
    said += ["Ask me about the other countries one by one."] if len(countries) > MOST_TOLD else []
    said += [SLOTS["country_law"]] if not ruling(lands) and home is None else []
    return " ".join(said)


def _rule(law: str | None, handbook: Handbook, *, briefly: bool) -> str:
    """What follows the name of a country."""
    if law is None:
        return _NO_RULES
    text = _HEAD.sub("", handbook.cautions[law].text)
    return f": {text.partition('. ')[0].rstrip('.') + '.' if briefly else text}"


def emergency_in(lands: Iterable[Land]) -> str | None:
    """The emergency number where a text says that somebody is; none where ants only come from there."""
    for land in lands:
        if land.role is Role.IN and land.country.emergency is not None:
            return f"In {called(land.country)} it is {land.country.emergency}."
    return None
