"""Tables of feeder cultures, which belong to a keeper and go with them."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Index, UniqueConstraint
from sqlalchemy.orm import Mapped

from bot.adapters.store.tables import Base, CultureKey, KeeperKey, OwnId
from bot.care.culture import CultureEvent


class CultureRow(Base):
    """A culture of feeder insects."""

    __tablename__ = "culture"
    __table_args__ = (UniqueConstraint("keeper_id", "name"), {"sqlite_autoincrement": True})

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    name: Mapped[str]
    kind: Mapped[str]
    started: Mapped[date | None]
    animals: Mapped[int | None]
    place: Mapped[str | None]
    temperature_c: Mapped[float | None]
    registered: Mapped[date | None]
    created_at: Mapped[datetime | None]


class CultureEntryRow(Base):
    """Something noted of a culture."""

    __tablename__ = "culture_entry"
    __table_args__ = (Index(None, "culture_id", "day"),)

    id: Mapped[OwnId]
    culture_id: Mapped[CultureKey]
    day: Mapped[date]
    event: Mapped[CultureEvent]
    animals: Mapped[int | None]
