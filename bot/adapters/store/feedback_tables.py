"""The table of what is counted about answers: nothing in it belongs to any one keeper."""

from __future__ import annotations

from datetime import date

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from bot.adapters.store.tables import Base, BigId
from bot.services.feedback_ports import Reception

SUBJECT = String(60)


class AnswerCountRow(Base):
    """How often something happened in a server and month. Servers are the platform's and refer to no table of ours."""

    __tablename__ = "answer_count"

    guild_id: Mapped[BigId] = mapped_column(primary_key=True, autoincrement=False)
    month: Mapped[date] = mapped_column(primary_key=True)
    subject: Mapped[str] = mapped_column(SUBJECT, primary_key=True)
    reception: Mapped[Reception] = mapped_column(primary_key=True)
    count: Mapped[int]
