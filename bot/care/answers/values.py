"""What goes into an answer and what comes out: facts of the colony, guide cards, topics, the answer itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from bot.care.evidence import Confidence
from bot.care.phase import Phase
from bot.care.species import Founding

FEW_WORKERS = 25
SOME_WORKERS = 150


class Season(StrEnum):
    """The season where the colony lives."""

    SPRING = "spring"
    SUMMER = "summer"
    AUTUMN = "autumn"
    WINTER = "winter"


class Decline(StrEnum):
    """Why a card gives no advice of its own."""

    MEDICAL = "medical"
    PEST_CONTROL = "pest-control"
    UNSAFE = "unsafe"
    CHAT = "chat"
    PICTURE = "picture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """State of the asker's colony as far as known; `workers` 0 means a queen, or queens, alone."""

    genus: str | None = None
    workers: int | None = None
    nest: str | None = None
    season: Season | None = None
    species: str | None = None
    """Name of the colony's entry in the handbook; a batch does not tell it."""
    restless: bool = False
    """Whether no winter rest is to be advised: the species has none, or nobody knows."""
    founding: Founding | None = None
    """How its queen founds, where the keeper told it."""
    phase: Phase | None = None
    """Where the colony stands in its year by its plan."""

    @property
    def crowd(self) -> str | None:
        """Size class of the colony: `none`, `few`, `some` or `many` workers (bounds: judgement)."""
        if self.workers is None:
            return None
        if self.workers == 0:
            return "none"
        if self.workers < FEW_WORKERS:
            return "few"
        return "some" if self.workers < SOME_WORKERS else "many"

    @property
    def stage(self) -> str | None:
        """`founding`, `small` or `grown`."""
        return {None: None, "none": "founding", "few": "small", "some": "grown", "many": "grown"}[self.crowd]

    @property
    def anything(self) -> bool:
        """Whether something about the colony is known."""
        return any(value is not None for value in (self.genus, self.workers, self.nest))


NO_FACTS = Facts()


@dataclass(frozen=True, slots=True, kw_only=True)
class Applies:
    """Colonies a card is written for; an empty tuple means any."""

    genera: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    nests: tuple[str, ...] = ()
    seasons: tuple[Season, ...] = ()

    def fit(self, facts: Facts) -> int:
        """Conditions met minus conditions broken; what is not known counts for neither."""
        pairs: tuple[tuple[tuple[str, ...], str | None], ...] = (
            (self.genera, facts.genus),
            (self.stages, facts.stage),
            (self.nests, facts.nest),
            (self.seasons, facts.season),
        )
        known = [(wanted, value) for wanted, value in pairs if wanted and value is not None]
        return sum(1 if value in wanted else -1 for wanted, value in known)


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One guide card; `body` holds slots such as `{next_water}` that `filling.fill` replaces."""

    id: str
    title: str
    topics: tuple[str, ...]
    about: tuple[str, ...]
    """Concepts that tell this card from others of its topics."""
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    confidence: Confidence
    asks: tuple[str, ...]
    body: str
    applies: Applies = Applies()
    decline: Decline | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Topic:
    """A topic: its name for people, its cautions, and whether it is declined."""

    id: str
    label: str
    cautions: tuple[str, ...] = ()
    declined: bool = False


@dataclass(frozen=True, slots=True)
class Near:
    """A card that came next."""

    card: str
    topics: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What `/ask` shows. `answered` is false when the question is declined or not understood.

    `score` is the probability (0 to 1) that the topic is among those of the card, as far as the search can tell.
    """

    answered: bool
    card: str | None
    topics: tuple[str, ...]
    title: str
    cautions: tuple[str, ...]
    caution_kinds: tuple[str, ...]
    text: str
    score: float
    near: tuple[Near, ...]
    asks: tuple[str, ...] = ()
    about: str = ""
    """What the handbook knows of the ants that the question names; comes before the text."""
    about_sources: tuple[str, ...] = ()
    """Ids of the sources behind `about`."""
    named: tuple[str, ...] = ()
    """Entries of the handbook that stand for these ants."""
    whom: Mapping[str, str] = field(default_factory=dict)
    """Caution that speaks of “this ant” -> the named ants that it speaks of."""
    choice: bool = False
    """Whether the first of `near` is close enough that the keeper should choose."""

    def as_json(self) -> dict[str, object]:
        """Exactly the fields that `ask --json` promises."""
        near = [{"card": card.card, "topics": list(card.topics)} for card in self.near]
        return {
            "answered": self.answered,
            "card": self.card,
            "topics": list(self.topics),
            "title": self.title,
            "cautions": list(self.cautions),
            "caution_kinds": list(self.caution_kinds),
            "text": f"{self.about}\n\n{self.text}".strip(),
            "score": round(self.score, 3),
            "near": near,
        }


Weights = Mapping[str, float]
"""Topic -> natural logarithm of how much likelier it becomes."""
