"""What is kept between two members: sittings, offers of a colony for good, and notes that wait to be told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Any, NewType

from bot.services.records import ColonyId, DeliveryId, KeeperId

SittingId = NewType("SittingId", int)
OfferId = NewType("OfferId", int)
NoteId = NewType("NoteId", int)


class SittingState(StrEnum):
    """asked -> accepted -> ended; asked -> declined | withdrawn."""

    ASKED = "asked"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    WITHDRAWN = "withdrawn"
    ENDED = "ended"


OPEN_SITTINGS = (SittingState.ASKED, SittingState.ACCEPTED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sitting:
    """A member cares for colonies of another. Days are those of the keeper's zone."""

    id: SittingId
    keeper_id: KeeperId
    sitter_id: KeeperId
    """May be somebody who never set anything up, until they accept."""
    colony_ids: tuple[ColonyId, ...]
    since: date
    """First day on which the sitter is reminded and may answer."""
    until: date
    """First day on which the keeper is back."""
    state: SittingState = SittingState.ASKED
    unreachable: bool = False
    """The keeper was told that the sitter cannot be reached."""
    feeders: bool = False
    """The keeper lets the sitter look after their feeder cultures too."""
    asked_at: datetime
    ended_at: datetime | None = None

    @property
    def accepted(self) -> bool:
        """Whether the sitter agreed, be it over by now."""
        return self.state in {SittingState.ACCEPTED, SittingState.ENDED}

    def holds(self, day: date) -> bool:
        """Whether the sitter cares on a day of the keeper's zone."""
        return self.state is SittingState.ACCEPTED and self.since <= day < self.until


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A keeper wants to hand a colony over for good; gone when it is answered."""

    id: OfferId
    colony_id: ColonyId
    keeper_id: KeeperId
    to_id: KeeperId
    offered_at: datetime


class NoteKind(StrEnum):
    """What a note tells; the chat adapter has the words."""

    REPORT = "report"
    UNREACHABLE = "unreachable"
    ACCEPTED = "accepted"
    DECLINED = "declined"
    STOPPED = "stopped"
    MOVED = "moved"
    """A colony that was offered is in new hands."""
    REFUSED = "refused"
    """An offer came to nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Something to tell a keeper once, with the next message or alone; gone when it was told."""

    id: NoteId
    keeper_id: KeeperId
    kind: NoteKind
    due_at: datetime
    about: Mapping[str, Any]
    """A document of plain values; see `sitting_report.py`."""
    delivery_id: DeliveryId | None = None
