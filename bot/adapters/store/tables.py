"""The tables. Nests, heaters, outworlds and rest wishes are typed columns, not JSON: a new field is a plain migration.

Wall times and zone names are kept for what follows the wall clock; moments are UTC. Everything hangs on the keeper and
goes with them. Ids of colonies, occurrences and deliveries are never given twice: old buttons and nonces refer to them.
"""

from __future__ import annotations

from datetime import date, datetime, time
from enum import StrEnum
from typing import Annotated, Any

from sqlalchemy import (
    JSON,
    BigInteger,
    ColumnElement,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    literal_column,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from bot.adapters.store.moments import WORD, Moment
from bot.care.colony import Amount, NestKind, Side, Stage
from bot.care.duty import Duty, Outcome
from bot.care.units import Units
from bot.services.records import ColonyState, DeliveryState, Door, OccurrenceState

_ID = BigInteger().with_variant(Integer, "sqlite")
"""64 bits on both; SQLite gives ids by itself only to a column called INTEGER."""

BigId = Annotated[int, mapped_column(_ID)]
OwnId = Annotated[int, mapped_column(_ID, primary_key=True)]
KeeperKey = Annotated[int, mapped_column(_ID, ForeignKey("keeper.id", ondelete="CASCADE"))]
ColonyKey = Annotated[int, mapped_column(_ID, ForeignKey("colony.id", ondelete="CASCADE"))]
CultureKey = Annotated[int, mapped_column(_ID, ForeignKey("culture.id", ondelete="CASCADE"))]
Document = Annotated[Any, mapped_column(JSON)]

KEPT: ColumnElement[bool] = literal_column("state = 'kept'")
HELD: ColumnElement[bool] = literal_column("lease_until IS NOT NULL")
PLANNED: ColumnElement[bool] = literal_column("state = 'planned'")
SAT: ColumnElement[bool] = literal_column("recipient_id IS NOT NULL")
OF_CULTURE: ColumnElement[bool] = literal_column("culture_id IS NOT NULL")
IN_DELIVERY: ColumnElement[bool] = literal_column("delivery_id IS NOT NULL")
BY_SITTER: ColumnElement[bool] = literal_column("sitter_id IS NOT NULL")
"""As plain text, because a partial index serves no query that asks by parameter."""


class Base(DeclarativeBase):
    """Root of the tables; every constraint has a name, so that migrations can reach it."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {datetime: Moment(), StrEnum: WORD, float: Double(), str: Text()}  # noqa: RUF012 - its contract


class KeeperRow(Base):
    """A keeper. Claimed in the order of the first index, so that no claim sorts all who wake at the same moment."""

    __tablename__ = "keeper"
    __table_args__ = (
        Index(None, "next_wake", "id"),
        Index("ix_keeper_lease_until_held", "lease_until", sqlite_where=HELD, postgresql_where=HELD),
    )

    id: Mapped[int] = mapped_column(_ID, primary_key=True, autoincrement=False)
    zone_name: Mapped[str]
    latitude: Mapped[float | None]
    country: Mapped[str | None]
    units: Mapped[Units]
    digest_at: Mapped[time]
    quiet_start: Mapped[time]
    quiet_end: Mapped[time]
    reminders_on: Mapped[bool]
    away_until: Mapped[date | None]
    away_from: Mapped[date | None]
    mute_notes: Mapped[bool]
    channel_id: Mapped[BigId | None]
    door: Mapped[Door]
    refusals: Mapped[int]
    unanswered: Mapped[int]
    next_wake: Mapped[datetime | None]
    lease_until: Mapped[datetime | None]
    lease_token: Mapped[str | None]
    planned_on: Mapped[date | None]
    zone_data: Mapped[str | None]
    created_at: Mapped[datetime | None]


class PlaceRow(Base):
    """A place of a keeper; position 0 is the default."""

    __tablename__ = "place"

    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str]
    temperature_c: Mapped[float | None]
    humidity_percent: Mapped[float | None]
    winter_temperature_c: Mapped[float | None]
    draughty: Mapped[bool]


class ColonyRow(Base):
    """A colony. A group whose first column is empty is absent: no heater, no outworld, nothing learned.

    `holds_until` and `planned_with` are about its stored plan; empty once anything changed.
    """

    __tablename__ = "colony"
    __table_args__ = (
        Index(None, "keeper_id"),
        Index(
            "uq_colony_keeper_id_name_kept", "keeper_id", "name", unique=True, sqlite_where=KEPT, postgresql_where=KEPT
        ),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    state: Mapped[ColonyState]
    version: Mapped[int]
    created_at: Mapped[datetime | None]
    closed_at: Mapped[datetime | None]
    closed_reason: Mapped[str | None]

    name: Mapped[str]
    species: Mapped[str]
    workers: Mapped[int]
    queens: Mapped[int]
    stage: Mapped[Stage | None]
    founding: Mapped[str | None]
    founded: Mapped[date | None]
    arrived: Mapped[date | None]
    registered: Mapped[date | None]
    place: Mapped[str | None]

    brood_level: Mapped[Amount | None]
    brood_eggs: Mapped[bool | None]
    brood_larvae: Mapped[bool | None]
    brood_pupae: Mapped[bool | None]

    nest_kind: Mapped[NestKind]
    nest_material: Mapped[str | None]
    nest_water_ml: Mapped[float | None]
    nest_wetted_cm2: Mapped[float | None]
    nest_openness: Mapped[float | None]
    nest_volume_cm3: Mapped[float | None]
    nest_changed: Mapped[date | None]
    nest_watered_side: Mapped[Side]
    nest_bore_mm: Mapped[float | None]

    heater_kind: Mapped[str | None]
    heater_hot_c: Mapped[float | None]
    heater_share: Mapped[float | None]
    heater_watts: Mapped[float | None]
    heater_thermostat: Mapped[bool | None]

    outworld_dusty: Mapped[bool | None]
    outworld_limestone: Mapped[bool | None]
    outworld_barrier: Mapped[str | None]
    outworld_renewed: Mapped[date | None]

    rest_skip: Mapped[bool]
    rest_start: Mapped[date | None]
    rest_weeks: Mapped[float | None]
    rest_place: Mapped[str | None]
    rest_place_low_c: Mapped[float | None]
    rest_place_high_c: Mapped[float | None]
    rest_origin_latitude: Mapped[float | None]
    rest_from_other_hemisphere_since: Mapped[date | None]
    rest_first_year_queen: Mapped[bool]

    drying_mean: Mapped[float | None]
    drying_variance: Mapped[float | None]

    holds_until: Mapped[date | None]
    planned_with: Mapped[str | None]


class LogRow(Base):
    """One entry of a colony's log; `recorded_at` is empty where nobody knows it any more.

    `sitter_id` is who did it in the keeper's place; empty when they are erased.
    """

    __tablename__ = "log_entry"
    __table_args__ = (
        Index(None, "colony_id", "duty", "day"),
        Index("ix_log_entry_sitter_id_by", "sitter_id", sqlite_where=BY_SITTER, postgresql_where=BY_SITTER),
    )

    id: Mapped[OwnId]
    colony_id: Mapped[ColonyKey]
    day: Mapped[date]
    duty: Mapped[Duty]
    outcome: Mapped[Outcome]
    side: Mapped[Side | None]
    food: Mapped[str | None]
    count: Mapped[int | None]
    note: Mapped[str | None]
    recorded_at: Mapped[datetime | None]
    sitter_id: Mapped[int | None] = mapped_column(_ID, ForeignKey("keeper.id", ondelete="SET NULL"))


class DeliveryRow(Base):
    """One message to one keeper."""

    __tablename__ = "delivery"
    __table_args__ = (Index(None, "keeper_id", "state", "sent_at"), {"sqlite_autoincrement": True})

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    nonce: Mapped[str] = mapped_column(String(25), unique=True)
    state: Mapped[DeliveryState]
    attempts: Mapped[int]
    created_at: Mapped[datetime]
    first_try_at: Mapped[datetime | None]
    sent_at: Mapped[datetime | None]
    channel_id: Mapped[BigId | None]
    message_id: Mapped[BigId | None]
    problem: Mapped[str | None]


class OccurrenceRow(Base):
    """A duty of a colony or culture on a local day; `delivery_id` is the message it waits in or went out with.

    `recipient_id` is a sitter who is reminded instead of the keeper; without one, or when they are erased, the keeper.
    """

    __tablename__ = "occurrence"
    __table_args__ = (
        UniqueConstraint("colony_id", "duty", "day"),
        Index(
            "uq_occurrence_culture_id_day",
            "culture_id",
            "day",
            unique=True,
            sqlite_where=OF_CULTURE,
            postgresql_where=OF_CULTURE,
        ),
        Index(
            "ix_occurrence_keeper_id_due_at_planned",
            "keeper_id",
            "due_at",
            sqlite_where=PLANNED,
            postgresql_where=PLANNED,
        ),
        Index("ix_occurrence_recipient_id_state", "recipient_id", "state", sqlite_where=SAT, postgresql_where=SAT),
        Index(None, "keeper_id", "state"),
        Index("ix_occurrence_delivery_id_held", "delivery_id", sqlite_where=IN_DELIVERY, postgresql_where=IN_DELIVERY),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[OwnId]
    colony_id: Mapped[ColonyKey | None]
    keeper_id: Mapped[KeeperKey]
    duty: Mapped[Duty]
    day: Mapped[date]
    due_at: Mapped[datetime]
    earliest: Mapped[date]
    latest: Mapped[date]
    reason: Mapped[str]
    why: Mapped[Document]
    urgency: Mapped[int]
    useful_days: Mapped[int]
    facts: Mapped[Document]
    cautions: Mapped[Document]
    state: Mapped[OccurrenceState]
    snoozed: Mapped[bool]
    delivery_id: Mapped[int | None] = mapped_column(_ID, ForeignKey("delivery.id", ondelete="SET NULL"))
    answered_at: Mapped[datetime | None]
    outcome: Mapped[Outcome | None]
    recipient_id: Mapped[int | None] = mapped_column(_ID, ForeignKey("keeper.id", ondelete="SET NULL"))
    culture_id: Mapped[CultureKey | None]


class DeliveryLineRow(Base):
    """Which occurrences a message held, in their order; stays when one of them is planned anew."""

    __tablename__ = "delivery_line"
    __table_args__ = (Index(None, "occurrence_id"),)

    delivery_id: Mapped[int] = mapped_column(_ID, ForeignKey("delivery.id", ondelete="CASCADE"), primary_key=True)
    position: Mapped[int] = mapped_column(primary_key=True)
    occurrence_id: Mapped[int] = mapped_column(_ID, ForeignKey("occurrence.id", ondelete="CASCADE"))


class CautionShownRow(Base):
    """The last local day on which a keeper saw a caution."""

    __tablename__ = "caution_shown"

    keeper_id: Mapped[KeeperKey] = mapped_column(primary_key=True)
    caution_id: Mapped[str] = mapped_column(primary_key=True)
    day: Mapped[date]


class MarkRow(Base):
    """A small named fact."""

    __tablename__ = "mark"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]
