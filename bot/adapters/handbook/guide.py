"""Loads `config/guide/`: one Markdown file a card, its front matter in TOML, checked against the handbook."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field

from bot.adapters.handbook.ant_names import load_ant_names
from bot.adapters.handbook.country_names import load_country_names
from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.lexicon import LexiconFolder, checked, load_lexicon
from bot.adapters.handbook.sentences import Sentences, load_heads
from bot.adapters.handbook.weights import load_weights
from bot.care.answers.filling import SLOTS, slots_in
from bot.care.answers.guide import Guide
from bot.care.answers.naming import Names
from bot.care.answers.reading import Reader
from bot.care.answers.topics import TopicModel
from bot.care.answers.values import Applies, Card, Decline, Season
from bot.care.answers.warning import Warner
from bot.care.cautions import Kind
from bot.care.evidence import Confidence
from bot.care.handbook import Handbook

LONGEST_BODY = 1500
"""Characters of a card's body, slots filled with their longest general sentence: fits one message with its cautions."""
_FENCE = "+++"
_PARTS = ("**Do today.**", "**Watch.**", "**When to worry.**")


class AppliesPage(BaseModel):
    """Colonies a card is written for."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    genera: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    nests: tuple[str, ...] = ()
    seasons: tuple[Season, ...] = ()


class CardPage(BaseModel):
    """Front matter of a card."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    id: str = Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")
    title: str = Field(min_length=5, max_length=80)
    topics: tuple[str, ...] = Field(min_length=1, max_length=3)
    about: tuple[str, ...] = Field(min_length=1)
    cautions: tuple[str, ...] = ()
    sources: tuple[str, ...] = Field(min_length=1)
    confidence: Confidence
    asks: tuple[str, ...] = ()
    decline: Decline | None = None
    applies: AppliesPage = AppliesPage()


def load_guide(config: Path, handbook: Handbook) -> Guide:
    """The guide of a config folder.

    Raises:
        HandbookError: with one line for everything that is wrong with the cards.
    """
    folder = load_lexicon(config)
    cards = load_cards(config)
    problems = [line for card in cards.values() for line in _misfits(card, folder, handbook)]
    ids = [caution for rule in folder.rules for caution in rule.show]
    ids += [caution for topic in folder.topics.values() for caution in topic.cautions]
    ids += folder.stands_for.values()
    unknown = sorted(set(ids) - set(handbook.cautions))
    problems += [f"lexicon: there is no caution “{caution}” in cautions/." for caution in unknown]
    problems += [f"lexicon/kinds.toml: no caution for “{kind}”." for kind in sorted(set(Kind) - set(folder.stands_for))]
    held = {topic for card in cards.values() for topic in card.topics}
    problems += [f"guide: no card has the topic “{topic}”." for topic in sorted(set(folder.topics) - held)]
    if problems:
        raise HandbookError(problems)
    learnt = load_weights(config)
    warner = Warner(
        rules=folder.rules,
        topics=folder.topics,
        book=handbook.cautions,
        kinds=learnt.kinds,
        stands_for=folder.stands_for,
    )
    names = Names(handbook.species.values(), load_ant_names(config, handbook.species))
    reader = Reader(folder.lexicon, learnt.known, names.words, Sentences(load_heads(config)))
    countries = load_country_names(config, handbook.countries)
    model = TopicModel(learnt.topics, folder.facts)
    return Guide(cards, reader, model, learnt.cards, warner, names, countries, handbook)


def load_cards(config: Path) -> Mapping[str, Card]:
    """Cards by id.

    Raises:
        HandbookError: a file without front matter, or with a wrong one.
    """
    cards: dict[str, Card] = {}
    for path in sorted((config / "guide").glob("*.md")):
        card = _card(path)
        if path.stem != card.id:
            raise HandbookError([f"guide/{path.name}: id: is “{card.id}”; a card is called like its file."])
        cards[card.id] = card
    return cards


def _card(path: Path) -> Card:
    label = f"guide/{path.name}"
    before, fence, rest = path.read_text(encoding="utf-8").partition(f"{_FENCE}\n")
    front, second, body = rest.partition(f"{_FENCE}\n")
    if before or not fence or not second:
        raise HandbookError([f"{label}: begin with front matter between two lines of {_FENCE}."])
    try:
        page = checked(tomllib.loads(front), CardPage, label)
    except tomllib.TOMLDecodeError as error:
        raise HandbookError([f"{label}: front matter is not valid TOML: {error}."]) from error
    fields = {name: getattr(page, name) for name in CardPage.model_fields if name != "applies"}
    return Card(**fields, applies=Applies(**page.applies.model_dump()), body=body.strip())


def _misfits(card: Card, folder: LexiconFolder, handbook: Handbook) -> Iterable[str]:
    label = f"guide/{card.id}.md"
    known: tuple[tuple[str, Iterable[str], Iterable[str]], ...] = (
        ("topics", card.topics, folder.topics),
        ("about", card.about, folder.lexicon.concepts),
        ("cautions", card.cautions, handbook.cautions),
        ("sources", card.sources, handbook.sources),
        ("slots", slots_in(card.body), SLOTS),
    )
    for key, named, shelf in known:
        yield from (f"{label}: {key}: there is no “{name}”." for name in named if name not in set(shelf))
    yield from (f"{label}: body: the part {part} is missing." for part in _PARTS if part not in card.body)
    longest = len(card.body) + sum(len(SLOTS.get(name, "")) for name in slots_in(card.body))
    if longest > LONGEST_BODY:
        yield f"{label}: body: has {longest} characters with its slots filled; {LONGEST_BODY} is the most."
