"""Misspellings: an unknown word is read as the nearest word of the trade, if one is near enough.

Near means one slip (a letter too many, missing, wrong, or two swapped) from five letters on; from eight on two
slips that dropping one letter on each side undoes. A word that begins like a stem of the trade is read as that stem.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

_ONE_SLIP = 5
_TWO_SLIPS = 8
_STEM = 5


class Speller:
    """Looks words up by what remains when one letter is dropped, so a look-up costs microseconds.

    Args:
        vocabulary: words that may be meant.
        stems: beginnings of words that may be meant.
    """

    def __init__(self, vocabulary: Iterable[str], stems: Iterable[str] = ()) -> None:
        self._stems = frozenset(stem for stem in stems if len(stem) >= _STEM)
        self._by_drop: dict[str, list[str]] = defaultdict(list)
        for word in sorted(self._stems.union(vocabulary)):
            if len(word) >= _ONE_SLIP:
                for form in _drops(word):
                    self._by_drop[form].append(word)

    def nearest(self, word: str) -> str | None:
        """The nearest known word, or `None`; the shorter distance wins, then the alphabet."""
        if len(word) < _ONE_SLIP:
            return None
        whole = self._within(word)
        return whole if whole is not None else self._stem(word)

    def _stem(self, word: str) -> str | None:
        for cut in range(len(word) - 1, _STEM - 1, -1):
            found = self._within(word[:cut])
            if found in self._stems:
                return found
        return None

    def _within(self, word: str) -> str | None:
        allowed = 2 if len(word) >= _TWO_SLIPS else 1
        candidates = {known for form in _drops(word) for known in self._by_drop.get(form, ())}
        ranked = sorted((slips(word, known), known) for known in candidates if known[0] == word[0])
        return ranked[0][1] if ranked and ranked[0][0] <= allowed else None


def _drops(word: str) -> set[str]:
    return {word, *(word[:cut] + word[cut + 1 :] for cut in range(len(word)))}


def slips(left: str, right: str) -> int:
    """Edit distance with swaps of neighbours (optimal string alignment, textbook recurrence)."""
    before: list[int] = []
    row = list(range(len(right) + 1))
    for i, a in enumerate(left, 1):
        older, before, row = before, row, [i]
        for j, b in enumerate(right, 1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == right[j - 2] and left[i - 2] == b:
                best = min(best, older[j - 2] + 1)
            row.append(best)
    return row[-1]
