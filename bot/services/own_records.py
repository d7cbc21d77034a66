"""Everything that is kept of one keeper, as one value, and the port that gathers it in one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Protocol

from bot.care.colony import LogEntry
from bot.services.logger_ports import StoredSeries
from bot.services.ports import UnitOfWork
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    CultureRecord,
    Delivery,
    KeeperId,
    KeeperRecord,
    StoredOccurrence,
)
from bot.services.season_records import Consent, LogLine

Row = Mapping[str, object]
"""A row of a table by its columns."""


@dataclass(frozen=True, slots=True)
class LoggedEntry:
    """An entry of a colony's log, and when it was written down (`None` where nobody knows)."""

    entry: LogEntry
    recorded_at: datetime | None


@dataclass(frozen=True, slots=True)
class OwnColony:
    """A colony, kept or closed, with every entry of its log, oldest first; `record.colony.log` is empty."""

    record: ColonyRecord
    log: tuple[LoggedEntry, ...]
    readings: tuple[StoredSeries, ...] = ()
    """What loggers measured there."""


@dataclass(frozen=True, slots=True)
class Counted:
    """A group of a community's figures that the keeper's colonies are part of."""

    guild_id: int
    half: str
    dormancy: str
    year: int


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRecords:
    """Everything of one keeper."""

    keeper: KeeperRecord
    colonies: tuple[OwnColony, ...] = ()
    cultures: tuple[CultureRecord, ...] = ()
    occurrences: tuple[StoredOccurrence, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    cautions_shown: Mapping[str, date]
    consents: tuple[Consent, ...] = ()
    counted: tuple[Counted, ...] = ()
    acts: tuple[LogLine, ...] = ()
    """What the keeper did as a moderator of a season."""
    approved: tuple[int, ...] = ()
    """Season notices that the keeper approved."""
    further: Mapping[str, Sequence[Row]] = field(default_factory=dict)
    """Rows of other tables that name the keeper or their colonies; other people in them are not named."""


class OwnData(Protocol):
    """Gathers what is kept of a keeper, and brings a log back as it was."""

    async def everything(self, keeper_id: KeeperId) -> OwnRecords | None:
        """All of it; `None` for a keeper who never set anything up."""
        ...

    async def add_log(self, colony_id: ColonyId, entries: Sequence[LoggedEntry]) -> None:
        """Append entries with the moments they were written down."""
        ...


class OwnDataUnit(UnitOfWork, Protocol):
    """A unit of work that also gathers."""

    own_data: OwnData


OwnDataUnitMaker = Callable[[], OwnDataUnit]
