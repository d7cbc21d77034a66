"""A household's plan as text for people at a terminal: by week, with reasons, and cautions in full the first time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import groupby

from bot.care.agenda import ColonyPlan
from bot.care.cautions import in_order
from bot.care.culture_agenda import CulturePlan
from bot.care.duty import Occurrence
from bot.care.handbook import Handbook
from bot.care.phase import RestPlan
from bot.care.place import Keeper
from bot.care.units import Units, say_temperatures

DUTY_WIDTH = 16


def plan_text(
    keeper: Keeper, plans: Sequence[ColonyPlan], handbook: Handbook, cultures: Sequence[CulturePlan] = ()
) -> str:
    """The whole plan; every caution is written out once, at the top, dangers first."""
    lines = [f"Keeper in {keeper.zone_name}, {_latitude(keeper)}; reminders at {keeper.digest_at:%H:%M}."]
    everything = [found for plan in plans for found in plan.occurrences]
    everything += [found for plan in cultures for found in plan.occurrences]
    lines += _cautions(everything, handbook)
    for plan in plans:
        lines += ["", *_colony(plan, keeper.units)]
    lines += ["", *(f"{each.culture.name}: {each.kind.name}. {each.growth}" for each in cultures)] if cultures else []
    names = {plan.colony.key: plan.colony.name for plan in plans}
    names |= {plan.culture.key: plan.culture.name for plan in cultures}
    lines += ["", *_weeks(everything, names)]
    return "\n".join(lines)


def _latitude(keeper: Keeper) -> str:
    if keeper.latitude is None:
        return "latitude unknown (give it, else no winter rest can be dated)"
    return f"latitude {abs(keeper.latitude):.1f}° {keeper.hemisphere}"


def _cautions(occurrences: Sequence[Occurrence], handbook: Handbook) -> Iterator[str]:
    ids = [name for found in occurrences for name in found.cautions]
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
    named = [(names[found.culture or found.colony], found) for found in occurrences]
    ordered = sorted(named, key=lambda pair: (pair[1].day, pair[0], -pair[1].urgency))
    for week, inside in groupby(ordered, key=lambda pair: pair[1].day - timedelta(days=pair[1].day.weekday())):
        yield f"Week of {week:%d %b %Y}"
        for name, found in inside:
            duty = found.duty.value.replace("_", " ")
            yield f"  {found.day:%a %d}  {name:14} {duty:{DUTY_WIDTH}} {found.reason}"
        yield ""
