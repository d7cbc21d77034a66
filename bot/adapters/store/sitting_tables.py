"""Tables of what is between two members. The other side is a platform id without reference: it may be nobody we know.

Everything goes with the keeper; what refers to an erased member as sitter or receiver is removed by `keepers.erase`.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, Index, false
from sqlalchemy.orm import Mapped, mapped_column

from bot.adapters.store.tables import _ID, IN_DELIVERY, Base, BigId, ColonyKey, Document, KeeperKey, OwnId
from bot.services.sitting_records import NoteKind, SittingState


class SittingRow(Base):
    """A member who cares for colonies of another."""

    __tablename__ = "sitting"
    __table_args__ = (Index(None, "keeper_id"), Index(None, "sitter_id"), {"sqlite_autoincrement": True})

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    sitter_id: Mapped[BigId]
    since: Mapped[date]
    until: Mapped[date]
    state: Mapped[SittingState]
    unreachable: Mapped[bool]
    feeders: Mapped[bool] = mapped_column(server_default=false())
    asked_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]


class SittingColonyRow(Base):
    """Which colonies a sitting is about."""

    __tablename__ = "sitting_colony"
    __table_args__ = (Index(None, "colony_id"),)

    sitting_id: Mapped[int] = mapped_column(_ID, ForeignKey("sitting.id", ondelete="CASCADE"), primary_key=True)
    colony_id: Mapped[ColonyKey] = mapped_column(primary_key=True)


class OfferRow(Base):
    """A colony that is offered for good; at most one offer each."""

    __tablename__ = "colony_offer"
    __table_args__ = (Index(None, "keeper_id"), Index(None, "to_id"), {"sqlite_autoincrement": True})

    id: Mapped[OwnId]
    colony_id: Mapped[ColonyKey] = mapped_column(unique=True)
    keeper_id: Mapped[KeeperKey]
    to_id: Mapped[BigId]
    offered_at: Mapped[datetime]


class NoteRow(Base):
    """Something to tell a keeper once."""

    __tablename__ = "note"
    __table_args__ = (
        Index(None, "keeper_id", "due_at"),
        Index("ix_note_delivery_id_held", "delivery_id", sqlite_where=IN_DELIVERY, postgresql_where=IN_DELIVERY),
    )

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    kind: Mapped[NoteKind]
    due_at: Mapped[datetime]
    about: Mapped[Document]
    delivery_id: Mapped[int | None] = mapped_column(_ID, ForeignKey("delivery.id", ondelete="SET NULL"))
