"""Messages on their way, each with the occurrences it holds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, bindparam, func, insert, or_, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from bot.adapters.store.mapping import delivery_columns, delivery_from
from bot.adapters.store.reading import Among, rows_of, table_of
from bot.adapters.store.tables import DeliveryLineRow, DeliveryRow, OccurrenceRow
from bot.care.duty import Urgency
from bot.services.records import Delivery, DeliveryId, DeliveryState, KeeperId

_T, _LINES, _OCCURRENCES = table_of(DeliveryRow), table_of(DeliveryLineRow), table_of(OccurrenceRow)
_C, _LINE, _OCCURRENCE = _T.c, _LINES.c, _OCCURRENCES.c
_SAVE = update(_T).where(_C.id == bindparam("row_id"))
"""Its columns come with the values of each row."""
_NEW, _NEW_LINES = insert(_T).returning(_C.nonce, _C.id), insert(_LINES)
_TIE = (
    update(_OCCURRENCES)
    .where(_LINE.occurrence_id == _OCCURRENCE.id, Among(_LINE.delivery_id))
    .values(delivery_id=_LINE.delivery_id)
)
_OPEN_OF = select(_T).where(Among(_C.keeper_id), _C.state == DeliveryState.SENDING).order_by(_C.id.desc())
_STILL_SENDING = select(_C.id).where(Among(_C.id), _C.state == DeliveryState.SENDING)


class SqlDeliveries:
    """Fulfils `ports.Deliveries`."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session

    async def open_of(self, keeper_ids: Collection[KeeperId]) -> Mapping[KeeperId, Delivery]:
        """The oldest delivery in state `sending` of each keeper for whom a crash or doubt left one."""
        found = await self._load(_OPEN_OF, {"ids": list(keeper_ids)})
        return {delivery.keeper_id: delivery for delivery in found}

    async def add(self, delivery: Delivery) -> Delivery:
        """Store a new delivery and tie its occurrences to it; the id is given here."""
        (added,) = await self.add_all([delivery])
        return added

    async def add_all(self, deliveries: Sequence[Delivery]) -> Sequence[Delivery]:
        """As `add`, for several; they come back in their order."""
        if not deliveries:
            return ()
        rows = await self._session.execute(_NEW, _new_rows(deliveries))
        made = {nonce: DeliveryId(row_id) for nonce, row_id in rows}
        added = [replace(delivery, id=made[delivery.nonce]) for delivery in deliveries]
        held = [(each.id, place, key) for each in added for place, key in enumerate(each.occurrence_ids)]
        if held:
            lines = [{"delivery_id": owner, "position": place, "occurrence_id": key} for owner, place, key in held]
            await self._session.execute(_NEW_LINES, lines)
            await self._session.execute(_TIE, {"ids": [each.id for each in added]})
        return added

    async def save(self, delivery: Delivery) -> None:
        """Update state, attempts and result; one that was erased meanwhile stays erased."""
        await self.save_all([delivery])

    async def save_all(self, deliveries: Sequence[Delivery]) -> None:
        """As `save`, for several."""
        if deliveries:
            await self._session.execute(_SAVE, [{"row_id": each.id, **delivery_columns(each)} for each in deliveries])

    async def get(self, delivery_id: DeliveryId) -> Delivery | None:
        """One delivery."""
        return next(iter(await self._load(select(_T).where(_C.id == delivery_id))), None)

    async def still_sending(self, delivery_ids: Collection[DeliveryId]) -> set[DeliveryId]:
        """Those that nobody brought to an end or erased."""
        found = await self._session.scalars(_STILL_SENDING, {"ids": list(delivery_ids)})
        return {DeliveryId(delivery_id) for delivery_id in found}

    async def last_sent(self, keeper_id: KeeperId) -> Delivery | None:
        """The newest delivery that reached the keeper."""
        newest_first = (_C.sent_at.desc().nulls_last(), _C.id.desc())
        wanted = select(_T).where(_of([keeper_id], DeliveryState.SENT)).order_by(*newest_first).limit(1)
        return next(iter(await self._load(wanted)), None)

    async def last_digests(self, keeper_ids: Collection[KeeperId], since: datetime) -> Mapping[KeeperId, datetime]:
        """When each keeper was last reached by a message with more than urgent lines, or with none, since a moment.

        The moment counts itself.
        """
        joined = _T.outerjoin(_LINES, _LINE.delivery_id == _C.id)
        joined = joined.outerjoin(_OCCURRENCES, _OCCURRENCE.id == _LINE.occurrence_id)
        routine = or_(_OCCURRENCE.urgency < int(Urgency.URGENT), _LINE.delivery_id.is_(None))
        newest = select(_C.keeper_id, func.max(_C.sent_at)).select_from(joined)
        newest = newest.where(_of(keeper_ids, DeliveryState.SENT), _C.sent_at >= since, routine)
        found = await self._session.execute(newest.group_by(_C.keeper_id))
        return {KeeperId(keeper_id): at for keeper_id, at in found}

    async def _load(self, wanted: Select[Any], values: Mapping[str, Any] | None = None) -> Sequence[Delivery]:
        rows = await rows_of(self._session, DeliveryRow, wanted, values)
        held: dict[int, list[int]] = defaultdict(list)
        if rows:
            these = _LINE.delivery_id.in_([row.id for row in rows])
            lines = select(_LINE.delivery_id, _LINE.occurrence_id).where(these)
            for delivery_id, occurrence_id in await self._session.execute(lines.order_by(_LINE.position)):
                held[delivery_id].append(occurrence_id)
        return [delivery_from(row, held[row.id]) for row in rows]


def _of(keeper_ids: Collection[KeeperId], state: DeliveryState) -> ColumnElement[bool]:
    return _C.keeper_id.in_(keeper_ids) & (_C.state == state)


def _new_rows(deliveries: Sequence[Delivery]) -> list[dict[str, Any]]:
    return [
        {"keeper_id": each.keeper_id, "nonce": each.nonce, "created_at": each.created_at, **delivery_columns(each)}
        for each in deliveries
    ]
