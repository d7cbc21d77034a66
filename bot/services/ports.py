"""What use cases need from outside, as Protocols. Adapters fulfil them; tests bring fakes.

A unit of work is one transaction: everything read and written inside belongs together, and nothing is kept unless
`commit()` was awaited. Repositories return values, never live rows.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from types import TracebackType
from typing import Protocol, Self

from bot.care.cautions import Caution
from bot.care.colony import LogEntry
from bot.care.duty import Duty
from bot.care.units import Units
from bot.services.absentee_ports import Absentees
from bot.services.culture_ports import Cultures
from bot.services.feedback_ports import AnswerCounts
from bot.services.logger_ports import LoggerSeries
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    DeliveryId,
    KeeperId,
    KeeperRecord,
    OccurrenceId,
    Standing,
    Subject,
)
from bot.services.reminder_ports import Deliveries, Occurrences
from bot.services.season_ports import Seasons
from bot.services.sitting_ports import Notes, Offers, Sittings
from bot.services.sitting_records import Note
from bot.services.thread_ports import ThreadReminders


class Clock(Protocol):
    """The one clock."""

    def now(self) -> datetime:
        """The current moment, aware, in UTC."""
        ...


class Zones(Protocol):
    """The tz database: names, rules, and principal locations out of its own table."""

    version: str

    def names(self) -> Sequence[str]:
        """Every name a keeper may choose, sorted."""
        ...

    def get(self, name: str) -> tzinfo:
        """The rules of a zone.

        Raises:
            UnknownNameError: with the nearest names.
        """
        ...

    def latitude(self, name: str) -> float | None:
        """Latitude of the zone's principal location, north positive; `None` where the table has none."""
        ...

    def country(self, name: str) -> str | None:
        """ISO 3166-1 code of the zone's principal country, where the table names exactly one."""
        ...


class Keepers(Protocol):
    """Keepers and their claims."""

    async def get(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """The keeper, or `None` when they never set anything up.

        Nobody else changes them, nor those who sit for them or whom they sit for, while the unit lasts: call it first.
        """
        ...

    async def get_all(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, KeeperRecord]:
        """As `get`, for several; those who never set anything up are missing."""
        ...

    async def peek(self, keeper_id: KeeperId) -> KeeperRecord | None:
        """A keeper beside the one this unit is about, or the one it only looks at: nobody is locked."""
        ...

    async def wake_by(self, keeper_id: KeeperId, at: datetime) -> None:
        """Look at somebody no later than at a moment; who is not to be woken at all stays so."""
        ...

    async def save(self, keeper: KeeperRecord) -> None:
        """Insert or update; leaves the lease alone."""
        ...

    async def save_all(self, keepers: Sequence[KeeperRecord]) -> None:
        """As `save`, for several."""
        ...

    async def claim_due(self, now: datetime, lease_until: datetime, token: str, limit: int) -> set[KeeperId]:
        """Lease keepers whose `next_wake` has come and whose lease has run out, the earliest; returns whom."""
        ...

    async def release(self, keeper_id: KeeperId, token: str, next_wake: datetime | None) -> bool:
        """Give the lease back with the next wake moment; false when another process holds it by now."""
        ...

    async def renew(self, keeper_ids: Collection[KeeperId], token: str, lease_until: datetime) -> set[KeeperId]:
        """Hold leases for longer; returns whose: not those whom another process holds by now, nor who were erased."""
        ...

    async def let_go(self, keeper_ids: Collection[KeeperId], token: str) -> None:
        """Give leases back that are still held; wake moments stay as they were saved."""
        ...

    async def wake_everybody(self, now: datetime) -> int:
        """Move later wake moments to `now` and end all leases, for a clock that was set back; returns how many.

        No stored plan stands any more.
        """
        ...

    async def next_wake(self) -> datetime | None:
        """The earliest wake moment of all keepers."""
        ...

    async def ids_after(self, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """Keeper ids above `keeper_id`, ascending: for walks over everyone in batches."""
        ...

    async def ids_with_other_zone_data(self, version: str, keeper_id: KeeperId, limit: int) -> Sequence[KeeperId]:
        """As `ids_after`, but only who was planned with another version of the tz data, or with none."""
        ...

    async def erase(self, keeper_id: KeeperId) -> None:
        """Remove the keeper and everything that hangs on them; whom they sat for is looked at, at once."""
        ...


class Colonies(Protocol):
    """Colonies with their log and what watering taught."""

    async def add(self, keeper_id: KeeperId, record: ColonyRecord) -> ColonyRecord:
        """Store a new colony; `record.id` is ignored, and the returned value carries the real id and key."""
        ...

    async def get(self, colony_id: ColonyId) -> ColonyRecord | None:
        """One colony with its log."""
        ...

    async def of(self, keeper_id: KeeperId, *, closed: bool = False) -> Sequence[ColonyRecord]:
        """The keeper's colonies by name; kept ones, or the closed ones."""
        ...

    async def of_all(self, keeper_ids: Collection[KeeperId], but: Collection[ColonyId] = ()) -> Sequence[ColonyRecord]:
        """Kept colonies of several keepers, in the order of keeper and name; `but` are left out."""
        ...

    async def standing(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[ColonyId, Standing]]:
        """The stored plans of kept colonies that still stand; missing are those of colonies that changed since."""
        ...

    async def plan_stands(self, plans: Mapping[ColonyId, Standing | None]) -> None:
        """The stored plans of colonies stand, or do not; what changes a colony, its log or what was told ends that."""
        ...

    async def names_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[Subject, str]]:
        """Names of kept colonies of several keepers, in their order; those without any are missing."""
        ...

    async def save(self, record: ColonyRecord) -> None:
        """Update all fields but the log.

        Raises:
            StaleColonyError: somebody changed it since it was read.
        """
        ...

    async def tend(self, record: ColonyRecord) -> None:
        """As `save`, where only care changed it: the name and whether it is kept stay as they are.

        Raises:
            StaleColonyError: somebody changed it since it was read.
        """
        ...

    async def log(self, colony_id: ColonyId, entry: LogEntry, at: datetime, sitter: KeeperId | None = None) -> None:
        """Append to the log; `sitter` did it in the keeper's place."""
        ...

    async def sat(self, colony_id: ColonyId) -> Mapping[LogEntry, KeeperId]:
        """Entries of the log that a sitter wrote, and who; not those of sitters who were erased."""
        ...

    async def amend(self, colony_id: ColonyId, entry: LogEntry) -> bool:
        """Replace the newest log entry of the same duty and day by `entry`; false when there is none."""
        ...

    async def move(self, record: ColonyRecord, keeper_id: KeeperId) -> ColonyRecord:
        """Save a colony under another keeper; its log goes along.

        Raises:
            StaleColonyError, DuplicateNameError.
        """
        ...

    async def unlog(self, colony_id: ColonyId, day: date, duty: Duty) -> bool:
        """Remove the newest log entry of a duty and day; false when there is none."""
        ...


class CautionsShown(Protocol):
    """Which cautions a keeper has seen, for the repeat limits."""

    async def of(self, keeper_id: KeeperId) -> Mapping[str, date]:
        """Caution id -> local day of the last time."""
        ...

    async def of_all(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Mapping[str, date]]:
        """As `of`, for several; those who saw none are missing."""
        ...

    async def record(self, keeper_id: KeeperId, ids: Collection[str], day: date) -> None:
        """Remember that they were shown."""
        ...

    async def record_all(self, seen: Mapping[KeeperId, tuple[Collection[str], date]]) -> None:
        """Remember who was shown which cautions, and on which of their days."""
        ...


class Marks(Protocol):
    """Small named facts: command hash, tz data version, last beat."""

    async def get(self, name: str) -> str | None:
        """The value, or `None`."""
        ...

    async def set(self, name: str, value: str) -> None:
        """Insert or replace."""
        ...


class UnitOfWork(Protocol):
    """One transaction. Leaving the block without `commit()` undoes everything."""

    keepers: Keepers
    colonies: Colonies
    cultures: Cultures
    occurrences: Occurrences
    deliveries: Deliveries
    cautions_shown: CautionsShown
    marks: Marks
    seasons: Seasons
    sittings: Sittings
    offers: Offers
    notes: Notes
    answer_counts: AnswerCounts
    logger_series: LoggerSeries
    threads: ThreadReminders
    absentees: Absentees

    async def __aenter__(self) -> Self:
        """Begin."""
        ...

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Roll back what was not committed, and give the connection back."""
        ...

    async def commit(self) -> None:
        """Keep everything."""
        ...


UnitOfWorkMaker = Callable[[], UnitOfWork]


@dataclass(frozen=True, slots=True, kw_only=True)
class DigestLine:
    """One line of a reminder; the presenter adds the buttons, whose state is `occurrence_id`."""

    occurrence_id: OccurrenceId
    colony_name: str
    duty: Duty
    day: date
    reason: str
    urgent: bool
    days_late: int
    facts: Mapping[str, float | str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Digest:
    """A reminder as the messenger gets it: lines by urgency, cautions in the order they must be shown."""

    delivery_id: DeliveryId
    keeper_id: KeeperId
    nonce: str
    lines: tuple[DigestLine, ...]
    cautions: tuple[Caution, ...]
    units: Units
    catch_up: bool = False
    """The bot was away; the message says so."""
    notice: str | None = None
    """A sentence of ours, such as the one kind question after a long silence."""
    notes: tuple[Note, ...] = ()
    """What else is told once with this message; it may be all there is."""
    resting: bool = False
    """Most reminders rest because of a long silence: one button brings them back."""


@dataclass(frozen=True, slots=True)
class Posted:
    """Where a message went."""

    channel_id: int
    message_id: int


class Messenger(Protocol):
    """Direct messages. Platform errors arrive as the family in `services/errors.py`."""

    async def open_door(self, keeper_id: KeeperId) -> int:
        """Open the direct-message channel and return its id.

        Raises:
            DoorRefusedError, KeeperGoneError, TryLaterError: see `services/errors.py`.
        """
        ...

    async def send_digest(self, channel_id: int, digest: Digest, *, quiet: bool) -> Posted:
        """Send one reminder with its nonce; `quiet` sends without a sound.

        Raises:
            DoorRefusedError, KeeperGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        ...

    async def find_digest(self, channel_id: int, digest: Digest) -> Posted | None:
        """Look among the newest messages of the channel for this delivery (by its buttons' identifiers)."""
        ...
