"""The lines of a reminder: which are shown with buttons, which are folded, and what each says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum, auto
from itertools import groupby

from bot.adapters.chat.presenters.text import OPTION, day_said, joined, short, shown
from bot.adapters.chat.presenters.words import DUTY, OUTCOME, QUESTION, capital
from bot.care.duty import Duty, Outcome, Urgency
from bot.services.ports import DigestLine
from bot.services.records import OccurrenceId, OccurrenceState
from bot.services.sent_digests import SentLine

FOLDED_TEXT = 800
"""Characters spent on naming the folded lines of one standing; beyond, the picker names them."""


class Standing(Enum):
    """Where a line stands for its keeper."""

    OPEN = auto()
    DONE = auto()
    SKIPPED = auto()
    LATER = auto()
    OVER = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line as it is shown."""

    id: OccurrenceId
    colony: str
    duty: Duty
    reason: str
    urgent: bool = False
    days_late: int = 0
    standing: Standing = Standing.OPEN
    outcome: Outcome | None = None
    next_day: date | None = None
    """After an answer: the next day of the same duty, or the day it was put off to."""
    ask: tuple[Outcome, ...] = ()


def from_digest(line: DigestLine) -> Line:
    """A line that is about to be sent."""
    return Line(
        id=line.occurrence_id,
        colony=line.colony_name,
        duty=line.duty,
        reason=line.reason,
        urgent=line.urgent,
        days_late=line.days_late,
    )


def from_sent(line: SentLine) -> Line:
    """A line as it stands in the store."""
    row = line.stored
    standing = _standing(row.state, snoozed=row.snoozed)
    return Line(
        id=row.id,
        colony=line.colony_name,
        duty=row.occurrence.duty,
        reason=row.occurrence.reason,
        urgent=row.occurrence.urgency is Urgency.URGENT,
        days_late=line.days_late,
        standing=standing,
        outcome=row.outcome,
        next_day=line.next_day,
        ask=line.ask,
    )


def _standing(state: OccurrenceState, *, snoozed: bool) -> Standing:
    if state is OccurrenceState.PLANNED and snoozed:
        return Standing.LATER
    return {
        OccurrenceState.PLANNED: Standing.OPEN,
        OccurrenceState.SENT: Standing.OPEN,
        OccurrenceState.DONE: Standing.DONE,
        OccurrenceState.SKIPPED: Standing.SKIPPED,
    }.get(state, Standing.OVER)


def by_colony(lines: Iterable[Line]) -> tuple[Line, ...]:
    """Lines of one colony together; colonies in the order of their first, most urgent line."""
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.colony, []).append(line)
    return tuple(line for group in groups.values() for line in group)


def by_need(lines: Sequence[Line], focus: OccurrenceId | None) -> tuple[Line, ...]:
    """Lines in the order in which they deserve room: the one just touched, open ones, questions, the rest."""

    def rank(line: Line) -> int:
        if line.id == focus:
            return 0
        if line.standing is Standing.OPEN:
            return 1
        return 2 if line.ask else 3

    return tuple(sorted(lines, key=rank))


def line_text(line: Line, *, heading: bool) -> str:
    """What a line says; `heading` puts the name of its colony above."""
    above = f"### {shown(line.colony)}\n" if heading else ""
    return above + _said(line)


def _said(line: Line) -> str:
    name = capital(DUTY[line.duty])
    if line.standing is Standing.OPEN:
        late = f" · {line.days_late} day{'s' if line.days_late > 1 else ''} late" if line.days_late else ""
        return f"**{name}**{' · now' if line.urgent else ''}{late}\n{line.reason}"
    if line.standing is Standing.LATER:
        return f"{name} · put off{_to(line)}"
    if line.standing is Standing.OVER:
        return f"{name} · its time is over; the plan went on without it."
    seen = "" if line.outcome in {None, Outcome.DONE, Outcome.SKIPPED} else f", {OUTCOME[line.outcome]}"
    what = "done" if line.standing is Standing.DONE else "not needed"
    question = f"\n{QUESTION[line.duty]}" if line.ask else ""
    return f"✓ **{name}** {what}{seen}.{_next(line)}{question}"


def _to(line: Line) -> str:
    return "." if line.next_day is None else f" to {day_said(line.next_day)}."


def _next(line: Line) -> str:
    return "" if line.next_day is None else f" Next: {day_said(line.next_day)}."


def folded_text(lines: Sequence[Line]) -> str:
    """Folded lines by colony in few words; what does not fit is counted."""
    waiting = [line for line in lines if line.standing is Standing.OPEN]
    answered = [line for line in lines if line.standing is not Standing.OPEN]
    parts = [("Also waiting", waiting), ("Answered", answered)]
    return "\n".join(f"**{title}**\n{_by_name(inside)}" for title, inside in parts if inside)


def _by_name(lines: Sequence[Line]) -> str:
    said: list[str] = []
    left = len(lines)
    for colony, group in groupby(by_colony(lines), key=lambda line: line.colony):
        inside = list(group)
        text = f"{shown(colony)}: {joined([_brief(line) for line in inside])}"
        if len("\n".join([*said, text])) > FOLDED_TEXT:
            return "\n".join([*said, f"… and {left} more in the list below."])
        said.append(text)
        left -= len(inside)
    return "\n".join(said)


def _brief(line: Line) -> str:
    mark = "" if line.standing is Standing.OPEN else "✓ "
    return f"{mark}{DUTY[line.duty]}{' (now)' if line.urgent and not mark else ''}"


def option_label(line: Line) -> str:
    """A folded line in the picker."""
    return short(f"{short(line.colony, 50)} – {_brief(line)}", OPTION)


def option_hint(line: Line) -> str:
    """The start of its reason; the whole of it comes with the line."""
    return short(line.reason, OPTION)
