"""Posts what is due, once: take a notice with a lease and count the try, look at the rights, post, record.

The same nonce goes with every try, and the platform folds it for some minutes; after that the channel is searched for
the message first. Where even that is not allowed nothing is posted blindly: moderators decide.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from bot.services.delivery import DOUBT_SECONDS, LEASE, NONCE_WINDOW
from bot.services.errors import BadMessageError, DeliveryError, OutcomeUnknownError, TryLaterError
from bot.services.ports import Posted, UnitOfWorkMaker
from bot.services.season_drafts import nonce_of
from bot.services.season_errors import HallClosedError, NoticeGoneError
from bot.services.season_hall import SeasonHall
from bot.services.season_pictures import SeasonPictures
from bot.services.season_records import Act, GuildId, LogLine, Notice, NoticeState, SeasonSetup

BATCH = 20
TOO_LATE = timedelta(days=3)
"""A notice that is this late was overtaken by events: moderators decide (judgement)."""
MISSED = "I was away when this was due. Post it now if it still helps, move it, or cancel it."
UNFIT = "The platform refuses this message as it is. Edit the text, then approve it again."
LOST = "The message was removed from the channel while it was being posted."


@dataclass(frozen=True, slots=True)
class SeasonDispatcher:
    """The use case behind every beat, beside the one for reminders."""

    units: UnitOfWorkMaker
    hall: SeasonHall
    pictures: SeasonPictures
    on_failure: Callable[[GuildId, Exception], None]

    async def next_due(self) -> datetime | None:
        """The earliest moment at which a notice must be looked at."""
        async with self.units() as work:
            return await work.seasons.next_due()

    async def post_due(self, now: datetime) -> int:
        """Post every notice whose moment has come; returns how many appeared. Several processes may call it."""
        count = 0
        while True:
            async with self.units() as work:
                taken = [_tried(notice, now) for notice in await work.seasons.due(now, BATCH)]
                for notice in taken:
                    await work.seasons.save(notice)
                await work.commit()
            for notice in taken:
                try:
                    count += await self._serve(notice, now)
                except Exception as surprise:  # noqa: BLE001 - told; the lease brings it back, and the others go out
                    self.on_failure(notice.guild_id, surprise)
            if len(taken) < BATCH:
                return count

    async def _serve(self, notice: Notice, now: datetime) -> int:
        async with self.units() as work:
            setup = await work.seasons.setup(notice.guild_id)
        if setup is None:
            return 0
        try:
            posted = await self._post(setup, notice, now)
        except (HallClosedError, BadMessageError) as refused:
            await self._pause(notice, setup, str(refused) if isinstance(refused, HallClosedError) else UNFIT, now)
        except NoticeGoneError:
            await self._finish(replace(notice, state=NoticeState.RETRACTED, problem=LOST), Act.RETRACTED, now)
        except (TryLaterError, OutcomeUnknownError) as doubt:
            wait = doubt.after if isinstance(doubt, TryLaterError) else DOUBT_SECONDS
            await self._wait(notice, now + timedelta(seconds=wait))
        else:
            await self._finish(_posted(notice, posted, now), Act.POSTED, now)
            return 1
        return 0

    async def _post(self, setup: SeasonSetup, notice: Notice, now: datetime) -> Posted:
        """Search first where the platform may have forgotten the nonce; in the channel of the earlier try."""
        if notice.attempts == 1 and now - notice.post_at > TOO_LATE:
            raise HallClosedError(MISSED)
        health = await self.hall.look(setup)
        if health.blocking:
            raise HallClosedError(" ".join(health.blocking))
        if notice.attempts > 1 and now - (notice.first_try_at or now) > NONCE_WINDOW:
            found = await self._find(setup, notice)
            if found is not None:
                return found
        if notice.channel_id != setup.channel_id:
            await self._wait(replace(notice, channel_id=setup.channel_id), now + LEASE)
        return await self.hall.post(setup, notice, await self.pictures.of(setup, notice, now))

    async def _find(self, setup: SeasonSetup, notice: Notice) -> Posted | None:
        """The message of an earlier try. A former channel that is closed to us cannot hold the notice back."""
        try:
            return await self.hall.find(notice.channel_id or setup.channel_id, notice)
        except HallClosedError:
            if notice.channel_id in {None, setup.channel_id}:
                raise
            return None

    async def _wait(self, notice: Notice, until: datetime) -> None:
        async with self.units() as work:
            fresh = await work.seasons.notice(notice.id)
            if fresh is not None and fresh.state is NoticeState.POSTING:
                await work.seasons.save(replace(fresh, lease_until=until, channel_id=notice.channel_id))
            await work.commit()

    async def _pause(self, notice: Notice, setup: SeasonSetup, problem: str, now: datetime) -> None:
        await self._finish(
            replace(notice, state=NoticeState.PAUSED, problem=problem, lease_until=None), Act.PAUSED, now, problem
        )
        if setup.helper_channel_id is not None:
            try:
                await self.hall.tell_trouble(setup, [problem], nonce_of("paused", notice.id, now.isoformat()))
            except DeliveryError as closed:
                self.on_failure(setup.guild_id, closed)

    async def _finish(self, notice: Notice, act: Act, now: datetime, detail: str = "") -> None:
        """Record the result, unless another process did so meanwhile."""
        async with self.units() as work:
            fresh = await work.seasons.notice(notice.id)
            if fresh is None or fresh.state is not NoticeState.POSTING:
                return
            await work.seasons.save(replace(notice, channel_id=notice.channel_id or fresh.channel_id))
            line = LogLine(guild_id=notice.guild_id, at=now, act=act, notice_id=notice.id, detail=detail[:200])
            await work.seasons.log(line)
            await work.commit()


def _posted(notice: Notice, posted: Posted, now: datetime) -> Notice:
    return replace(
        notice,
        state=NoticeState.POSTED,
        posted_at=now,
        channel_id=posted.channel_id,
        message_id=posted.message_id,
        lease_until=None,
        problem=None,
    )


def _tried(notice: Notice, now: datetime) -> Notice:
    return replace(
        notice,
        state=NoticeState.POSTING,
        attempts=notice.attempts + 1,
        first_try_at=notice.first_try_at or now,
        lease_until=now + LEASE,
    )
