"""What is kept: keepers, colonies, stored occurrences and deliveries, as plain values that the store maps to rows."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from typing import NewType

from bot.care.colony import Colony, LogEntry
from bot.care.culture import Culture
from bot.care.duty import Duty, Occurrence, Outcome
from bot.care.place import Keeper, Place

KeeperId = NewType("KeeperId", int)
"""The platform's user id."""
ColonyId = NewType("ColonyId", int)
CultureId = NewType("CultureId", int)
Subject = tuple[ColonyId | None, CultureId | None]
"""What a reminder is about: a colony, or a feeder culture."""
OccurrenceId = NewType("OccurrenceId", int)
DeliveryId = NewType("DeliveryId", int)
LOG_PER_DUTY = 60
"""Two to six months of what is done every few days, many years of what is done once a season."""


class Door(StrEnum):
    """Whether direct messages reach a keeper."""

    UNKNOWN = "unknown"
    OPEN = "open"
    REFUSED = "refused"
    GONE = "gone"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeeperRecord:
    """A keeper with settings, places and the state of their door. `places` is never empty; the first is the default."""

    id: KeeperId
    settings: Keeper
    places: tuple[Place, ...] = field(default_factory=lambda: (Place(),))
    reminders_on: bool = True
    away_until: date | None = None
    """First day on which everything but water is reminded of again."""
    away_from: date | None = None
    """First day of an absence that lies ahead; `None`: it began when it was said."""
    mute_notes: bool = False
    channel_id: int | None = None
    """Direct-message channel, once opened."""
    door: Door = Door.UNKNOWN
    refusals: int = 0
    """Refused deliveries in a row."""
    unanswered: int = 0
    """Digests in a row without any answer."""
    next_wake: datetime | None = None
    """UTC; the moment this keeper must be looked at next."""
    lease_until: datetime | None = None
    lease_token: str | None = None
    planned_on: date | None = None
    """Local day of the last look at all colonies."""
    zone_data: str | None = None
    """Version of the tz data that `next_wake` was computed with."""
    created_at: datetime | None = None


class ColonyState(StrEnum):
    """Whether a colony is cared for."""

    KEPT = "kept"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class ColonyRecord:
    """A stored colony; `colony.key` is the decimal text of `id`. `version` counts changes, for optimistic writes.

    Its log holds the newest `LOG_PER_DUTY` entries of each duty, by day and then in the order of recording.
    """

    id: ColonyId
    keeper_id: KeeperId
    colony: Colony
    state: ColonyState = ColonyState.KEPT
    version: int = 1
    created_at: datetime | None = None
    closed_at: datetime | None = None
    closed_reason: str | None = None

    @property
    def subject(self) -> Subject:
        """As reminders name it."""
        return self.id, None

    def with_entry(self, entry: LogEntry) -> ColonyRecord:
        """As the store reads it once an entry was appended to the log."""
        log = list(self.colony.log)
        log.insert(bisect_right(log, entry.day, key=lambda other: other.day), entry)
        same = [place for place, other in enumerate(log) if other.duty is entry.duty]
        if len(same) > LOG_PER_DUTY:
            del log[same[0]]
        return replace(self, colony=replace(self.colony, log=tuple(log)))


@dataclass(frozen=True, slots=True)
class Standing:
    """How long the stored plan of a colony holds, and a fingerprint of what it was made with beside the colony."""

    until: date
    made_with: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CultureRecord:
    """A stored feeder culture; `culture.key` is the decimal text of `id`."""

    id: CultureId
    keeper_id: KeeperId
    culture: Culture
    created_at: datetime | None = None

    @property
    def subject(self) -> Subject:
        """As reminders name it."""
        return None, self.id


class OccurrenceState(StrEnum):
    """Life of a stored occurrence.

    planned -> sent -> done | skipped | lapsed; planned -> superseded; `later` returns it to planned with `snoozed`.
    """

    PLANNED = "planned"
    SENT = "sent"
    DONE = "done"
    SKIPPED = "skipped"
    LAPSED = "lapsed"
    SUPERSEDED = "superseded"


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredOccurrence:
    """An occurrence with its state. Unique by subject, duty and local day; `occurrence.colony` is the colony's key."""

    id: OccurrenceId
    colony_id: ColonyId | None
    """`None` for a feeder culture."""
    keeper_id: KeeperId
    occurrence: Occurrence
    state: OccurrenceState = OccurrenceState.PLANNED
    snoozed: bool = False
    """The keeper moved it; re-planning leaves it alone."""
    delivery_id: DeliveryId | None = None
    answered_at: datetime | None = None
    outcome: Outcome | None = None
    recipient_id: KeeperId | None = None
    """A sitter who is reminded instead; `None` is the keeper."""
    culture_id: CultureId | None = None

    @property
    def subject(self) -> Subject:
        """The colony or culture that it is about."""
        return self.colony_id, self.culture_id

    @property
    def reader(self) -> KeeperId:
        """Who is reminded of it."""
        return self.recipient_id or self.keeper_id


class DeliveryState(StrEnum):
    """Life of a delivery: `sending` may or may not have reached the platform; only the nonce knows."""

    SENDING = "sending"
    SENT = "sent"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """One message to one keeper. `nonce` (at most 25 characters) is the same for every try of the same delivery."""

    id: DeliveryId
    keeper_id: KeeperId
    nonce: str
    occurrence_ids: tuple[OccurrenceId, ...]
    state: DeliveryState = DeliveryState.SENDING
    attempts: int = 0
    created_at: datetime
    first_try_at: datetime | None = None
    sent_at: datetime | None = None
    channel_id: int | None = None
    message_id: int | None = None
    problem: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NewOccurrence:
    """An occurrence to be stored as planned."""

    colony_id: ColonyId | None
    keeper_id: KeeperId
    occurrence: Occurrence
    recipient_id: KeeperId | None = None
    culture_id: CultureId | None = None

    @property
    def subject(self) -> Subject:
        """What it is about."""
        return self.colony_id, self.culture_id


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """Cautions already shown to a keeper: id -> local day of the last time."""

    days: Mapping[str, date] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryItem:
    """One line of a colony's history, newest first in lists."""

    day: date
    duty: Duty
    outcome: Outcome
    note: str | None = None
