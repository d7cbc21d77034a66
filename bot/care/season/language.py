"""The words of season notices in one language, as `config/season` holds them; what they say is decided in `words.py`.

Templates have named slots in braces; the loader has checked that each has its own and no others.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from bot.care.cautions import Caution
from bot.care.phase import Phase
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.species import DormancyClass

ENGLISH = "en"
"""The language that is always there: what another one lacks is shown in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureWords:
    """Sentences around counted figures."""

    none: str
    how_counted: str
    group: str
    group_when: str
    when_one: str
    when_two: str
    when_three: str
    nearly_all: str
    of_these: str
    part: str
    besides: str
    others: str
    joint: str
    """The word before the last of a list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureWords:
    """Words in and beside the picture of a season."""

    title: str
    below: str
    frame: str
    up_to: str
    today: str
    about: str
    row: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonWords:
    """One language."""

    code: str
    name: str
    """Of the language, in itself."""
    months: tuple[str, ...]
    short_months: tuple[str, ...]
    day: str
    first_of_month: str
    thousands: str
    danger: str
    take_care: str
    tropics: str
    for_half: Mapping[Half, str]
    half: Mapping[Half, str]
    phase: Mapping[Phase, str]
    heading: Mapping[SeasonStage, str]
    text: Mapping[SeasonStage, tuple[str, ...]]
    cycle: Mapping[DormancyClass, str]
    mark: Mapping[Mark, str]
    figures: FigureWords
    button: Mapping[str, str]
    picture: PictureWords
    whom: Mapping[str, str]
    """Cautions that speak of one colony, with whom they are for (and a colon) where a whole community reads them."""
    caution: Mapping[str, str] = field(default_factory=dict)
    """Caution id -> its whole text in this language."""

    def say_day(self, day: date) -> str:
        """`12 October`."""
        return self._day(day, self.months)

    def short_day(self, day: date) -> str:
        """`12 Oct`."""
        return self._day(day, self.short_months)

    def number(self, count: int) -> str:
        """`5,000`."""
        return f"{count:,}".replace(",", self.thousands)

    def listed(self, parts: list[str]) -> str:
        """`a, b and c`."""
        if len(parts) < 2:
            return "".join(parts)
        return f"{', '.join(parts[:-1])} {self.figures.joint} {parts[-1]}"

    def caution_text(self, caution: Caution) -> str:
        """A caution whole; in English where this language has no words for it."""
        return self.caution.get(caution.id, caution.text)

    def _day(self, day: date, months: tuple[str, ...]) -> str:
        template = self.first_of_month if day.day == 1 else self.day
        return template.format(day=day.day, month=months[day.month - 1])


Languages = Mapping[str, SeasonWords]
"""Code -> words; English is always among them."""


def wording(languages: Languages, code: str) -> SeasonWords:
    """The words of a language; English where it is no longer there."""
    return languages.get(code, languages[ENGLISH])
