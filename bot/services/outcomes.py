"""What a delivery changes in itself and in its keeper once it arrived or was refused. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from bot.care.localtime import local_day
from bot.services.composing import Letter
from bot.services.errors import DeliveryError, DoorRefusedError, KeeperGoneError
from bot.services.looks import REFUSALS_UNTIL_PAUSE
from bot.services.ports import Posted
from bot.services.records import Delivery, DeliveryState, Door, KeeperRecord


def as_sent(delivery: Delivery, posted: Posted, now: datetime) -> Delivery:
    """A try in doubt is found later, but it arrived when it was made."""
    return replace(
        delivery,
        state=DeliveryState.SENT,
        sent_at=delivery.first_try_at or now,
        channel_id=posted.channel_id,
        message_id=posted.message_id,
        problem=None,
    )


def seen(letter: Letter, keeper: KeeperRecord, now: datetime) -> tuple[Sequence[str], date]:
    """The cautions of a message, and the local day on which it came."""
    return [caution.id for caution in letter.digest.cautions], local_day(now, keeper.settings.zone)


def reached(letter: Letter, keeper: KeeperRecord, posted: Posted) -> KeeperRecord:
    """The keeper after a message that arrived: the door is open, and one more digest waits for an answer."""
    unanswered = keeper.unanswered + bool(letter.digest.lines)
    return replace(keeper, channel_id=posted.channel_id, door=Door.OPEN, refusals=0, unanswered=unanswered)


def after_failure(keeper: KeeperRecord, problem: DeliveryError, now: datetime) -> KeeperRecord:
    """The keeper after a delivery that cannot be repeated at once: when to knock again, or to wait for their return."""
    if isinstance(problem, KeeperGoneError):
        return replace(keeper, door=Door.GONE, next_wake=None)
    if isinstance(problem, DoorRefusedError):
        refusals = keeper.refusals + 1
        wake = None if refusals >= REFUSALS_UNTIL_PAUSE else now + timedelta(hours=12 * refusals)
        return replace(keeper, door=Door.REFUSED, refusals=refusals, next_wake=wake)
    return replace(keeper, next_wake=now + timedelta(hours=1))
