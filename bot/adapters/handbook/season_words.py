"""Loads `config/season/`: one file a language, named by its code; a further language is a further file.

Checked are all keys, the slots in braces, and that translated cautions exist. A caution without a translation is shown
in English, so those may be left out; nothing else may.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from enum import StrEnum
from pathlib import Path
from string import Formatter
from typing import Annotated, Any

from pydantic import AfterValidator, Field, StringConstraints, ValidationError

from bot.adapters.handbook.errors import HandbookError
from bot.adapters.handbook.figures import Page
from bot.adapters.handbook.schema import Text
from bot.adapters.handbook.wording import key_of, sentence
from bot.care.handbook import Handbook
from bot.care.phase import Phase
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.season.language import ENGLISH, FigureWords, Languages, PictureWords, SeasonWords
from bot.care.species import DormancyClass

LONGEST_CAUTION = 300
"""Characters of a translated caution: other languages need more room than the 240 of English."""
LONGEST_BUTTON = 40
TEXT_SLOTS = frozenset({"day", "step", "pause", "weeks_low", "weeks_high", "no_food", "still", "plan"})
BUTTONS = ("plan", "remind", "awake", "pupae", "no")
RESTING = tuple(phase for phase in Phase if phase is not Phase.ACTIVE)


def _slots_in(text: str) -> frozenset[str]:
    try:
        return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)
    except ValueError as error:
        raise ValueError(f"has braces that do not match: {error}") from None


def _slots(*wanted: str) -> AfterValidator:
    """A text with exactly these slots."""

    def check(text: str) -> str:
        if _slots_in(text) != set(wanted):
            raise ValueError(f"must name {', '.join(f'{{{slot}}}' for slot in wanted) or 'no slot'} and no other slot")
        return text

    return AfterValidator(check)


def _line(text: str) -> str:
    unknown = _slots_in(text) - TEXT_SLOTS
    if unknown:
        raise ValueError(f"has no slot {{{min(unknown)}}}; use {', '.join(sorted(TEXT_SLOTS))}")
    return text


def _every(kinds: Iterable[StrEnum | str]) -> AfterValidator:
    """A table with a key for each kind."""
    names = [str(kind) for kind in kinds]

    def check(table: dict[Any, Any]) -> dict[Any, Any]:
        missing = [name for name in names if name not in table]
        if missing:
            raise ValueError(f"lacks {', '.join(missing)}")
        return table

    return AfterValidator(check)


Plain = Annotated[Text, _slots()]
Lines = Annotated[tuple[Annotated[Text, AfterValidator(_line)], ...], Field(min_length=1)]
Months = Annotated[tuple[Plain, ...], Field(min_length=12, max_length=12)]


class FigurePage(Page):
    """Sentences around figures."""

    none: Plain
    how_counted: Plain
    group: Annotated[Text, _slots("count", "cycle")]
    group_when: Annotated[Text, _slots("count", "cycle", "when")]
    when_one: Annotated[Text, _slots("phase", "first")]
    when_two: Annotated[Text, _slots("phase", "first", "last")]
    when_three: Annotated[Text, _slots("phase", "first", "middle", "last")]
    nearly_all: Annotated[Text, _slots("mark")]
    of_these: Annotated[Text, _slots("marks")]
    part: Annotated[Text, _slots("count", "mark")]
    besides: Annotated[Text, _slots("groups")]
    others: Annotated[Text, _slots("count", "cycle")]
    joint: Plain


class PicturePage(Page):
    """Words of the picture."""

    title: Plain
    below: Annotated[Text, _slots("floor")]
    frame: Annotated[Text, _slots("half", "year")]
    up_to: Annotated[Text, _slots("count")]
    today: Plain
    about: Plain
    row: Annotated[Text, _slots("phase", "first", "last", "count")]


class LanguagePage(Page):
    """One language."""

    name: Plain
    months: Months
    short_months: Months
    day: Annotated[Text, _slots("day", "month")]
    first_of_month: Annotated[Text, _slots("day", "month")]
    thousands: Annotated[str, StringConstraints(min_length=1, max_length=1)]
    danger: Plain
    take_care: Plain
    tropics: Plain
    for_half: Annotated[
        dict[Half, Annotated[Text, _slots("heading")]], _every(half for half in Half if half is not Half.TROPICS)
    ]
    half: Annotated[dict[Half, Plain], _every(Half)]
    phase: Annotated[dict[Phase, Plain], _every(RESTING)]
    heading: Annotated[dict[SeasonStage, Plain], _every(SeasonStage)]
    text: Annotated[dict[SeasonStage, Lines], _every(SeasonStage)]
    cycle: Annotated[dict[DormancyClass, Plain], _every(DormancyClass)]
    mark: Annotated[dict[Mark, Plain], _every(Mark)]
    figures: FigurePage
    button: Annotated[dict[str, Annotated[Plain, Field(max_length=LONGEST_BUTTON)]], _every(BUTTONS)]
    picture: PicturePage
    whom: dict[str, Plain] = Field(default_factory=dict)
    caution: dict[str, Annotated[Plain, Field(max_length=LONGEST_CAUTION)]] = Field(default_factory=dict)


def load_languages(handbook: Handbook, config: Path, *overlays: Path) -> Languages:
    """The languages of a config folder; each overlay folder may add some, or replace keys of others.

    Raises:
        HandbookError: with one line for everything that is wrong.
    """
    raw: dict[str, dict[str, Any]] = {}
    problems: list[str] = []
    for folder in (config, *overlays):
        for path in sorted((folder / "season").glob("*.toml")):
            try:
                raw.setdefault(path.stem, {}).update(tomllib.loads(path.read_text(encoding="utf-8")))
            except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
                problems.append(f"season/{path.name}: not valid TOML: {error}.")
    if ENGLISH not in raw:
        problems.append(f"season/{ENGLISH}.toml: no such file; English stands in where another language lacks words.")
    found = {code: words for code, fields in raw.items() if (words := _language(code, fields, handbook, problems))}
    if problems:
        raise HandbookError(problems)
    return found


def _language(code: str, fields: dict[str, Any], handbook: Handbook, problems: list[str]) -> SeasonWords | None:
    """One language, or `None` after noting what is wrong with it."""
    label = f"season/{code}.toml"
    try:
        page = LanguagePage.model_validate(fields)
    except ValidationError as errors:
        problems += [
            f"{label}: {key_of(error['loc'])}: {sentence(error, LanguagePage)}."
            for error in errors.errors(include_url=False)
        ]
        return None
    problems += [
        f"{label}: {key}: there is no caution “{caution}” in cautions/."
        for key in ("whom", "caution")
        for caution in getattr(page, key)
        if caution not in handbook.cautions
    ]
    plain = {name: getattr(page, name) for name in LanguagePage.model_fields if name not in {"figures", "picture"}}
    return SeasonWords(
        code=code,
        figures=FigureWords(**page.figures.model_dump()),
        picture=PictureWords(**page.picture.model_dump()),
        **plain,
    )
