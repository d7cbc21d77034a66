"""The coming months of a household as an iCalendar file (RFC 5545, RFC 7986) for any calendar program.

Moments are in UTC: every event happens once, so no rules of a zone are needed, and each reader shows it on its own
wall. Identities last: a step of a rest keeps its own through the year, and the n-th visit ahead is the n-th visit of
the next file too, so that a newer file moves events instead of doubling them. Past visits are the log's business.
The library takes a tenth of a second to import: whoever asks for a calendar waits for it, not every start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from itertools import groupby
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from bot.care.agenda import ColonyPlan
from bot.care.cautions import Caution, in_order
from bot.care.culture_agenda import CulturePlan
from bot.care.duty import REST_STEPS, Duty, Occurrence
from bot.care.handbook import Handbook
from bot.care.place import Keeper

if TYPE_CHECKING:
    from icalendar import Event

MAKER = "-//Winterbrood//ant care//EN"
NAMESPACE = UUID("4f3c5b0e-9c63-5e0a-8f3f-2b1c7d5a9e61")
"""Our own, drawn once; identities of events hang on it."""
VISIT = timedelta(minutes=15)
STEPS = REST_STEPS - {Duty.REST_CHECK}
"""Steps that come once a year and stand alone."""
EPOCH = datetime(2020, 1, 1, tzinfo=UTC)


def calendar_file(
    plans: Sequence[ColonyPlan | CulturePlan], keeper: Keeper, handbook: Handbook, scope: str, made_at: datetime
) -> bytes:
    """Visits and rest steps of all plans, one event for each colony or feeder culture and day.

    Args:
        plans: as far ahead as the calendar should reach.
        keeper: whose half of the earth decides where one winter ends and the next begins.
        handbook: for the cautions in full.
        scope: tells this keeper on this server from all others; the same for every file of theirs.
        made_at: when the file was made; a later file outranks an earlier one.
    """
    from icalendar import Calendar  # noqa: PLC0415 - see the head of this file

    calendar = Calendar()
    calendar.add("prodid", MAKER)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", "Ant care")
    for plan in plans:
        name, key = _whose(plan)
        for which, found in _gathered(plan, keeper):
            uid = uuid5(NAMESPACE, f"{scope}/{key}/{which}")
            calendar.add_component(_event(name, found, uid, handbook, made_at.astimezone(UTC)))
    return bytes(calendar.to_ical())


def _whose(plan: ColonyPlan | CulturePlan) -> tuple[str, str]:
    """Name, and what tells it from all else of the keeper."""
    if isinstance(plan, CulturePlan):
        return plan.culture.name, f"culture/{plan.culture.key}"
    return plan.colony.name, plan.colony.key


def _gathered(plan: ColonyPlan | CulturePlan, keeper: Keeper) -> Iterator[tuple[str, Sequence[Occurrence]]]:
    """What belongs into one event, and what that event is called among those of its colony."""
    ahead = sorted(plan.occurrences, key=lambda found: (found.day, found.due_at))
    for step in (found for found in ahead if found.duty in STEPS):
        yield f"{step.duty.value}/{_winter(step, keeper)}", [step]
    visits = groupby((found for found in ahead if found.duty not in STEPS), key=lambda found: found.day)
    for number, (_, found) in enumerate(visits, start=1):
        yield f"visit/{number}", list(found)


def _winter(step: Occurrence, keeper: Keeper) -> int:
    """The year of a winter, cut in local summer, so that a step that moves by weeks stays itself."""
    return step.day.year if keeper.hemisphere == "south" else (step.day - timedelta(days=182)).year


def _event(name: str, found: Sequence[Occurrence], uid: UUID, handbook: Handbook, made_at: datetime) -> Event:
    from icalendar import Event  # noqa: PLC0415 - as above

    event = Event()
    start = min(occurrence.due_at for occurrence in found)
    event.add("uid", str(uid))
    event.add("dtstamp", made_at)
    event.add("last-modified", made_at)
    event.add("sequence", int((made_at - EPOCH) / timedelta(minutes=1)))
    event.add("dtstart", start)
    event.add("dtend", start + VISIT)
    event.add("summary", f"{name}: {', '.join(_words(occurrence.duty) for occurrence in found)}")
    event.add("description", "\n".join(_lines(found, handbook)))
    event.add("transp", "TRANSPARENT")
    event.add("class", "PRIVATE")
    return event


def _lines(found: Sequence[Occurrence], handbook: Handbook) -> Iterator[str]:
    """Cautions whole and first, then what to do and why."""
    ids = [name for occurrence in found for name in occurrence.cautions if name in handbook.cautions]
    for caution in in_order(ids, handbook.cautions):
        yield _said(caution)
    for occurrence in found:
        yield f"{_words(occurrence.duty).capitalize()}: {occurrence.reason}"


def _said(caution: Caution) -> str:
    return f"{caution.severity.value.upper()}: {caution.text}"


def _words(duty: Duty) -> str:
    return duty.value.replace("_", " ")
