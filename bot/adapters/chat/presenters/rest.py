"""A winter rest as text: whether and why, phases with dates and temperatures, what must be seen before going on."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta

from bot.adapters.chat.presenters.care import inputs_text
from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import NOON, day_name, shown, stamp
from bot.adapters.chat.presenters.words import capital
from bot.care.phase import PhaseSpan, RestPlan
from bot.care.units import Units, say_temperatures
from bot.services.rest import RestView


def rest_page(view: RestView) -> Page:
    """The winter rest of one colony."""
    plan = view.plan
    blocks = [plan.why]
    if plan.phases:
        blocks.append("\n".join(_phases(plan, view.today, view.units)))
    blocks += [f"**Does not fit** {problem}" for problem in plan.problems]
    if plan.explained.inputs:
        blocks.append(inputs_text(plan.explained.inputs))
    blocks.append("`/rest plan` changes the start, the length or the place.")
    return Page(
        title=f"Winter rest of {shown(view.colony.colony.name)}",
        blocks=tuple(blocks),
        cautions=view.cautions,
    )


def _phases(plan: RestPlan, today: date, units: Units) -> Iterator[str]:
    for span in plan.phases:
        yield _phase(span, today, units)
        if span.phase in plan.gates:
            yield f"-# {plan.gates[span.phase]}"


def _phase(span: PhaseSpan, today: date, units: Units) -> str:
    last = span.end - timedelta(days=1)
    year = f" {last.year}" if last.year != today.year else ""
    here = " ◂ now" if span.start <= today < span.end else ""
    when = f"{day_name(span.start)} to {day_name(last)}{year}"
    ahead = f" ({stamp(datetime.combine(span.start, NOON))})" if span.start > today else ""
    return f"**{capital(span.phase.value)}** {when}{ahead}, {say_temperatures(span.temperature_c, units)}{here}"
