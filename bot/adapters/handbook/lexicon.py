"""Loads `config/lexicon/`: concepts, small words, ways of asking, weights of facts, topics and caution rules."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, RootModel, ValidationError

from bot.adapters.handbook.errors import HandbookError
from bot.care.answers.lexicon import Lexicon
from bot.care.answers.text import plain
from bot.care.answers.topics import FactWeights
from bot.care.answers.values import Season, Topic
from bot.care.answers.warning import Rule
from bot.care.cautions import Kind

CONCEPT_FILES = ("ants", "food", "water", "nest", "people", "asking", "general")
Language = Literal["en", "de", "es", "fr"]
Table = Mapping[str, Mapping[str, float]]
M = TypeVar("M", bound=BaseModel)


class _Page(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class ConceptsPage(RootModel[dict[str, dict[Language, str]]]):
    """Concept -> language -> surfaces parted by commas."""


class TextsPage(RootModel[dict[str, str]]):
    """Language -> small words, or topic -> ways of asking, one a line."""


class KindsPage(RootModel[dict[Kind, str]]):
    """Kind of caution -> the caution that stands for it."""


class FactsPage(_Page):
    """Weights of facts."""

    season: dict[Season, dict[str, float]]
    nest: Table
    workers: Table
    genus: Table
    known: dict[str, float]
    unknown: dict[str, float]


class TopicPage(_Page):
    """One topic."""

    label: str = Field(min_length=3, max_length=40)
    cautions: tuple[str, ...] = ()
    declined: bool = False


class TopicsPage(RootModel[dict[str, TopicPage]]):
    """Topic -> its page."""


class RulePage(_Page):
    """One caution rule."""

    show: tuple[str, ...] = Field(min_length=1)
    any: frozenset[str] = frozenset()
    all: frozenset[str] = frozenset()
    unless: frozenset[str] = frozenset()
    topics: frozenset[str] = frozenset()
    seasons: frozenset[Season] = frozenset()
    nests: frozenset[str] = frozenset()
    genera: frozenset[str] = frozenset()
    always: bool = False


class RulesPage(_Page):
    """All rules, in order."""

    rule: tuple[RulePage, ...]


@dataclass(frozen=True, slots=True)
class LexiconFolder:
    """What the folder holds, as values of the trade."""

    lexicon: Lexicon
    facts: FactWeights
    topics: Mapping[str, Topic]
    rules: tuple[Rule, ...]
    stands_for: Mapping[str, str]
    """Kind of caution -> the caution that stands for it."""


def load_lexicon(config: Path) -> LexiconFolder:
    """The lexicon below a config folder.

    Raises:
        HandbookError: a file that is missing or wrong, or a topic or concept that does not exist.
    """
    folder = config / "lexicon"
    concepts: dict[str, dict[Language, str]] = {}
    for name in CONCEPT_FILES:
        concepts |= _page(folder / f"{name}.toml", ConceptsPage).root
    common = _page(folder / "common.toml", TextsPage).root
    topics = _page(folder / "topics.toml", TopicsPage).root
    facts = _page(folder / "facts.toml", FactsPage)
    rules = _page(folder / "cautions.toml", RulesPage).rule
    _check(topics, facts, rules, concepts)
    return LexiconFolder(
        Lexicon(
            {name: {code: _parts(said) for code, said in said_in.items()} for name, said_in in concepts.items()},
            {code: frozenset(plain(said).split()) for code, said in common.items()},
        ),
        FactWeights(
            season={season.value: weights for season, weights in facts.season.items()},
            nest=facts.nest,
            workers=facts.workers,
            genus=facts.genus,
            known=facts.known,
            unknown=facts.unknown,
        ),
        {name: Topic(id=name, **page.model_dump()) for name, page in topics.items()},
        tuple(Rule(**page.model_dump()) for page in rules),
        {kind.value: caution for kind, caution in _page(folder / "kinds.toml", KindsPage).root.items()},
    )


def _page(path: Path, schema: type[M]) -> M:
    return page_of(path, schema, f"lexicon/{path.name}")


def page_of(path: Path, schema: type[M], label: str) -> M:
    """A TOML file as a page.

    Raises:
        HandbookError: it cannot be read, or one line for each field that is wrong.
    """
    return checked(_toml(path, label), schema, label)


def checked(content: Mapping[str, Any], schema: type[M], label: str) -> M:
    """The content as a page.

    Raises:
        HandbookError: one line for each field that is wrong.
    """
    try:
        return schema.model_validate(content)
    except ValidationError as errors:
        raise HandbookError(
            [f"{label}: {'.'.join(map(str, e['loc']))}: {e['msg']}." for e in errors.errors(include_url=False)]
        ) from errors


def _toml(path: Path, label: str) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise HandbookError([f"{label}: cannot be read: {error}."]) from error


def load_asked(config: Path) -> Iterable[tuple[str, str]]:
    """Our own ways of asking that the weights are learnt from: (topic, text).

    Raises:
        HandbookError: a file that is missing or wrong.
    """
    for path in sorted((config / "lexicon" / "asked").glob("*.toml")):
        for topic, said in _page(path, TextsPage).root.items():
            yield from ((topic, line.strip()) for line in said.splitlines() if line.strip())


def _parts(said: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in said.split(",") if part.strip())


def _check(
    topics: Mapping[str, TopicPage],
    facts: FactsPage,
    rules: Iterable[RulePage],
    concepts: Mapping[str, object],
) -> None:
    weighed: list[Mapping[str, float]] = [facts.known, facts.unknown]
    weighed += [*facts.season.values(), *facts.nest.values(), *facts.workers.values(), *facts.genus.values()]
    named = {topic for weights in weighed for topic in weights}
    named |= {topic for rule in rules for topic in rule.topics}
    spoken = {concept for rule in rules for concept in rule.any | rule.all | rule.unless}
    problems = [f"lexicon: there is no topic “{name}” in topics.toml." for name in sorted(named - set(topics))]
    problems += [
        f"lexicon/cautions.toml: there is no concept “{name}”."
        for name in sorted(spoken - set(concepts))
        if not name.startswith("temperature-")
    ]
    if problems:
        raise HandbookError(problems)
