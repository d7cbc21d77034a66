"""Reads and writes `config/lexicon/weights.json.gz`: what was learnt from ways of asking, packed for a quick start.

A weight is a whole number from -127 to 127, times the unit of its table; a row is packed as base64.
"""

from __future__ import annotations

import gzip
import json
from array import array
from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bot.adapters.handbook.errors import HandbookError
from bot.care.answers.kinds import KindModel
from bot.care.answers.topics import Learnt

FILE = Path("lexicon") / "weights.json.gz"


@dataclass(frozen=True, slots=True)
class Weighing:
    """What was learnt, and the words it was learnt from."""

    topics: Learnt
    kinds: KindModel
    cards: Learnt
    known: frozenset[str]


def load_weights(config: Path) -> Weighing:
    """The weights of a config folder.

    Raises:
        HandbookError: there is no such file, or it is damaged.
    """
    try:
        raw = json.loads(gzip.decompress((config / FILE).read_bytes()))
        return Weighing(_learnt(raw["topics"]), _kinds(raw["kinds"]), _learnt(raw["cards"]), frozenset(raw["known"]))
    except (OSError, EOFError, ValueError, KeyError, TypeError) as error:
        problem = f"{FILE}: cannot be read: {error}. Learn it again: python -m tests.reference.learning."
        raise HandbookError([problem]) from error


def save_weights(config: Path, weighing: Weighing) -> None:
    """Writes the file; the same weights always become the same bytes."""
    page = {
        "topics": _page(weighing.topics),
        "kinds": _page(weighing.kinds.learnt) | {"rates": weighing.kinds.rates},
        "cards": _page(weighing.cards),
        "known": sorted(weighing.known),
    }
    text = json.dumps(page, separators=(",", ":"), sort_keys=True)
    (config / FILE).write_bytes(gzip.compress(text.encode(), mtime=0))


def _learnt(page: Mapping[str, Any]) -> Learnt:
    rows = {feature: array("b", b64decode(row)) for feature, row in page["rows"].items()}
    classes = tuple(page["classes"])
    if any(len(row) != len(classes) for row in (page["bias"], *rows.values())):
        raise ValueError("a row does not fit its classes")
    return Learnt(classes, float(page["unit"]), page["bias"], rows)


def _kinds(page: Mapping[str, Any]) -> KindModel:
    return KindModel(_learnt(page), {topic: dict(rates) for topic, rates in page["rates"].items()})


def _page(learnt: Learnt) -> dict[str, object]:
    rows = {feature: b64encode(array("b", row).tobytes()).decode() for feature, row in learnt.rows.items()}
    return {"classes": learnt.classes, "unit": learnt.unit, "bias": list(learnt.bias), "rows": rows}
