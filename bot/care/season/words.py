"""What a season notice says: its heading, its text for the moderators to edit, its figures, and its cautions.

Figures in the texts are those of the rest engine (`rest/terms.py`, `rest/duties.py`); the words of each language stand
in `config/season`. Cautions are ids of `config/cautions` and stand outside the text, so that no edit can touch them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bot.care.phase import Phase
from bot.care.rest.duties import CHECK_DAYS, NO_FOOD_BELOW_C, STILL_DAYS
from bot.care.rest.terms import COOLING_C_PER_WEEK, PAUSE_C
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.season.dates import RESTING, StageDay
from bot.care.season.figures import GroupFigures, Spread, monday
from bot.care.season.language import SeasonWords
from bot.care.species import DormancyClass
from bot.care.units import Units, say_temperature, say_temperatures

LONGEST_NUMBERS = 900
"""Characters of figures that leave room for everything else of a notice; beyond, fewer groups are told of in detail."""
MAY_REST = (*RESTING, DormancyClass.UNKNOWN)
CAUTIONS: Mapping[SeasonStage, tuple[str, ...]] = {
    SeasonStage.PREPARE: ("REST-TROPICAL", "REST-TOO-COLD", "REST-LONE-QUEEN", "REST-DATES"),
    SeasonStage.WIND_DOWN: ("REST-PUPAE", "REST-TROPICAL", "REST-DATES"),
    SeasonStage.COOL_DOWN: ("REST-PUPAE", "REST-TROPICAL", "REST-TOO-COLD", "REST-COOL-SLOWLY"),
    SeasonStage.MID_REST: ("REST-TOO-COLD", "WATER", "REST-DRY-AIR"),
    SeasonStage.WARM_UP: ("WATER", "REST-WARM-UP", "REST-WAKING"),
    SeasonStage.WELCOME_BACK: ("WATER", "REST", "REST-WAKING"),
    SeasonStage.NOTHING_DUE: ("REST-TROPICAL", "WATER"),
}
"""Ids of what must be read with each stage; the presenter orders them by severity."""
_OWN_PHASE = {
    SeasonStage.PREPARE: Phase.WIND_DOWN,
    SeasonStage.WIND_DOWN: Phase.WIND_DOWN,
    SeasonStage.COOL_DOWN: Phase.COOL_DOWN,
    SeasonStage.MID_REST: Phase.REST,
    SeasonStage.WARM_UP: Phase.WARM_UP,
    SeasonStage.WELCOME_BACK: Phase.RESUME,
}
_BEFORE_COOLING = frozenset({Mark.NO_PLAN, Mark.NO_PLACE, Mark.TOO_WARM, Mark.TOO_COLD, Mark.PUPAE})
_MATTERS: Mapping[SeasonStage, frozenset[Mark]] = {
    SeasonStage.PREPARE: _BEFORE_COOLING - {Mark.PUPAE},
    SeasonStage.WIND_DOWN: _BEFORE_COOLING,
    SeasonStage.COOL_DOWN: _BEFORE_COOLING,
    SeasonStage.MID_REST: frozenset({Mark.TOO_WARM, Mark.TOO_COLD, Mark.AWAKE}),
    SeasonStage.WARM_UP: frozenset({Mark.AWAKE}),
    SeasonStage.WELCOME_BACK: frozenset({Mark.AWAKE}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftWords:
    """A notice in words. Only `text` may be edited."""

    heading: str
    text: str
    numbers: str
    cautions: tuple[str, ...]


def draft_words(
    stage: SeasonStage,
    half: Half,
    begins: StageDay,
    figures: Sequence[GroupFigures] | None,
    units: Units,
    halves: Sequence[Half],
    words: SeasonWords,
) -> DraftWords:
    """The draft of one notice.

    Args:
        stage: what it is about.
        half: for whom.
        begins: first day of the stage.
        figures: shown figures of this half and season; `None` where the community does not count.
        units: scale of the temperatures.
        halves: all halves that the community serves, to say for whom this is and for whom not.
        words: the community's language.
    """
    heading = words.heading[stage]
    if len(halves) > 1 and half in words.for_half:
        heading = words.for_half[half].format(heading=heading)
    slots = _slots(begins, units, words)
    lines = [line.format(**slots) for line in words.text[stage]]
    if stage is SeasonStage.PREPARE and Half.TROPICS in halves:
        lines.append(words.tropics)
    return DraftWords(
        heading=heading[:1].upper() + heading[1:],
        text="\n".join(lines),
        numbers="" if figures is None or stage is SeasonStage.NOTHING_DUE else numbers(stage, figures, words),
        cautions=CAUTIONS[stage],
    )


def _slots(begins: StageDay, units: Units, words: SeasonWords) -> Mapping[str, str]:
    """What may stand in braces in the text of a stage."""
    step = COOLING_C_PER_WEEK if units is Units.CELSIUS else round(COOLING_C_PER_WEEK * 9 / 5)
    return {
        "day": words.say_day(monday(begins.day)),
        "step": f"{step} °{units.value}",
        "pause": say_temperatures(PAUSE_C, units),
        "weeks_low": f"{CHECK_DAYS.low / 7:.0f}",
        "weeks_high": f"{CHECK_DAYS.high / 7:.0f}",
        "no_food": say_temperature(NO_FOOD_BELOW_C, units),
        "still": f"{STILL_DAYS}",
        "plan": words.button["plan"],
    }


def numbers(stage: SeasonStage, figures: Sequence[GroupFigures], words: SeasonWords) -> str:
    """The figures of a notice: a line for each group that may rest, one for all others together.

    What stands in the way of a rest is told of as many groups as there is room for.
    """
    groups = sorted(figures, key=lambda group: group.key)
    detailed = len(groups)
    while len(told := _numbers(stage, groups, words, detailed)) > LONGEST_NUMBERS and detailed:
        detailed -= 1
    return told


def _numbers(stage: SeasonStage, groups: Sequence[GroupFigures], words: SeasonWords, detailed: int) -> str:
    lines = [
        _group_line(stage, group, words, marked=place < detailed)
        for place, group in enumerate(groups)
        if group.key.dormancy in MAY_REST
    ]
    others = [
        words.figures.others.format(count=words.number(group.colonies), cycle=words.cycle[group.key.dormancy])
        for group in groups
        if group.key.dormancy not in MAY_REST
    ]
    if others:
        lines.append(words.figures.besides.format(groups=words.listed(others)))
    return "\n".join([*lines, f"-# {words.figures.how_counted}"]) if lines else words.figures.none


def _group_line(stage: SeasonStage, group: GroupFigures, words: SeasonWords, *, marked: bool) -> str:
    said, phase = words.figures, _OWN_PHASE[stage]
    spread = group.begins.get(phase)
    whole = {"count": words.number(group.colonies), "cycle": words.cycle[group.key.dormancy]}
    when = "" if spread is None else _when(phase, spread, words)
    told = [said.group_when.format(**whole, when=when) if when else said.group.format(**whole)]
    marks = {mark: count for mark, count in group.marks.items() if marked and mark in _MATTERS[stage]}
    told += [said.nearly_all.format(mark=words.mark[mark]) for mark, count in marks.items() if count >= group.colonies]
    some = [
        said.part.format(count=words.number(count), mark=words.mark[mark])
        for mark, count in marks.items()
        if count < group.colonies
    ]
    told += [said.of_these.format(marks=", ".join(some))] if some else []
    return " ".join(told)


def _when(phase: Phase, spread: Spread, words: SeasonWords) -> str:
    """From which week to which one a phase begins."""
    if spread.first == spread.last:
        template = words.figures.when_one
    elif spread.middle in {spread.first, spread.last}:
        template = words.figures.when_two
    else:
        template = words.figures.when_three
    return template.format(
        phase=words.phase[phase],
        first=words.say_day(spread.first),
        middle=words.say_day(spread.middle),
        last=words.say_day(spread.last),
    )
