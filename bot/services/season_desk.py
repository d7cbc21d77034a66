"""What moderators do with a notice: look, edit, approve, schedule, postpone, post now, cancel, amend, retract.

Every step is checked against the state the notice really has, and logged with who did it. Who may lead is checked by
the caller; that the notice belongs to the caller's own community is checked here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta

from bot.care.errors import BadValueError
from bot.care.localtime import local_day, moment
from bot.services.errors import DeliveryError, NotYoursError
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.season import set_up
from bot.services.season_errors import HallClosedError, NoticeGoneError, SeasonError
from bot.services.season_hall import HallHealth, SeasonHall, look_kindly
from bot.services.season_pictures import SeasonPictures
from bot.services.season_records import OPEN, Act, GuildId, LogLine, Notice, NoticeId, NoticeState, SeasonSetup

LONGEST_TEXT = 1400
"""Characters of the editable text: with cautions and figures the notice stays inside one message."""
FARTHEST_DAYS = 60
WORDS = {
    NoticeState.DRAFT: "is a draft",
    NoticeState.SCHEDULED: "is scheduled",
    NoticeState.POSTING: "is on its way right now",
    NoticeState.PAUSED: "is paused",
    NoticeState.POSTED: "is posted",
    NoticeState.CANCELLED: "is cancelled",
    NoticeState.RETRACTED: "is retracted",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NoticeView:
    """A notice with what a moderator needs to decide."""

    notice: Notice
    setup: SeasonSetup
    missing: int
    """Approvals that are still needed."""
    health: HallHealth = field(default_factory=HallHealth)


@dataclass(frozen=True, slots=True)
class Step:
    """One moderator's step: in which community, on which notice, by whom, when."""

    guild_id: GuildId
    notice_id: NoticeId
    actor: int
    now: datetime


@dataclass(frozen=True, slots=True)
class Desk:
    """Use cases of moderators. All raise NotYoursError for a notice of another community, SeasonError for a refusal."""

    units: UnitOfWorkMaker
    zones: Zones
    hall: SeasonHall
    pictures: SeasonPictures

    async def list(self, guild_id: GuildId) -> Sequence[Notice]:
        """Notices that lie ahead and those that are posted, by moment."""
        async with self.units() as work:
            await set_up(work, guild_id)
            return await work.seasons.notices(guild_id, [*OPEN, NoticeState.POSTED])

    async def look(self, step: Step) -> NoticeView:
        """One notice, and whether it could be posted."""
        async with self.units() as work:
            view = await _view(work, step)
        return replace(view, health=await look_kindly(self.hall, view.setup))

    async def edit(self, step: Step, text: str) -> NoticeView:
        """New words. Approvals fall away, for they were given to other words.

        A posted notice is amended in place; where two must approve, the new words wait for the second.
        """
        tidy = text.strip()
        if not 1 <= len(tidy) <= LONGEST_TEXT:
            raise BadValueError("text", f"The text of a notice has 1 to {LONGEST_TEXT:,} characters.")
        async with self.units() as work:
            view = await _view(work, step)
            notice = view.notice
            if notice.state is not NoticeState.POSTED:
                _check(notice, NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.PAUSED)
                notice = replace(notice, text=tidy, state=NoticeState.DRAFT, approved_by=(), problem=None)
                return await self._done(work, step, notice, Act.EDITED)
            if view.setup.two_approve:
                proposed = replace(notice, amendment=tidy, amended_by=step.actor)
                return await self._done(work, step, proposed, Act.PROPOSED)
        return await self._amend(step, view, tidy)

    async def approve(self, step: Step) -> NoticeView:
        """Approve; with the last approval needed a draft is scheduled, and new words of a posted notice are put in."""
        async with self.units() as work:
            view = await _view(work, step)
            notice = view.notice
            if notice.state is not NoticeState.POSTED or notice.amendment is None:
                _check(notice, NoticeState.DRAFT)
                return await self._done(work, step, _approved(view, step.actor), Act.APPROVED)
            if view.setup.two_approve and notice.amended_by == step.actor:
                raise SeasonError("These words are yours. A second moderator has to approve them.")
        return await self._amend(step, view, notice.amendment)

    async def drop(self, step: Step) -> NoticeView:
        """Give up new words that wait; the posted ones stay."""
        async with self.units() as work:
            notice = (await _view(work, step)).notice
            _check(notice, NoticeState.POSTED)
            if notice.amendment is None:
                raise SeasonError("No new words wait here any more. Nothing was changed.")
            return await self._done(work, step, replace(notice, amendment=None, amended_by=None), Act.DROPPED)

    async def schedule(self, step: Step, day: date, wall: time) -> NoticeView:
        """Another day or hour, on the wall of the community's zone; approvals stay, for the words are the same."""
        async with self.units() as work:
            return await self._move(work, step, day, wall, Act.SCHEDULED)

    async def postpone(self, step: Step, days: int) -> NoticeView:
        """Some days later than planned, or than today where that is past."""
        async with self.units() as work:
            view = await _view(work, step)
            today = local_day(step.now, self.zones.get(view.setup.zone_name))
            day = max(view.notice.post_day, today) + timedelta(days=days)
            return await self._move(work, step, day, view.notice.post_wall, Act.POSTPONED)

    async def post_now(self, step: Step) -> NoticeView:
        """With the next beat. On a draft this also approves it, and is refused while approvals are missing."""
        async with self.units() as work:
            view = await _view(work, step)
            notice = view.notice
            _check(notice, NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.PAUSED)
            if notice.state is NoticeState.DRAFT:
                notice = _approved(view, step.actor)
            if notice.state is NoticeState.DRAFT:
                raise SeasonError("A second moderator has to approve it first; your own approval was not counted yet.")
            zone = self.zones.get(view.setup.zone_name)
            local = step.now.astimezone(zone)
            wall = local.time().replace(second=0, microsecond=0, tzinfo=None)
            due = replace(
                notice,
                state=NoticeState.SCHEDULED,
                post_day=local.date(),
                post_wall=wall,
                post_at=step.now,
                lease_until=None,
                problem=None,
            )
            return await self._done(work, step, due, Act.CALLED)

    async def cancel(self, step: Step) -> NoticeView:
        """It will not be posted; `/season draft` can take it up again."""
        async with self.units() as work:
            view = await _view(work, step)
            _check(view.notice, NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.PAUSED)
            notice = replace(view.notice, state=NoticeState.CANCELLED, approved_by=(), problem=None)
            return await self._done(work, step, notice, Act.CANCELLED)

    async def retract(self, step: Step) -> NoticeView:
        """Remove the posted message."""
        async with self.units() as work:
            view = await _view(work, step)
            _check(view.notice, NoticeState.POSTED)
        try:
            await self.hall.retract(view.notice)
        except DeliveryError as trouble:
            raise _refused(trouble) from None
        async with self.units() as work:
            fresh = (await _view(work, step)).notice
            _check(fresh, NoticeState.POSTED)
            return await self._done(work, step, replace(fresh, state=NoticeState.RETRACTED), Act.RETRACTED)

    async def _amend(self, step: Step, view: NoticeView, text: str) -> NoticeView:
        """Put words into the posted message, then record them; newer words that came meanwhile go on waiting."""
        notice = replace(view.notice, text=text)
        try:
            await self.hall.amend(view.setup, notice, await self.pictures.of(view.setup, notice, step.now))
        except DeliveryError as trouble:
            raise _refused(trouble) from None
        async with self.units() as work:
            posted = replace((await _view(work, step)).notice, text=text)
            if posted.amendment == text:
                posted = replace(posted, amendment=None, amended_by=None)
            return await self._done(work, step, posted, Act.AMENDED)

    async def _move(self, work: UnitOfWork, step: Step, day: date, wall: time, act: Act) -> NoticeView:
        view = await _view(work, step)
        notice = view.notice
        _check(notice, NoticeState.DRAFT, NoticeState.SCHEDULED, NoticeState.PAUSED)
        zone = self.zones.get(view.setup.zone_name)
        post_at = moment(day, wall, zone)
        if not step.now < post_at <= step.now + timedelta(days=FARTHEST_DAYS):
            raise BadValueError("day", f"Give a day and hour that lie ahead, at most {FARTHEST_DAYS} days.")
        approved = notice.state is not NoticeState.DRAFT
        moved = replace(
            notice,
            state=NoticeState.SCHEDULED if approved else NoticeState.DRAFT,
            post_day=day,
            post_wall=wall,
            post_at=post_at,
            lease_until=None,
            problem=None,
            nudged_on=None,
        )
        return await self._done(work, step, moved, act, f"{day.isoformat()} {wall:%H:%M}")

    async def _done(self, work: UnitOfWork, step: Step, notice: Notice, act: Act, detail: str = "") -> NoticeView:
        await work.seasons.save(notice)
        line = LogLine(
            guild_id=step.guild_id, at=step.now, act=act, actor=step.actor, notice_id=notice.id, detail=detail
        )
        await work.seasons.log(line)
        view = await _view(work, step)
        await work.commit()
        return view


async def _view(work: UnitOfWork, step: Step) -> NoticeView:
    notice = await work.seasons.notice(step.notice_id)
    if notice is None or notice.guild_id != step.guild_id:
        raise NotYoursError
    setup = await set_up(work, step.guild_id)
    return NoticeView(notice=notice, setup=setup, missing=missing_approvals(notice, setup))


def missing_approvals(notice: Notice, setup: SeasonSetup) -> int:
    """How many moderators must still agree before a draft, or new words of a posted notice, take effect."""
    if notice.state is NoticeState.POSTED and notice.amendment is not None:
        return 1
    needed = 2 if setup.two_approve else 1
    return max(0, needed - len(notice.approved_by)) if notice.state is NoticeState.DRAFT else 0


def _approved(view: NoticeView, actor: int) -> Notice:
    """The notice with one more approval; scheduled when it was the last."""
    notice = view.notice
    if actor in notice.approved_by:
        raise SeasonError("You approved it already. A second moderator has to approve it too.")
    state = NoticeState.SCHEDULED if view.missing <= 1 else NoticeState.DRAFT
    return replace(notice, approved_by=(*notice.approved_by, actor), state=state)


def _refused(trouble: DeliveryError) -> SeasonError:
    """What the platform did not let us do with a posted message, as a sentence."""
    if isinstance(trouble, NoticeGoneError):
        return SeasonError("The message is no longer in the channel, so there is nothing to change.")
    if isinstance(trouble, HallClosedError):
        return SeasonError(str(trouble))
    return SeasonError("The platform did not answer, so I do not know whether that worked. Look, and try again.")


def _check(notice: Notice, *allowed: NoticeState) -> None:
    if notice.state not in allowed:
        raise SeasonError(f"That is not possible any more: this notice {WORDS[notice.state]}. Nothing was changed.")
