"""Caution values: what they are and in which order they are shown. Which facts raise which: `caution_rules.py`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from bot.care.evidence import Evidence


class Severity(StrEnum):
    """How loud a caution is, and how often it may repeat."""

    DANGER = "danger"
    """Shown first, alone on its line, every time; cannot be muted."""
    WARNING = "warning"
    """Shown with the answer, at most once in 14 days per keeper."""
    NOTE = "note"
    """Shown at the end, at most once in 30 days per keeper; may be muted."""

    @property
    def rank(self) -> int:
        """0 comes first."""
        return _RANKS[self]

    @property
    def repeat_days(self) -> int:
        """Days before the same caution may be shown to the same keeper again; 0 means every time."""
        return {Severity.DANGER: 0, Severity.WARNING: 14, Severity.NOTE: 30}[self]


_RANKS = {severity: rank for rank, severity in enumerate(Severity)}


class Kind(StrEnum):
    """What a caution is about."""

    PESTICIDE = "pesticide"
    BARRIER = "barrier"
    HEAT = "heat"
    COLD = "cold"
    STING = "sting"
    MEDICAL = "medical"
    LAW = "law"
    ECOLOGY = "ecology"
    CHEMICALS = "chemicals"
    ELECTRIC = "electric"
    MOULD = "mould"
    WATER = "water"
    STRESS = "stress"
    HYGIENE = "hygiene"
    WELFARE = "welfare"
    PRIVACY = "privacy"
    UNCERTAINTY = "uncertainty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution of `config/cautions`; `text` is whole (at most 240 characters) and is never cut."""

    id: str
    kind: Kind
    severity: Severity
    text: str
    advice: str
    """What to do, in one or two sentences."""
    medical: bool = False
    """Medical lines outrank every other, and nothing is asked before they are shown."""
    evidence: Evidence
    whom: str = ""
    """Whose line it is, where the text says “this ant”; empty where it holds for every keeper."""

    @property
    def for_anybody(self) -> Caution:
        """The line for somebody whose ants need not be the ones it speaks of."""
        return replace(self, text=f"{self.whom}: {self.text}", whom="") if self.whom else self


def in_order(ids: Iterable[str], book: Mapping[str, Caution]) -> tuple[Caution, ...]:
    """Cautions without repeats: medical first, then danger, warning, note; ties keep the order of `ids`.

    Raises:
        KeyError: an id that the handbook does not hold; the loader makes that impossible for ids of config/.
    """
    unique = [book[caution_id] for caution_id in dict.fromkeys(ids)]
    return tuple(sorted(unique, key=lambda caution: (not caution.medical, caution.severity.rank)))
