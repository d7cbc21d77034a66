"""Writes deliveries down, for many keepers at once, before anything is sent."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from bot.care.handbook import Handbook
from bot.services.composing import (
    Content,
    Letter,
    digest_of,
    due_notes,
    due_rows,
    names_in,
    new_delivery,
    waiting_rows,
)
from bot.services.planner import Planner
from bot.services.ports import UnitOfWork
from bot.services.records import Delivery, DeliveryState, KeeperId, KeeperRecord
from bot.services.sitting_end import settle_sittings


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """Keepers leased together under one token. `attempts`: tries that a delivery which never arrived had before."""

    token: str
    now: datetime
    lease_until: datetime
    attempts: int = 1


@dataclass(frozen=True, slots=True)
class LetterDesk:
    """Works inside the caller's unit of work; the caller commits."""

    planner: Planner
    handbook: Handbook

    async def write_down(self, work: UnitOfWork, claimed: Collection[KeeperId], claim: Claim) -> Sequence[Letter]:
        """What to send to claimed keepers now: what a crash or doubt left over, else a message with everything due.

        Keepers with nothing to tell get their lease back; those whom another process holds by now are left alone.
        """
        now = claim.now
        keepers = await work.keepers.get_all(claimed)
        held = await work.keepers.renew(list(keepers), claim.token, claim.lease_until)
        for keeper_id in await _sitting(work, held):
            await settle_sittings(work, keeper_id, now)
        left_over = await work.deliveries.open_of(held)
        again = [
            letter
            for keeper_id, delivery in left_over.items()
            if (letter := await self._again(work, keepers[keeper_id], delivery, now)) is not None
        ]
        busy = {letter.keeper.id for letter in again}
        free = [keeper for keeper in keepers.values() if keeper.id in held - busy]
        looked_at = await self.planner.look_at(work, free, now)
        return [*again, *await self._anew(work, looked_at, claim)]

    async def _again(self, work: UnitOfWork, keeper: KeeperRecord, left_over: Delivery, now: datetime) -> Letter | None:
        """The next try of a delivery, with what still waits in it; `None` when nothing does."""
        tried = replace(left_over, attempts=left_over.attempts + 1)
        rows, notes = await waiting_rows(work, tried), await work.notes.of_delivery(tried.id)
        if not rows and not notes:
            over = replace(tried, state=DeliveryState.FAILED, problem="nothing in it waits any more")
            await work.deliveries.save(over)
            return None
        await work.deliveries.save(tried)
        names = await names_in(work, {keeper.id: rows}, now)
        shown = await work.cautions_shown.of(keeper.id)
        content = Content(rows=rows, notes=notes, names=names.get(keeper.id, {}), shown=shown)
        return Letter(keeper, tried, digest_of(self.handbook, keeper, tried, content, now))

    async def _anew(self, work: UnitOfWork, keepers: Sequence[KeeperRecord], claim: Claim) -> Sequence[Letter]:
        """New deliveries with everything due."""
        now = claim.now
        rows, notes = await due_rows(work, keepers, now), await due_notes(work, keepers, now)
        told = [keeper for keeper in keepers if rows.get(keeper.id) or notes.get(keeper.id)]
        silent = {keeper.id for keeper in keepers} - {keeper.id for keeper in told}
        if silent:
            await work.keepers.let_go(silent, claim.token)
        if not told:
            return ()
        made = await work.deliveries.add_all(
            [new_delivery(keeper, rows.get(keeper.id, ()), now, claim.attempts) for keeper in told]
        )
        for delivery in made:
            await work.notes.tie(notes.get(delivery.keeper_id, ()), delivery.id)
        names = await names_in(work, {keeper.id: rows.get(keeper.id, ()) for keeper in told}, now)
        shown = await work.cautions_shown.of_all([keeper.id for keeper in told])
        letters: list[Letter] = []
        for keeper, delivery in zip(told, made, strict=True):
            content = Content(
                rows=rows.get(keeper.id, ()),
                notes=[replace(note, delivery_id=delivery.id) for note in notes.get(keeper.id, ())],
                names=names.get(keeper.id, {}),
                shown=shown.get(keeper.id, {}),
            )
            letters.append(Letter(keeper, delivery, digest_of(self.handbook, keeper, delivery, content, now)))
        return letters


async def _sitting(work: UnitOfWork, keeper_ids: Collection[KeeperId]) -> Sequence[KeeperId]:
    """Those who sit for somebody, or for whom somebody sits."""
    sittings = await work.sittings.open_of_all(keeper_ids)
    return sorted({found for each in sittings for found in (each.keeper_id, each.sitter_id)} & set(keeper_ids))
