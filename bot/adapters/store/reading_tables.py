"""The table of logger readings, which go with their keeper and with their colony."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index, UniqueConstraint
from sqlalchemy.orm import Mapped

from bot.adapters.store.tables import Base, ColonyKey, Document, KeeperKey, OwnId
from bot.care.logger.readings import Quantity
from bot.care.logger.spot import Spot


class LoggerSeriesRow(Base):
    """Readings of one quantity at one spot: the first moment, seconds from each to the next, values in hundredths."""

    __tablename__ = "logger_series"
    __table_args__ = (
        UniqueConstraint("keeper_id", "colony_id", "spot", "quantity", "kept"),
        Index(None, "colony_id"),
        Index(None, "kept", "stored_at"),
        {"sqlite_autoincrement": True},
    )

    id: Mapped[OwnId]
    keeper_id: Mapped[KeeperKey]
    colony_id: Mapped[ColonyKey]
    spot: Mapped[Spot]
    quantity: Mapped[Quantity]
    kept: Mapped[bool]
    stored_at: Mapped[datetime]
    readings: Mapped[Document]
