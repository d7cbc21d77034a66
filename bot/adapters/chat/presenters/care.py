"""What is due, the coming days, and why, as text."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_name, day_said, distance, shown
from bot.adapters.chat.presenters.words import DUTY, OUTCOME, capital
from bot.care.duty import Duty, Input, Occurrence
from bot.care.evidence import Confidence
from bot.services.acknowledgement import Recorded
from bot.services.care_views import DueView, WeekView, WhyView

WITH_REASONS = 25
"""Up to so many lines the week is told with reasons; a longer one names the duties only."""
SURE: dict[Confidence, str] = {
    Confidence.SEEN: "read in the source",
    Confidence.SECOND_HAND: "second hand",
    Confidence.DERIVED: "derived from published figures",
    Confidence.MEMORY: "from memory, not checked",
    Confidence.COMMON_PRACTICE: "common practice, no published source",
    Confidence.JUDGEMENT: "our own judgement",
}


def nothing_due_page(view: DueView) -> Page:
    """A quiet day."""
    line = view.next_line
    if line is None:
        return Page(title="Nothing waits", blocks=("Nothing is planned. `/colony add` registers a colony.",))
    found = line.stored.occurrence
    text = f"Next: **{DUTY[found.duty]}** for {shown(line.colony_name)}, {day_said(found.day)}."
    return Page(title="Nothing waits", blocks=(text,), cautions=view.cautions)


def week_page(view: WeekView, today: date) -> Page:
    """The coming days, day by day, each line with its reason while they are few."""
    by_day: dict[date, list[tuple[str, Occurrence]]] = defaultdict(list)
    kept = [(plan.colony.name, plan.occurrences) for plan in view.plans]
    kept += [(plan.culture.name, plan.occurrences) for plan in view.cultures]
    for name, occurrences in kept:
        for found in occurrences:
            by_day[found.day].append((name, found))
    total = sum(len(lines) for lines in by_day.values())
    blocks = [_day(day, by_day[day], today, reasons=total <= WITH_REASONS) for day in sorted(by_day)]
    if total > WITH_REASONS:
        blocks.append("`/care why` tells the reason behind any of these.")
    blocks += [f"**{shown(plan.colony.name)}** {text}" for plan in view.plans for text in plan.warnings]
    empty = "Nothing is planned." if kept else "You have registered no colony yet. `/colony add` is the first step."
    return Page(title=f"The next {view.days} days", blocks=tuple(blocks) or (empty,))


def _day(day: date, lines: Sequence[tuple[str, Occurrence]], today: date, *, reasons: bool) -> str:
    title = "Today" if day == today else day_name(day)
    if reasons:
        told = [f"{shown(name)}: **{DUTY[found.duty]}** – {found.reason}" for name, found in lines]
        return "\n".join([f"**{title}**", *told])
    groups: dict[str, list[str]] = defaultdict(list)
    for name, found in lines:
        groups[name].append(DUTY[found.duty])
    return "\n".join([f"**{title}**", *(f"{shown(name)}: {', '.join(words)}" for name, words in groups.items())])


def why_page(view: WhyView, today: date) -> Page:
    """The inputs, the rule, the source, and what would change it."""
    title = f"{capital(DUTY[view.duty])} for {shown(view.colony.colony.name)}"
    found = view.occurrence
    if found is None:
        return Page(title=title, blocks=(view.no_reason,), cautions=view.cautions, advice=True)
    why = found.why
    when = f"**{capital(distance(found.day, today, found.earliest, found.latest))}** – {day_said(found.day)}"
    sure = SURE[why.evidence.confidence]
    blocks = [f"{when}\n{found.reason}", f"**The rule** {why.rule}"]
    if why.inputs:
        blocks.append(inputs_text(why.inputs))
    if why.would_change:
        blocks.append("\n".join(["**What would change it**", *map(capital, why.would_change)]))
    blocks.append("\n".join(["**Where it comes from**", f"How sure: {sure}.", *view.sources]))
    return Page(title=title, blocks=tuple(blocks), cautions=view.cautions, advice=True)


def inputs_text(inputs: Sequence[Input]) -> str:
    """What went into a decision, one line each."""
    lines = [
        f"{capital(found.label)}: {shown(found.shown, 120)}{' (taken as given)' if found.defaulted else ''}"
        for found in inputs
    ]
    return "\n".join(["**What went in**", *lines])


def recorded_heading(recorded: Recorded) -> str:
    """What was written down, and what follows."""
    name, duty = shown(recorded.colony.colony.name), DUTY[recorded.duty]
    seen = "" if recorded.outcome is None else f", {OUTCOME[recorded.outcome]}"
    lines = [f"✓ Written down for **{name}**: {duty}{seen}."]
    if recorded.next_day is not None:
        lines.append(f"Next: {day_said(recorded.next_day)}.")
    if recorded.leftovers_day is not None and recorded.duty is not Duty.LEFTOVERS:
        lines.append(f"Leftovers come out {day_said(recorded.leftovers_day)}.")
    return "\n".join(lines)
