"""Writes drafts ahead of time, tells moderators what waits for them, and lets go what nobody approved in time.

Called once a local day of each community; doing it twice changes nothing.
"""

from __future__ import annotations

import hashlib
from base64 import b32encode
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from bot.care.localtime import local_day, moment
from bot.care.season.community import Half, SeasonStage, season_year
from bot.care.season.dates import StageDay, stage_days
from bot.care.season.figures import GroupFigures
from bot.care.season.language import Languages, wording
from bot.care.season.words import draft_words
from bot.services.errors import DeliveryError
from bot.services.ports import UnitOfWork, UnitOfWorkMaker, Zones
from bot.services.season import set_up
from bot.services.season_counting import Counting
from bot.services.season_errors import SeasonError
from bot.services.season_hall import SeasonHall
from bot.services.season_records import OPEN, Act, GuildId, LogLine, Notice, NoticeId, NoticeState, SeasonSetup

BATCH = 50
NUDGE_BEFORE = timedelta(days=2)
"""So close to its hour a draft is called to mind every day."""
LAPSE_AFTER = timedelta(days=14)
"""So long after its stage began a draft that nobody approved is let go."""
KEEP_LOG = timedelta(days=800)
"""Two seasons and a little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A stage that lies ahead, and its notice where one is written."""

    half: Half
    year: int
    stage: SeasonStage
    begins: StageDay
    post_day: date
    notice: Notice | None


@dataclass(frozen=True, slots=True)
class Drafts:
    """Use cases around the writing of notices."""

    units: UnitOfWorkMaker
    zones: Zones
    counting: Counting
    languages: Languages
    hall: SeasonHall
    on_failure: Callable[[GuildId, Exception], None]

    async def draft_due(self, now: datetime) -> int:
        """Look after every community once a day; returns how many drafts were written."""
        written, last = 0, GuildId(0)
        while True:
            async with self.units() as work:
                setups = await work.seasons.guilds_after(last, BATCH)
                if last == 0:
                    await work.seasons.forget_log_before(now - KEEP_LOG)
                    await work.commit()
            for setup in setups:
                try:
                    written += await self._tend(setup, now)
                except Exception as surprise:  # noqa: BLE001 - told, and the other communities are served
                    self.on_failure(setup.guild_id, surprise)
            if len(setups) < BATCH:
                return written
            last = setups[-1].guild_id

    async def ahead(self, guild_id: GuildId, now: datetime) -> tuple[Ahead, ...]:
        """All stages from now on up to a year, by the day of their notice.

        Raises:
            SeasonError: the community has no season.
        """
        figures = await self.counting.shown(guild_id, now)
        async with self.units() as work:
            setup = await set_up(work, guild_id)
            today = local_day(now, self.zones.get(setup.zone_name))
            stages = [
                replace(found, notice=await work.seasons.find(guild_id, found.year, found.stage, found.half))
                for found in self._stages(setup, figures or (), today)
            ]
        return tuple(sorted(stages, key=lambda found: (found.post_day, found.half)))

    async def write(
        self, guild_id: GuildId, stage: SeasonStage, half: Half, actor: int | None, now: datetime
    ) -> Notice:
        """Write the draft of the next such stage now; returns the one that is there already, if so.

        Raises:
            SeasonError: no such stage lies ahead.
        """
        found = next(
            (each for each in await self.ahead(guild_id, now) if (each.stage, each.half) == (stage, half)), None
        )
        if found is None:
            raise SeasonError(
                f"There is no “{stage.value}” ahead for {half.value} here; /season setup says which halves count."
            )
        if found.notice is not None and found.notice.state not in {NoticeState.CANCELLED, NoticeState.RETRACTED}:
            return found.notice
        figures = await self.counting.shown(guild_id, now)
        async with self.units() as work:
            setup = await set_up(work, guild_id)
            fresh = self._notice(setup, found, figures, now)
            made = await _again(work, found, fresh) if found.notice else await work.seasons.add(fresh)
            notice = made or await work.seasons.find(guild_id, found.year, stage, half)
            if notice is None:
                raise SeasonError("That draft was removed at the same moment. Try again.")
            if made is not None:
                line = LogLine(guild_id=guild_id, at=now, act=Act.DRAFTED, actor=actor, notice_id=made.id)
                await work.seasons.log(line)
            await work.commit()
        return notice

    async def _tend(self, setup: SeasonSetup, now: datetime) -> int:
        today = local_day(now, self.zones.get(setup.zone_name))
        if setup.tended_on == today:
            return 0
        written = 0
        for found in await self.ahead(setup.guild_id, now):
            if found.notice is None and found.post_day - timedelta(days=setup.draft_days) <= today:
                await self.write(setup.guild_id, found.stage, found.half, None, now)
                written += 1
        await self._let_go(setup, today, now)
        await self._nudge(setup, today, now)
        async with self.units() as work:
            fresh = await work.seasons.setup(setup.guild_id) or setup
            await work.seasons.save_setup(replace(fresh, tended_on=today))
            await work.commit()
        return written

    async def _let_go(self, setup: SeasonSetup, today: date, now: datetime) -> None:
        async with self.units() as work:
            for notice in await work.seasons.notices(setup.guild_id, [NoticeState.DRAFT, NoticeState.PAUSED]):
                if notice.begins + LAPSE_AFTER < today:
                    await work.seasons.save(replace(notice, state=NoticeState.CANCELLED))
                    line = LogLine(guild_id=setup.guild_id, at=now, act=Act.LAPSED, notice_id=notice.id)
                    await work.seasons.log(line)
            await work.commit()

    async def _nudge(self, setup: SeasonSetup, today: date, now: datetime) -> None:
        """Tell moderators what waits and what is in the way; without a helper channel `/season draft` shows it."""
        if setup.helper_channel_id is None:
            return
        async with self.units() as work:
            notices = await work.seasons.notices(setup.guild_id, OPEN)
        try:
            await self._tell_trouble(setup, notices, today, now)
            for notice in notices:
                if _waits(notice, today, now):
                    await self.hall.tell_waiting(setup, notice, nonce_of("waits", notice.id, today))
                    await self._told(notice.id, today)
        except DeliveryError as closed:
            self.on_failure(setup.guild_id, closed)

    async def _tell_trouble(self, setup: SeasonSetup, notices: Sequence[Notice], today: date, now: datetime) -> None:
        """Missing rights are told as soon as a notice lies ahead, not when its hour has come."""
        if not any(notice.post_at - now < timedelta(days=setup.draft_days) for notice in notices):
            return
        health = await self.hall.look(setup)
        if health.sentences:
            await self.hall.tell_trouble(setup, health.sentences, nonce_of("rights", setup.guild_id, today))

    async def _told(self, notice_id: NoticeId, today: date) -> None:
        async with self.units() as work:
            fresh = await work.seasons.notice(notice_id)
            if fresh is not None:
                await work.seasons.save(replace(fresh, nudged_on=today))
                await work.commit()

    def _stages(self, setup: SeasonSetup, figures: Sequence[GroupFigures], today: date) -> Iterator[Ahead]:
        latitude = self.zones.latitude(setup.zone_name)
        for half in setup.halves:
            if half is Half.TROPICS and len(setup.halves) > 1:
                continue
            this = season_year(half, today)
            seen: set[SeasonStage] = set()
            for year in (this - 1, this, this + 1):
                for stage, begins in stage_days(half, year, figures, latitude).items():
                    if begins.day >= today and stage not in seen:
                        seen.add(stage)
                        day = max(begins.day - _lead(setup, stage), today)
                        yield Ahead(half=half, year=year, stage=stage, begins=begins, post_day=day, notice=None)

    def _notice(
        self, setup: SeasonSetup, found: Ahead, figures: Sequence[GroupFigures] | None, now: datetime
    ) -> Notice:
        zone = self.zones.get(setup.zone_name)
        day = found.post_day
        if moment(day, setup.post_at, zone) <= now:
            day += timedelta(days=1)
        own = None if figures is None else _own(figures, found)
        language = wording(self.languages, setup.language)
        words = draft_words(found.stage, found.half, found.begins, own, setup.units, setup.halves, language)
        return Notice(
            id=NoticeId(0),
            guild_id=setup.guild_id,
            year=found.year,
            stage=found.stage,
            half=found.half,
            language=language.code,
            heading=words.heading,
            text=words.text,
            numbers=words.numbers,
            cautions=words.cautions,
            begins=found.begins.day,
            post_day=day,
            post_wall=setup.post_at,
            post_at=moment(day, setup.post_at, zone),
            nonce=nonce_of("notice", setup.guild_id, found.year, found.stage.value, found.half.value),
            created_at=now,
        )


async def _again(work: UnitOfWork, found: Ahead, fresh: Notice) -> Notice | None:
    """A cancelled or retracted notice becomes a draft once more, with new words and a nonce that was never used."""
    old = None if found.notice is None else await work.seasons.notice(found.notice.id)
    if old is None or old.state not in {NoticeState.CANCELLED, NoticeState.RETRACTED}:
        return None
    notice = replace(fresh, id=old.id, nonce=nonce_of("again", old.id, fresh.created_at.isoformat()))
    await work.seasons.save(notice)
    return notice


def nonce_of(*parts: object) -> str:
    """A key of at most 25 characters, the same for the same parts."""
    text = ":".join(str(part) for part in parts)
    return b32encode(hashlib.sha256(text.encode()).digest()).decode()[:24]


def _own(figures: Sequence[GroupFigures], found: Ahead) -> list[GroupFigures]:
    return [group for group in figures if group.key.half is found.half and group.key.year == found.year]


def _lead(setup: SeasonSetup, stage: SeasonStage) -> timedelta:
    if stage is SeasonStage.PREPARE:
        return timedelta(days=setup.prepare_days)
    return timedelta(days=0 if stage in {SeasonStage.MID_REST, SeasonStage.NOTHING_DUE} else setup.lead_days)


def _waits(notice: Notice, today: date, now: datetime) -> bool:
    """Whether moderators should be told today: once when it is new, then daily when its hour is near."""
    if notice.state not in {NoticeState.DRAFT, NoticeState.PAUSED} or notice.nudged_on == today:
        return False
    return notice.nudged_on is None or notice.post_at - now < NUDGE_BEFORE
