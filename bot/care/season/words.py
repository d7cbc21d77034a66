"""What a season notice says: its heading, its text for the moderators to edit, its figures, and its cautions.

Figures in the texts are those of the rest engine (`rest/terms.py`, `rest/duties.py`); the advice is common practice.
Cautions are ids of `config/cautions` and stand outside the text, so that no edit can touch them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from bot.care.phase import Phase
from bot.care.rest.duties import CHECK_DAYS, NO_FOOD_BELOW_C, STILL_DAYS
from bot.care.rest.terms import COOLING_C_PER_WEEK, PAUSE_C
from bot.care.season.community import Half, Mark, SeasonStage
from bot.care.season.dates import RESTING, StageDay
from bot.care.season.figures import GroupFigures, Spread, monday
from bot.care.species import DormancyClass
from bot.care.units import Units, say_temperature, say_temperatures

NO_FIGURES = (
    "No figures this time: they appear once at least five members agree to be counted (`/season share`). "
    "The date follows our calendar, a convention from the light of this half of the earth; your own plan may differ."
)
HOW_COUNTED = "Counted are members who agreed to it. Figures are rounded, and groups under five members are left out."
MAY_REST = (*RESTING, DormancyClass.UNKNOWN)
CYCLE = {
    DormancyClass.ENDO: "that rest by an inner clock",
    DormancyClass.EXO: "that rest when autumn cools",
    DormancyClass.QUASI: "that need no rest",
    DormancyClass.HOMO: "that are active all year",
    DormancyClass.REVERSED: "that rest in summer",
    DormancyClass.UNKNOWN: "whose winter is not well studied",
}
MARK = {
    Mark.NO_PLAN: "have no first day yet",
    Mark.NO_PLACE: "have no measured place of rest yet",
    Mark.TOO_WARM: "have a place that is too warm",
    Mark.TOO_COLD: "have a place that is too cold",
    Mark.PUPAE: "still have eggs or pupae",
    Mark.AWAKE: "were seen awake",
}
HEADING = {
    SeasonStage.PREPARE: "time to prepare the winter rest",
    SeasonStage.WIND_DOWN: "the wind-down begins",
    SeasonStage.COOL_DOWN: "the cool-down begins",
    SeasonStage.MID_REST: "half-time, look at the water",
    SeasonStage.WARM_UP: "the warm-up begins",
    SeasonStage.WELCOME_BACK: "welcome back",
    SeasonStage.NOTHING_DUE: "no winter here, and nothing is due",
}
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
FOR_WHOM = {"REST-TROPICAL": "Species of the warm tropics"}
"""Cautions that speak of one colony, with whom they are for when they stand before a whole community."""
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
) -> DraftWords:
    """The draft of one notice.

    Args:
        stage: what it is about.
        half: for whom.
        begins: first day of the stage.
        figures: shown figures of this half and season; `None` where the community does not count.
        units: scale of the temperatures.
        halves: all halves that the community serves, to say for whom this is and for whom not.
    """
    where = f"{half.value}ern half: " if len(halves) > 1 and half is not Half.TROPICS else ""
    heading = HEADING[stage]
    lines = [*_TEXT[stage](f"the week of {_day(monday(begins.day))}", units)]
    if stage is SeasonStage.PREPARE and Half.TROPICS in halves:
        lines.append("In the tropics nothing is due: species that are active all year stay warm.")
    return DraftWords(
        heading=(where + heading)[:1].upper() + (where + heading)[1:],
        text="\n".join(lines),
        numbers="" if figures is None or stage is SeasonStage.NOTHING_DUE else numbers(stage, figures),
        cautions=CAUTIONS[stage],
    )


def numbers(stage: SeasonStage, figures: Sequence[GroupFigures]) -> str:
    """The figures of a notice: a line for each group that may rest, one for all others together."""
    groups = sorted(figures, key=lambda group: group.key)
    lines = [_group_line(stage, group) for group in groups if group.key.dormancy in MAY_REST]
    others = [
        f"about {group.colonies:,} {CYCLE[group.key.dormancy]}"
        for group in groups
        if group.key.dormancy not in MAY_REST
    ]
    if others:
        lines.append(f"Besides {' and '.join([', '.join(others[:-1]), others[-1]] if others[1:] else others)}.")
    return "\n".join([*lines, f"-# {HOW_COUNTED}"]) if lines else NO_FIGURES


def _group_line(stage: SeasonStage, group: GroupFigures) -> str:
    phase = _OWN_PHASE[stage]
    spread = group.begins.get(phase)
    said = "new season" if phase is Phase.RESUME else phase.value
    when = "" if spread is None else f": {said} from {_spread(spread)}"
    marks = {mark: count for mark, count in group.marks.items() if mark in _MATTERS[stage]}
    nearly_all = [MARK[mark] for mark, count in marks.items() if count >= group.colonies]
    some = [f"about {count:,} {MARK[mark]}" for mark, count in marks.items() if count < group.colonies]
    told = [f"About **{group.colonies:,}** colonies {CYCLE[group.key.dormancy]}{when}."]
    told += [f"Nearly all {what}." for what in nearly_all]
    told += [f"Of these {', '.join(some)}."] if some else []
    return " ".join(told)


def _spread(spread: Spread) -> str:
    if spread.first == spread.last:
        return f"the week of {_day(spread.first)}"
    ends = f"the week of {_day(spread.first)} to that of {_day(spread.last)}"
    return (
        ends
        if spread.middle in {spread.first, spread.last}
        else f"{ends}, half of them by that of {_day(spread.middle)}"
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"


def _prepare(week: str, _: Units) -> Iterator[str]:
    yield f"In {week} the first colonies here start to wind down. There is time to get ready without haste."
    yield "- **A place**: dark, still, free of frost. Leave a thermometer there for days: the coldest night counts."
    yield "- **Food**: sugar as much as they take, protein as long as there are larvae."
    yield "- **Water**: a full tube or a moist nest. It goes on all winter."
    yield "- **Not sure that yours rests?** Press “Plan my colonies”. Some species must stay warm; I tell you which."


def _wind_down(week: str, _: Units) -> Iterator[str]:
    yield f"In {week} the first colonies here begin to wind down: two weeks at their usual warmth, eating their fill."
    yield "- Keep sugar on offer. Protein only as far as larvae ask for it."
    yield "- Look for eggs and pupae. None left: ready to cool. Some left: wait, up to four weeks longer."
    yield "- Tell me what you see, and the dates of your colony move with it."


def _cool_down(week: str, units: Units) -> Iterator[str]:
    step = f"{COOLING_C_PER_WEEK} °C" if units is Units.CELSIUS else f"{COOLING_C_PER_WEEK * 9 / 5:.0f} °F"
    pause = say_temperatures(PAUSE_C, units)
    yield f"In {week} the first colonies here start to cool down. Slowly is right."
    yield f"- At most {step} a week, with a pause at {pause} while brood finishes."
    yield f"- Pupae turn up? Stop at {pause} until they are gone."
    yield "- Fill up the water first. A cold nest dries more slowly, but it dries."


def _mid_rest(week: str, units: Units) -> Iterator[str]:
    days = f"{CHECK_DAYS.low / 7:.0f} to {CHECK_DAYS.high / 7:.0f} weeks"
    yield f"Half of the rest is over in {week}. The ants are still, their water is not."
    yield f"- Look at the water now, then every {days}. Through the wall is enough."
    yield "- Read the thermometer: the coldest and the warmest it has been."
    yield "- Mould, a leak or drops on the glass? Write it down with `/care upkeep` and act the same day."
    yield f"- No food below {say_temperature(NO_FOOD_BELOW_C, units)}: it would only spoil."


def _warm_up(week: str, units: Units) -> Iterator[str]:
    yield f"In {week} the first colonies here start to warm up."
    yield f"- By room air, in steps, with some days at {say_temperatures(PAUSE_C, units)}. No heat pad yet."
    yield "- Water first, then sugar. Protein some days later, when they are out and about."
    yield f"- Nobody moves? Give them {STILL_DAYS} warm days before you judge."


def _welcome_back(week: str, _: Units) -> Iterator[str]:
    yield f"In {week} the first colonies here are back at their usual warmth. The new season begins."
    yield f"- They start slowly and may look dead. Throw nothing out before {STILL_DAYS} warm days have passed."
    yield "- Water and sugar now, a little protein after three to seven days."
    yield "- Is your queen awake? Press the button, so that all see how the season goes."


def _nothing_due(_: str, __: Units) -> Iterator[str]:
    yield "In other places keepers get ready for winter. Here nothing is due."
    yield "- Species of the warm tropics are active all year: food, water, warmth and a cool end, as always."
    yield "- You keep a species from a cooler place? Your calendar cannot tell its season. Press “Plan my colonies”."


_TEXT = {
    SeasonStage.PREPARE: _prepare,
    SeasonStage.WIND_DOWN: _wind_down,
    SeasonStage.COOL_DOWN: _cool_down,
    SeasonStage.MID_REST: _mid_rest,
    SeasonStage.WARM_UP: _warm_up,
    SeasonStage.WELCOME_BACK: _welcome_back,
    SeasonStage.NOTHING_DUE: _nothing_due,
}
