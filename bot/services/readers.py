"""Who is reminded of a colony: its keeper, or for the days of a sitting a sitter who can be reached.

Days are those of the keeper's zone. A sitter whose direct messages are closed, or who turned reminders off, is not
waited for: from the next look on the keeper is reminded again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from bot.care.localtime import local_day
from bot.services.ports import UnitOfWork
from bot.services.records import ColonyRecord, ColonyState, CultureRecord, Door, KeeperId, KeeperRecord, Subject
from bot.services.sitting_records import Sitting


async def readers_of(
    work: UnitOfWork, owners: Sequence[KeeperRecord], now: datetime, known: Mapping[KeeperId, KeeperRecord]
) -> Mapping[Subject, KeeperRecord]:
    """The sitters of keepers' colonies and cultures today, none where the keeper is reminded.

    `known` stands in for what the store holds of the keepers that this unit of work is about. A sitter who is away
    promised to care all the same, so their own absence does not count.
    """
    today = {owner.id: local_day(now, owner.settings.zone) for owner in owners}
    found: dict[Subject, KeeperRecord] = {}
    for sitting in await work.sittings.open_of_all(sorted(today)):
        if sitting.keeper_id in today and sitting.holds(today[sitting.keeper_id]):
            sitter = known.get(sitting.sitter_id) or await work.keepers.peek(sitting.sitter_id)
            if sitter is not None and reachable(sitter):
                feeders = await work.cultures.of(sitting.keeper_id) if sitting.feeders else ()
                sat = [*((colony_id, None) for colony_id in sitting.colony_ids), *(each.subject for each in feeders)]
                found |= dict.fromkeys(sat, replace(sitter, away_from=None, away_until=None))
    return found


async def sat_for(work: UnitOfWork, sitter_id: KeeperId, now: datetime) -> Sequence[tuple[KeeperRecord, ColonyRecord]]:
    """Kept colonies of others that somebody sits for today, each with its keeper, in the order of the keepers."""
    found: list[tuple[KeeperRecord, ColonyRecord]] = []
    for owner, sitting in await _held_by(work, sitter_id, now):
        records = [await work.colonies.get(colony_id) for colony_id in sitting.colony_ids]
        found += [(owner, record) for record in records if record is not None and record.state is ColonyState.KEPT]
    return sorted(found, key=lambda pair: (pair[0].id, pair[1].colony.name.casefold(), pair[1].id))


async def feeders_sat_for(
    work: UnitOfWork, sitter_id: KeeperId, now: datetime
) -> Sequence[tuple[KeeperRecord, CultureRecord]]:
    """Feeder cultures of others that somebody looks after today, each with its keeper."""
    found: list[tuple[KeeperRecord, CultureRecord]] = []
    for owner, sitting in await _held_by(work, sitter_id, now):
        if sitting.feeders:
            found += [(owner, record) for record in await work.cultures.of(owner.id)]
    return found


async def names_sat_for(work: UnitOfWork, sitter_id: KeeperId, now: datetime) -> Mapping[Subject, str]:
    """Names of what `sat_for` and `feeders_sat_for` find, colonies first, in the order of the keepers."""
    held = sorted(await _held_by(work, sitter_id, now), key=lambda pair: pair[0].id)
    if not held:
        return {}
    colonies = await work.colonies.names_of([owner.id for owner, _ in held])
    names = {
        subject: name
        for owner, sitting in held
        for subject, name in colonies.get(owner.id, {}).items()
        if subject[0] in sitting.colony_ids
    }
    trusted = [owner.id for owner, sitting in held if sitting.feeders]
    for of_owner in (await work.cultures.names_of(trusted)).values() if trusted else ():
        names |= of_owner
    return names


async def _held_by(work: UnitOfWork, sitter_id: KeeperId, now: datetime) -> list[tuple[KeeperRecord, Sitting]]:
    """Sittings of somebody that hold today, each with its keeper."""
    found: list[tuple[KeeperRecord, Sitting]] = []
    for sitting in await work.sittings.open_of(sitter_id):
        owner = await work.keepers.peek(sitting.keeper_id) if sitting.sitter_id == sitter_id else None
        if owner is not None and sitting.holds(local_day(now, owner.settings.zone)):
            found.append((owner, sitting))
    return found


def reachable(sitter: KeeperRecord) -> bool:
    """Whether reminders come through to a sitter as far as anybody knows."""
    return sitter.reminders_on and sitter.door not in {Door.REFUSED, Door.GONE}
