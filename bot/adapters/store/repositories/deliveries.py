"""Messages on their way, each with the occurrences it holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import Select, func, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import delivery_columns, delivery_from
from bot.adapters.store.tables import DeliveryLineRow, DeliveryRow, OccurrenceRow
from bot.care.duty import Urgency
from bot.services.records import Delivery, DeliveryId, DeliveryState, KeeperId


class SqlDeliveries:
    """Fulfils `ports.Deliveries`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def open_of(self, keeper_id: KeeperId) -> Delivery | None:
        """The keeper's delivery in state `sending`, if a crash or doubt left one; the oldest first."""
        return await self._first(_of(keeper_id, DeliveryState.SENDING).order_by(DeliveryRow.id))

    async def add(self, delivery: Delivery) -> Delivery:
        """Store a new delivery and tie its occurrences to it; the id is given here."""
        row = {"keeper_id": delivery.keeper_id, "nonce": delivery.nonce, "created_at": delivery.created_at}
        row |= delivery_columns(delivery)
        new_id = DeliveryId(await self._session.scalar(insert(DeliveryRow).values(row).returning(DeliveryRow.id)) or 0)
        if delivery.occurrence_ids:
            lines: Sequence[dict[str, int]] = [
                {"delivery_id": new_id, "position": position, "occurrence_id": occurrence_id}
                for position, occurrence_id in enumerate(delivery.occurrence_ids)
            ]
            await self._session.execute(insert(DeliveryLineRow), lines)
            held = OccurrenceRow.id.in_(delivery.occurrence_ids)
            await self._session.execute(update(OccurrenceRow).where(held).values(delivery_id=new_id))
        return replace(delivery, id=new_id)

    async def save(self, delivery: Delivery) -> None:
        """Update state, attempts and result; one that was erased meanwhile stays erased."""
        change = update(DeliveryRow).where(DeliveryRow.id == delivery.id)
        await self._session.execute(change.values(**delivery_columns(delivery)))

    async def get(self, delivery_id: DeliveryId) -> Delivery | None:
        """One delivery."""
        return await self._first(select(DeliveryRow).where(DeliveryRow.id == delivery_id))

    async def last_sent(self, keeper_id: KeeperId) -> Delivery | None:
        """The newest delivery that reached the keeper."""
        newest_first = (DeliveryRow.sent_at.desc().nulls_last(), DeliveryRow.id.desc())
        return await self._first(_of(keeper_id, DeliveryState.SENT).order_by(*newest_first))

    async def last_sent_since(self, keeper_id: KeeperId, since: datetime) -> int:
        """How many deliveries reached the keeper since a moment, which counts itself."""
        sent = _of(keeper_id, DeliveryState.SENT).where(DeliveryRow.sent_at >= since)
        return await self._session.scalar(select(func.count()).select_from(sent.subquery())) or 0

    async def digest_sent_since(self, keeper_id: KeeperId, since: datetime) -> bool:
        """Whether a message with more than urgent lines, or with none, came since a moment, which counts itself."""
        sent = _of(keeper_id, DeliveryState.SENT).where(DeliveryRow.sent_at >= since)
        lines = sent.outerjoin(DeliveryLineRow, DeliveryLineRow.delivery_id == DeliveryRow.id)
        lines = lines.outerjoin(OccurrenceRow, OccurrenceRow.id == DeliveryLineRow.occurrence_id)
        routine = lines.where(or_(OccurrenceRow.urgency < Urgency.URGENT, DeliveryLineRow.delivery_id.is_(None)))
        return await self._session.scalar(select(routine.exists())) or False

    async def _first(self, wanted: Select[DeliveryRow]) -> Delivery | None:
        row = (await self._session.scalars(wanted.limit(1))).first()
        if row is None:
            return None
        lines = select(DeliveryLineRow.occurrence_id).where(DeliveryLineRow.delivery_id == row.id)
        held = await self._session.scalars(lines.order_by(DeliveryLineRow.position))
        return delivery_from(row, held.all())


def _of(keeper_id: KeeperId, state: DeliveryState) -> Select[DeliveryRow]:
    return select(DeliveryRow).where(DeliveryRow.keeper_id == keeper_id, DeliveryRow.state == state)
