"""A household's year as text that fits a screen: one line a duty and phase, reasons where they first appear."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise

from bot.care.agenda import ColonyPlan
from bot.care.culture_agenda import CulturePlan
from bot.care.duty import Duty, Occurrence, Urgency
from bot.care.place import Keeper
from bot.care.units import say_temperatures
from tests.year.kit import Year, stretches

DULL_FACTS = frozenset({"side", "interval_days", "food", "amount"})


def summary(year: Year) -> str:
    """The whole household."""
    keeper = year.household.keeper
    place = "latitude unknown" if keeper.latitude is None else f"latitude {keeper.latitude:+.1f}"
    lines = [f"{year.name}: {keeper.zone_name}, {place}, country {keeper.country}, {year.start} to {year.end}"]
    if len(year.plans) > 1:
        days = {found.day for plan in year.plans for found in plan.occurrences}
        lines.append(f"message days a week for all colonies together: {_a_week(len(days), year.start, year.end)}")
    for plan in year.plans:
        lines += ["", *_colony(plan, year, keeper)]
    for culture in year.cultures:
        lines += ["", *_culture(culture)]
    return "\n".join(lines) + "\n"


def _colony(plan: ColonyPlan, year: Year, keeper: Keeper) -> Iterator[str]:
    profile = plan.profile
    yield f"{plan.colony.name}: {profile.name}, {profile.dormancy.value}, {plan.colony.workers} workers"
    for rest in plan.rests:
        yield f"  rest: {rest.why}"
        for span in rest.phases:
            temperature = say_temperatures(span.temperature_c, keeper.units)
            yield f"    {span.phase.value:10} {span.start} – {span.end}  {temperature}"
    for warning in plan.warnings:
        yield f"  ! {warning}"
    told: set[str] = set()
    for phase, first, end in stretches(plan, year.start, year.end):
        inside = [found for found in plan.occurrences if first <= found.day < end]
        days = len({found.day for found in inside})
        yield f"  {phase.value} {first} – {end}: {_a_week(days, first, end)} message days a week"
        for duty in Duty:
            yield from _duty([found for found in inside if found.duty is duty], told)
    yield "  cautions"
    for duty in Duty:
        ids = dict.fromkeys(name for found in plan.occurrences if found.duty is duty for name in found.cautions)
        if ids:
            yield f"    {duty.value:15} {' '.join(ids)}"


def _culture(plan: CulturePlan) -> Iterator[str]:
    yield f"{plan.culture.name}: {plan.kind.name}. {plan.growth}"
    yield from _duty(plan.occurrences, set())
    ids = dict.fromkeys(name for found in plan.occurrences for name in found.cautions)
    yield f"    cautions        {' '.join(ids)}"


def _a_week(days: int, first: date, end: date) -> str:
    return f"{days / max(1, (end - first).days) * 7:.1f}"


def _duty(found: Sequence[Occurrence], told: set[str]) -> Iterator[str]:
    if not found:
        return
    gaps = sorted((later.day - earlier.day).days for earlier, later in pairwise(found))
    rhythm = "" if not gaps else f" every {gaps[0]} d" if gaps[0] == gaps[-1] else f" every {_spread(gaps)} d"
    sides = "".join(str(each.facts["side"]) for each in found[:8] if "side" in each.facts)
    urgent = " URGENT" if any(each.urgency is Urgency.URGENT for each in found) else ""
    yield f"    {found[0].duty.value:15} ×{len(found):<3} from {found[0].day:%d %b}{rhythm}{urgent} {sides}".rstrip()
    for each in found:
        shape = re.sub(r"\d+(\.\d+)?", "#", f"{each.duty} {each.reason}")
        if shape not in told:
            told.add(shape)
            facts = ", ".join(f"{key} {value}" for key, value in each.facts.items() if key not in DULL_FACTS)
            yield f"        “{each.reason}”" + (f" ({facts})" if facts else "")


def _spread(gaps: Sequence[int]) -> str:
    middle = gaps[len(gaps) // 2]
    return f"{gaps[0]}–{gaps[-1]} (mostly {middle})"
