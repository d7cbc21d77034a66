"""Who may act on a colony: its keeper at any time, a sitter on the days of an accepted sitting, nobody else."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime

from bot.care.handbook import Handbook
from bot.care.localtime import local_day
from bot.care.sitter_words import instruction
from bot.care.units import Units
from bot.services.errors import NotYoursError
from bot.services.keepers import known
from bot.services.ports import UnitOfWork
from bot.services.readers import feeders_sat_for, names_sat_for
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    ColonyState,
    CultureId,
    CultureRecord,
    KeeperId,
    KeeperRecord,
    StoredOccurrence,
    Subject,
)
from bot.services.sitting_errors import SittingAheadError, SittingOverError

SAT = "you sit"
"""Stands behind the name of a colony of somebody else."""


@dataclass(frozen=True, slots=True)
class Hands:
    """A colony, whose it is, and who acts on it."""

    owner: KeeperRecord
    colony: ColonyRecord
    by: KeeperRecord
    since: date | None = None
    """First day of a sitter; what lies before it is none of theirs."""

    @property
    def sat(self) -> bool:
        """Whether a sitter acts."""
        return self.owner.id != self.by.id


async def in_hands(work: UnitOfWork, by: KeeperRecord, colony_id: ColonyId, now: datetime) -> Hands:
    """A kept colony in the hands of its keeper or of its sitter.

    Raises:
        NotYoursError: a stranger, a closed colony, or none at all; the asker cannot tell which.
        SittingAheadError, SittingOverError: a sitter before the first day or after the last.
    """
    record = await work.colonies.get(colony_id)
    if record is None or record.state is ColonyState.CLOSED:
        raise NotYoursError
    if record.keeper_id == by.id:
        return Hands(by, record, by)
    owner = await work.keepers.peek(record.keeper_id)
    sittings = [
        found for found in await work.sittings.of_colony(colony_id, by.id) if found.keeper_id == record.keeper_id
    ]
    agreed = [found for found in sittings if found.accepted]
    if owner is None or not agreed:
        raise NotYoursError
    today = local_day(now, owner.settings.zone)
    holding = [found.since for found in agreed if found.holds(today)]
    if holding:
        return Hands(owner, record, by, min(holding))
    ahead = [found for found in agreed if found.ended_at is None and found.since > today]
    if ahead:
        raise SittingAheadError(ahead[0].since)
    raise SittingOverError(min(agreed[-1].until, today))


@dataclass(frozen=True, slots=True)
class FeederHands:
    """A feeder culture, whose it is, and who acts on it."""

    owner: KeeperRecord
    culture: CultureRecord
    by: KeeperRecord

    @property
    def sat(self) -> bool:
        """Whether a sitter acts."""
        return self.owner.id != self.by.id


async def feeders_in_hands(work: UnitOfWork, who: KeeperId, culture_id: CultureId, now: datetime) -> FeederHands:
    """A culture in the hands of its keeper, or of a sitter who was trusted with the feeders.

    Raises:
        NotSetUpError: somebody who never set a place.
        NotYoursError: a stranger, a sitter before or after their days, or no such culture.
    """
    by = await known(work, who)
    record = await work.cultures.get(culture_id)
    if record is None:
        raise NotYoursError
    if record.keeper_id == who:
        return FeederHands(by, record, by)
    for owner, sat in await feeders_sat_for(work, who, now):
        if sat.id == culture_id:
            return FeederHands(owner, record, by)
    raise NotYoursError


async def names_for(work: UnitOfWork, reader: KeeperId, now: datetime) -> dict[Subject, str]:
    """Names of what somebody may see in messages: their own, and sat ones with a mark behind them."""
    names = dict((await work.colonies.names_of([reader])).get(reader, {}))
    names |= (await work.cultures.names_of([reader])).get(reader, {})
    taken = set(names.values())
    for subject, own_name in (await names_sat_for(work, reader, now)).items():
        name = f"{own_name} ({SAT})"
        while name in taken:
            name += "’"
        taken.add(name)
        names[subject] = name
    return names


def bare(name: str) -> str:
    """The name of a sat colony as its keeper calls it."""
    return name.partition(f" ({SAT})")[0]


def as_read_by(row: StoredOccurrence, reader: KeeperId, handbook: Handbook, units: Units) -> StoredOccurrence:
    """An occurrence with the words for whoever reads it: a sitter gets an instruction in place of the reason."""
    if row.keeper_id == reader:
        return row
    found = row.occurrence
    return replace(row, occurrence=replace(found, reason=instruction(found.duty, found.facts, handbook, units)))
