"""Values to columns and back. Reading builds the value anew, so its own checks run on what the database holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from datetime import tzinfo
from typing import Any, TypeVar

from bot.adapters.store.tables import ColonyRow, DeliveryRow, KeeperRow, LogRow, OccurrenceRow, PlaceRow
from bot.care.colony import Brood, Colony, Heater, LearnedDrying, LogEntry, Nest, Outworld, RestWishes
from bot.care.duty import Input, Occurrence, Urgency, Why
from bot.care.evidence import Confidence, Evidence
from bot.care.localtime import QuietHours
from bot.care.place import Keeper, Place
from bot.services.records import (
    ColonyId,
    ColonyRecord,
    CultureId,
    Delivery,
    DeliveryId,
    KeeperId,
    KeeperRecord,
    OccurrenceId,
    StoredOccurrence,
)

Columns = dict[str, Any]
_Group = TypeVar("_Group", Brood, Nest, Heater, Outworld, RestWishes, LearnedDrying)


_PARTS = {kind: [field.name for field in fields(kind)] for kind in _Group.__constraints__}
_PLACE = [field.name for field in fields(Place)]
_ENTRY = [field.name for field in fields(LogEntry)]


def _spread(prefix: str, kind: type[_Group], value: _Group | None) -> Columns:
    """One column for each field of a dataclass; all empty for `None`."""
    return {f"{prefix}_{name}": getattr(value, name, None) for name in _PARTS[kind]}


def _gather(prefix: str, kind: type[_Group], row: ColonyRow) -> _Group:
    return kind(**{name: getattr(row, f"{prefix}_{name}") for name in _PARTS[kind]})


def keeper_columns(keeper: KeeperRecord) -> Columns:
    """Everything but places and lease."""
    settings = keeper.settings
    return {
        "id": keeper.id,
        "zone_name": settings.zone_name,
        "latitude": settings.latitude,
        "country": settings.country,
        "units": settings.units,
        "digest_at": settings.digest_at,
        "quiet_start": settings.quiet.start,
        "quiet_end": settings.quiet.end,
        "reminders_on": keeper.reminders_on,
        "away_until": keeper.away_until,
        "away_from": keeper.away_from,
        "mute_notes": keeper.mute_notes,
        "channel_id": keeper.channel_id,
        "door": keeper.door,
        "refusals": keeper.refusals,
        "unanswered": keeper.unanswered,
        "next_wake": keeper.next_wake,
        "planned_on": keeper.planned_on,
        "zone_data": keeper.zone_data,
        "created_at": keeper.created_at,
    }


def keeper_from(row: KeeperRow, zone: tzinfo, places: Sequence[PlaceRow]) -> KeeperRecord:
    """A keeper with places by position."""
    settings = Keeper(
        zone_name=row.zone_name,
        zone=zone,
        latitude=row.latitude,
        country=row.country,
        units=row.units,
        digest_at=row.digest_at,
        quiet=QuietHours(row.quiet_start, row.quiet_end),
    )
    return KeeperRecord(
        id=KeeperId(row.id),
        settings=settings,
        places=tuple(place_from(place) for place in places),
        reminders_on=row.reminders_on,
        away_until=row.away_until,
        away_from=row.away_from,
        mute_notes=row.mute_notes,
        channel_id=row.channel_id,
        door=row.door,
        refusals=row.refusals,
        unanswered=row.unanswered,
        next_wake=row.next_wake,
        lease_until=row.lease_until,
        lease_token=row.lease_token,
        planned_on=row.planned_on,
        zone_data=row.zone_data,
        created_at=row.created_at,
    )


def place_columns(keeper_id: KeeperId, position: int, place: Place) -> Columns:
    """One place."""
    return {"keeper_id": keeper_id, "position": position, **asdict(place)}


def place_from(row: PlaceRow) -> Place:
    """One place."""
    return Place(**{name: getattr(row, name) for name in _PLACE})


def colony_columns(record: ColonyRecord) -> Columns:
    """What a keeper or the bot may change: all but id, keeper, version, creation and log. No plan holds after it."""
    colony = record.colony
    return {
        "state": record.state,
        "closed_at": record.closed_at,
        "closed_reason": record.closed_reason,
        "name": colony.name,
        "species": colony.species,
        "workers": colony.workers,
        "queens": colony.queens,
        "stage": colony.stage,
        "founding": colony.founding,
        "founded": colony.founded,
        "arrived": colony.arrived,
        "registered": colony.registered,
        "place": colony.place,
        **_spread("brood", Brood, colony.brood),
        **_spread("nest", Nest, colony.nest),
        **_spread("heater", Heater, colony.heater),
        **_spread("outworld", Outworld, colony.outworld),
        **_spread("rest", RestWishes, colony.rest),
        **_spread("drying", LearnedDrying, colony.drying),
        "holds_until": None,
    }


def colony_from(row: ColonyRow, log: Sequence[LogRow]) -> ColonyRecord:
    """A colony with its log, oldest first."""
    colony = Colony(
        key=str(row.id),
        name=row.name,
        species=row.species,
        workers=row.workers,
        queens=row.queens,
        brood=_gather("brood", Brood, row),
        stage=row.stage,
        founding=row.founding,
        founded=row.founded,
        arrived=row.arrived,
        registered=row.registered,
        place=row.place,
        nest=_gather("nest", Nest, row),
        heater=None if row.heater_kind is None else _gather("heater", Heater, row),
        outworld=None if row.outworld_dusty is None else _gather("outworld", Outworld, row),
        rest=_gather("rest", RestWishes, row),
        log=tuple(entry_from(entry) for entry in log),
        drying=None if row.drying_mean is None else _gather("drying", LearnedDrying, row),
    )
    return ColonyRecord(
        id=ColonyId(row.id),
        keeper_id=KeeperId(row.keeper_id),
        colony=colony,
        state=row.state,
        version=row.version,
        created_at=row.created_at,
        closed_at=row.closed_at,
        closed_reason=row.closed_reason,
    )


def entry_columns(colony_id: ColonyId, entry: LogEntry) -> Columns:
    """One log entry, without the moment it was recorded."""
    return {"colony_id": colony_id, **{name: getattr(entry, name) for name in _ENTRY}}


def entry_from(row: LogRow) -> LogEntry:
    """One log entry."""
    return LogEntry(**{name: getattr(row, name) for name in _ENTRY})


def plan_columns(occurrence: Occurrence) -> Columns:
    """What planning decides, and re-planning may overwrite."""
    return {
        "duty": occurrence.duty,
        "day": occurrence.day,
        "due_at": occurrence.due_at,
        "earliest": occurrence.earliest,
        "latest": occurrence.latest,
        "reason": occurrence.reason,
        "why": _why_document(occurrence.why),
        "urgency": int(occurrence.urgency),
        "useful_days": occurrence.useful_days,
        "facts": dict(occurrence.facts),
        "cautions": list(occurrence.cautions),
    }


def occurrence_from(row: OccurrenceRow) -> StoredOccurrence:
    """A stored occurrence; the colony's key is its id."""
    occurrence = Occurrence(
        colony="" if row.colony_id is None else str(row.colony_id),
        culture=None if row.culture_id is None else str(row.culture_id),
        duty=row.duty,
        day=row.day,
        due_at=row.due_at,
        earliest=row.earliest,
        latest=row.latest,
        reason=row.reason,
        why=_why_from(row.why),
        urgency=Urgency(row.urgency),
        useful_days=row.useful_days,
        facts=row.facts,
        cautions=tuple(row.cautions),
    )
    return StoredOccurrence(
        id=OccurrenceId(row.id),
        colony_id=None if row.colony_id is None else ColonyId(row.colony_id),
        culture_id=None if row.culture_id is None else CultureId(row.culture_id),
        keeper_id=KeeperId(row.keeper_id),
        occurrence=occurrence,
        state=row.state,
        snoozed=row.snoozed,
        delivery_id=None if row.delivery_id is None else DeliveryId(row.delivery_id),
        answered_at=row.answered_at,
        outcome=row.outcome,
        recipient_id=None if row.recipient_id is None else KeeperId(row.recipient_id),
    )


def _why_document(why: Why) -> Columns:
    return {
        "rule": why.rule,
        "inputs": [[value.label, value.shown, value.defaulted] for value in why.inputs],
        "sources": list(why.evidence.sources),
        "confidence": why.evidence.confidence.value,
        "unit": why.evidence.unit,
        "would_change": list(why.would_change),
    }


def _why_from(document: Mapping[str, Any]) -> Why:
    evidence = Evidence(tuple(document["sources"]), Confidence(document["confidence"]), document["unit"])
    return Why(
        rule=document["rule"],
        inputs=tuple(Input(*value) for value in document["inputs"]),
        evidence=evidence,
        would_change=tuple(document["would_change"]),
    )


def delivery_columns(delivery: Delivery) -> Columns:
    """State, attempts and result."""
    return {
        "state": delivery.state,
        "attempts": delivery.attempts,
        "first_try_at": delivery.first_try_at,
        "sent_at": delivery.sent_at,
        "channel_id": delivery.channel_id,
        "message_id": delivery.message_id,
        "problem": delivery.problem,
    }


def delivery_from(row: DeliveryRow, occurrence_ids: Sequence[int]) -> Delivery:
    """A delivery with its occurrences in their order."""
    return Delivery(
        id=DeliveryId(row.id),
        keeper_id=KeeperId(row.keeper_id),
        nonce=row.nonce,
        occurrence_ids=tuple(OccurrenceId(occurrence_id) for occurrence_id in occurrence_ids),
        state=row.state,
        attempts=row.attempts,
        created_at=row.created_at,
        first_try_at=row.first_try_at,
        sent_at=row.sent_at,
        channel_id=row.channel_id,
        message_id=row.message_id,
        problem=row.problem,
    )
