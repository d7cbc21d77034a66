"""Trouble that a person must look at: raised once, told once, and kept until it is over.

An alarm is logged and counted at once; moderators with a channel of their own get one sentence when messages can go
out again; `check` lists what stands. A trouble that comes and goes is told once a day at most (judgement).
"""

from __future__ import annotations

import hashlib
import json
from base64 import b32encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Protocol

from bot.services.errors import DeliveryError, OutcomeUnknownError, TryLaterError
from bot.services.ports import UnitOfWork, UnitOfWorkMaker
from bot.services.season_records import GuildId, SeasonSetup

TELL_AGAIN = timedelta(days=1)
BATCH = 50


class Trouble(StrEnum):
    """What can be wrong with the whole bot."""

    BEAT = "beat"
    SENDING = "sending"
    DOORS = "doors"


SENTENCES = {
    Trouble.BEAT: "my heartbeat stopped for some minutes, so reminders may have come late or be missing",
    Trouble.SENDING: "the platform refused many of my requests, so I stopped sending for ten minutes",
    Trouble.DOORS: "the platform stopped me from opening new direct messages, so new members are not reminded yet",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """One trouble as it is kept."""

    trouble: Trouble
    since: datetime
    incident: str
    told_at: datetime | None = None
    over: bool = False

    @property
    def sentence(self) -> str:
        """For moderators."""
        what = SENTENCES[self.trouble]
        return f"Since {self.since:%Y-%m-%d %H:%M} UTC {what}. Tell whoever runs this bot the number `{self.incident}`."


class Bell(Protocol):
    """The platform's side."""

    async def ring(self, setup: SeasonSetup, sentence: str, nonce: str) -> None:
        """Say a sentence in the moderators' channel of a community, once for each nonce.

        Raises:
            DeliveryError.
        """
        ...


@dataclass(slots=True)
class Alarms:
    """Use cases of whatever watches the bot."""

    units: UnitOfWorkMaker
    bell: Bell
    on_raise: Callable[[Alarm], None]
    """Told of every new alarm at once, whether or not the store can keep it."""
    _raised: dict[Trouble, Alarm] = field(default_factory=dict)

    async def judge(self, troubles: Mapping[Trouble, bool], now: datetime) -> None:
        """Raise alarms of troubles that are there, and say of the others that they are over; both once.

        Raises:
            ServiceError: the store is out of reach; new alarms were told to `on_raise` all the same.
        """
        for trouble, there in troubles.items():
            if not there:
                self._raised.pop(trouble, None)
            elif trouble not in self._raised:
                alarm = Alarm(trouble=trouble, since=now, incident=incident_of(trouble, now))
                self._raised[trouble] = alarm
                self.on_raise(alarm)
        async with self.units() as work:
            for trouble in troubles:
                await self._keep(work, trouble, now)
            await work.commit()

    async def tell(self, now: datetime) -> int:
        """Tell moderators of what they were not told; returns how many sentences went out."""
        async with self.units() as work:
            waiting = [alarm for trouble in Trouble if (alarm := await _kept(work, trouble)) and not alarm.told_at]
        count = 0
        for alarm in waiting:
            try:
                count += await self._ring(alarm)
            except (TryLaterError, OutcomeUnknownError):
                return count
            async with self.units() as work:
                fresh = await _kept(work, alarm.trouble)
                if fresh is not None and fresh.incident == alarm.incident:
                    await _keep(work, replace(fresh, told_at=now))
                await work.commit()
        return count

    async def _keep(self, work: UnitOfWork, trouble: Trouble, now: datetime) -> None:
        """Bring what the store holds of a trouble up to date."""
        kept, raised = await _kept(work, trouble), self._raised.get(trouble)
        if raised is not None and (kept is None or kept.incident != raised.incident):
            await _keep(work, replace(raised, told_at=_told_of_late(kept, now)))
        elif raised is None and kept is not None and not kept.over:
            await _keep(work, replace(kept, over=True))

    async def _ring(self, alarm: Alarm) -> int:
        """In every community that has a channel for it; one that is closed to us keeps no other waiting."""
        count, last = 0, GuildId(0)
        while True:
            async with self.units() as work:
                setups = await work.seasons.guilds_after(last, BATCH)
            for setup in setups:
                if setup.helper_channel_id is not None:
                    try:
                        await self.bell.ring(setup, alarm.sentence, f"A{alarm.incident}")
                        count += 1
                    except (TryLaterError, OutcomeUnknownError):
                        raise
                    except DeliveryError:
                        continue
            if len(setups) < BATCH:
                return count
            last = setups[-1].guild_id


async def standing(work: UnitOfWork) -> Sequence[Alarm]:
    """Alarms whose trouble is not known to be over."""
    kept = [await _kept(work, trouble) for trouble in Trouble]
    return [alarm for alarm in kept if alarm is not None and not alarm.over]


def incident_of(trouble: Trouble, since: datetime) -> str:
    """Eight signs that can be read out, and searched for in the log."""
    return b32encode(hashlib.sha256(f"{trouble}:{since.isoformat()}".encode()).digest()).decode()[:8]


def _told_of_late(kept: Alarm | None, now: datetime) -> datetime | None:
    told = None if kept is None else kept.told_at
    return told if told is not None and timedelta(0) <= now - told < TELL_AGAIN else None


async def _kept(work: UnitOfWork, trouble: Trouble) -> Alarm | None:
    stored = await work.marks.get(_mark(trouble))
    if not stored:
        return None
    found = json.loads(stored)
    return Alarm(
        trouble=trouble,
        since=datetime.fromisoformat(found["since"]),
        incident=found["incident"],
        told_at=None if found["told_at"] is None else datetime.fromisoformat(found["told_at"]),
        over=found["over"],
    )


async def _keep(work: UnitOfWork, alarm: Alarm) -> None:
    document = {
        "since": alarm.since.isoformat(),
        "incident": alarm.incident,
        "told_at": None if alarm.told_at is None else alarm.told_at.isoformat(),
        "over": alarm.over,
    }
    await work.marks.set(_mark(alarm.trouble), json.dumps(document))


def _mark(trouble: Trouble) -> str:
    return f"alarm_{trouble.value}"
