"""Where a figure comes from and how far to lean on it. No figure enters the bot without this."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Confidence(StrEnum):
    """How a figure is known, strongest first."""

    SEEN = "seen"
    SECOND_HAND = "second hand"
    DERIVED = "derived"
    MEMORY = "memory"
    COMMON_PRACTICE = "common practice"
    JUDGEMENT = "judgement"

    @property
    def rank(self) -> int:
        """0 for the strongest; larger is weaker."""
        return list(Confidence).index(self)


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or one of the standing entries `common practice` and `judgement`."""

    id: str
    citation: str
    read: str
    """What of it was read: `abstract`, `page`, `digest`, `memory` and so on."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What stands behind one figure: source ids of `config/sources` and the confidence."""

    sources: tuple[str, ...]
    confidence: Confidence
    unit: str = "1"


PRACTICE = Evidence(("common-practice",), Confidence.COMMON_PRACTICE)
JUDGEMENT = Evidence(("judgement",), Confidence.JUDGEMENT)
