"""A household's plan as text for people at a terminal: by week, with reasons, and cautions in full the first time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import groupby

from bot.care.agenda import ColonyPlan
from bot.care.cautions import in_order
from bot.care.duty import Occurrence
from bot.care.handbook import Handbook
from bot.care.phase import RestPlan
from bot.care.place import Keeper
from bot.care.units import Units, say_temperatures

DUTY_WIDTH = 16


def plan_text(keeper: Keeper, plans: Sequence[ColonyPlan], handbook: Handbook) -> str:
    """The whole plan; every caution is written out once, at the top, dangers first."""
    lines = [f"Keeper in {keeper.zone_name}, {_latitude(keeper)}; reminders at {keeper.digest_at:%H:%M}."]
    lines += _cautions(plans, handbook)
    for plan in plans:
        lines += ["", *_colony(plan, keeper.units)]
    names = {plan.colony.key: plan.colony.name for plan in plans}
    lines += ["", *_weeks([found for plan in plans for found in plan.occurrences], names)]
    return "\n".join(lines)


def _latitude(keeper: Keeper) -> str:
    if keeper.latitude is None:
        return "latitude unknown (give it, else no winter rest can be dated)"
    return f"latitude {abs(keeper.latitude):.1f}° {keeper.hemisphere}"


def _cautions(plans: Sequence[ColonyPlan], handbook: Handbook) -> Iterator[str]:
    ids = [name for plan in plans for found in plan.occurrences for name in found.cautions]
    chosen = in_order(ids, handbook.cautions)
    if chosen:
        yield ""
        yield "Cautions"
    for caution in chosen:
        yield f"  {caution.severity.value.upper():8} {caution.text} [{caution.id}]"


def _colony(plan: ColonyPlan, units: Units) -> Iterator[str]:
    yield f"{plan.colony.name}: {plan.profile.name}, {plan.colony.workers} workers, class {plan.profile.dormancy.value}"
    for rest in plan.rests:
        yield from _rest(rest, units)
    for warning in plan.warnings:
        yield f"  ! {warning}"


def _rest(rest: RestPlan, units: Units) -> Iterator[str]:
    yield f"  Winter rest: {rest.why}"
    for span in rest.phases:
        last = span.end - timedelta(days=1)
        temperature = say_temperatures(span.temperature_c, units)
        yield f"    {span.phase.value:10} {span.start:%a %d %b %Y} – {last:%a %d %b %Y}   {temperature}"
        if span.phase in rest.gates:
            yield f"               {rest.gates[span.phase]}"


def _weeks(occurrences: Sequence[Occurrence], names: dict[str, str]) -> Iterator[str]:
    ordered = sorted(occurrences, key=lambda found: (found.day, names[found.colony], -found.urgency))
    for week, inside in groupby(ordered, key=lambda found: found.day - timedelta(days=found.day.weekday())):
        yield f"Week of {week:%d %b %Y}"
        for found in inside:
            duty = found.duty.value.replace("_", " ")
            yield f"  {found.day:%a %d}  {names[found.colony]:14} {duty:{DUTY_WIDTH}} {found.reason}"
        yield ""
