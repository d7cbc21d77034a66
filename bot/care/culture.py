"""A culture of feeder insects as its keeper describes it. It belongs to the keeper, not to a colony.

Everything a keeper has not said is `None`; unknown figures stay unknown.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.care.errors import BadValueError

MOST_ANIMALS = 1_000_000


class CultureEvent(StrEnum):
    """What is noted of a culture."""

    CARE = "looked after"
    SKIPPED = "not needed"
    DIED = "died"
    TAKEN = "taken out"


CARED = frozenset({CultureEvent.CARE, CultureEvent.SKIPPED})
"""Events after which the next care is a full interval away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CultureEntry:
    """Something noted of a culture on a local day; `animals` is how many died or were taken out."""

    day: date
    event: CultureEvent
    animals: int | None = None

    def __post_init__(self) -> None:
        if self.animals is not None and not 0 <= self.animals <= MOST_ANIMALS:
            raise BadValueError("animals", f"A number of animals lies between 0 and {MOST_ANIMALS:,}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Culture:
    """One culture. `key` is an opaque identity; `kind` is an id of `config/feeders.toml`."""

    key: str
    name: str
    kind: str
    started: date | None = None
    """The day on which eggs or young animals were put in."""
    animals: int | None = None
    """How many live in it, roughly."""
    place: str | None = None
    """Name of a place of the household; `None`: the household's first."""
    temperature_c: float | None = None
    """Measured at the culture; `None`: the room's."""
    registered: date | None = None
    """Day the bot learned of it."""
    log: tuple[CultureEntry, ...] = ()
    """Oldest first."""

    def __post_init__(self) -> None:
        if self.animals is not None and not 0 <= self.animals <= MOST_ANIMALS:
            raise BadValueError("animals", f"A number of animals lies between 0 and {MOST_ANIMALS:,}.")
        if self.temperature_c is not None and not -20 <= self.temperature_c <= 45:
            raise BadValueError("temperature_c", "A culture stands between -20 and 45 °C (-4 and 113 °F).")

    def counted(self, event: CultureEvent, since: date, until: date) -> int:
        """How many animals were noted under an event from `since` up to and with `until`."""
        return sum(entry.animals or 0 for entry in self.log if entry.event is event and since <= entry.day <= until)

    def cared_on(self, until: date) -> date | None:
        """The newest day of care up to and with `until`."""
        return max((entry.day for entry in self.log if entry.event in CARED and entry.day <= until), default=None)
