"""What a sitter hands back: for each colony what was done, how it was found, and what is still open.

Made of the occurrences the sitter was reminded of. Plain values only, because it waits in the store until it is told.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from bot.care.duty import Duty, Outcome
from bot.services.ports import UnitOfWork
from bot.services.records import OccurrenceState, StoredOccurrence
from bot.services.sitting_records import Sitting

EARLIER = timedelta(days=14)
"""What was already late when the sitting began is told to the sitter too, under its own day."""


async def report_of(work: UnitOfWork, sitting: Sitting, ended: date) -> Mapping[str, Any]:
    """The report as a document: `sitter` (id), `since`, `ended` (ISO days), `colonies` by name."""
    told: list[dict[str, Any]] = []
    for colony_id in sitting.colony_ids:
        record = await work.colonies.get(colony_id)
        if record is not None:
            rows = await work.occurrences.told_to(colony_id, sitting.sitter_id, sitting.since - EARLIER)
            told.append({"name": record.colony.name, **_of_colony(rows, sitting.since, ended)})
    told += await _feeders(work, sitting, ended)
    told.sort(key=lambda colony: str(colony["name"]).casefold())
    about = {"since": sitting.since.isoformat(), "ended": ended.isoformat(), "colonies": told}
    return {"sitter": int(sitting.sitter_id), **about}


async def _feeders(work: UnitOfWork, sitting: Sitting, ended: date) -> list[dict[str, Any]]:
    """Feeder cultures that the sitter was told of, in the shape of colonies."""
    rows = await work.occurrences.told_of_cultures(sitting.keeper_id, sitting.sitter_id, sitting.since - EARLIER)
    names = {record.id: record.culture.name for record in await work.cultures.of(sitting.keeper_id)}
    by_culture = {key: [row for row in rows if row.culture_id == key] for key in names}
    return [{"name": names[key], **_of_colony(mine, sitting.since, ended)} for key, mine in by_culture.items() if mine]


def _of_colony(rows: Sequence[StoredOccurrence], since: date, ended: date) -> dict[str, Any]:
    """`done`: duty, times, last day, found (outcome -> times); `looked`: duty -> times; `open`: duty, day."""
    done: dict[Duty, list[StoredOccurrence]] = defaultdict(list)
    looked: Counter[Duty] = Counter()
    left: dict[Duty, date] = {}
    for row in rows:
        duty, day = row.occurrence.duty, row.occurrence.day
        if row.state is OccurrenceState.DONE:
            done[duty].append(row)
            left.pop(duty, None)
        elif row.state is OccurrenceState.SKIPPED:
            looked[duty] += 1
            left.pop(duty, None)
        elif row.state in {OccurrenceState.SENT, OccurrenceState.LAPSED} and since <= day <= ended:
            left[duty] = day
    return {
        "done": [_done(duty, answered) for duty, answered in sorted(done.items())],
        "looked": {duty.value: times for duty, times in sorted(looked.items())},
        "open": [{"duty": duty.value, "day": day.isoformat()} for duty, day in sorted(left.items())],
    }


def _done(duty: Duty, rows: Sequence[StoredOccurrence]) -> dict[str, Any]:
    found = Counter(row.outcome.value for row in rows if row.outcome not in {None, Outcome.DONE} and row.outcome)
    last = max(row.answered_at for row in rows if row.answered_at is not None)
    return {"duty": duty.value, "times": len(rows), "last": last.isoformat(), "found": dict(found)}
