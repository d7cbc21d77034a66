"""A community for use cases: the real store, a hall with a memory, members with colonies; the moment is an argument."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path

from bot.adapters.handbook.season_words import load_languages
from bot.adapters.zones import TzDatabase
from bot.care.season.figures import GroupFigures
from bot.care.season.language import SeasonWords
from bot.services.delivery import NONCE_WINDOW
from bot.services.errors import DeliveryError
from bot.services.keepers import PlaceChanges
from bot.services.pictures import Picture
from bot.services.ports import Posted
from bot.services.records import KeeperId
from bot.services.season import Season, SetupChanges
from bot.services.season_check import Check
from bot.services.season_counting import Counting
from bot.services.season_desk import Desk, NoticeView, Step
from bot.services.season_drafts import Drafts
from bot.services.season_hall import HallHealth
from bot.services.season_pictures import SeasonPictures
from bot.services.season_posting import SeasonDispatcher
from bot.services.season_records import GuildId, Notice, SeasonSetup
from tests.care import builders
from tests.services.kit import START, Crash, World
from tests.shelf import handbook

CONFIG = Path(__file__).parents[2] / "config"
LANGUAGES = load_languages(handbook(), CONFIG)
HALL, OTHER = GuildId(77), GuildId(88)
CHANNEL, MODERATORS = 700, 701
MARA, NILS = 9001, 9002
"""Two moderators."""


@dataclass
class Hall:
    """The platform's side: folds a repeated nonce for some minutes, and can make trouble."""

    now: datetime = START
    seen: list[tuple[str, Notice]] = field(default_factory=list)
    """Notices that appeared in the channel, with their nonce."""
    waiting: list[Notice] = field(default_factory=list)
    trouble_told: list[Sequence[str]] = field(default_factory=list)
    health: HallHealth = field(default_factory=HallHealth)
    trouble: list[Exception] = field(default_factory=list)
    """Raised before anything is sent, one a call."""
    crash_after_post: bool = False
    removed: list[int] = field(default_factory=list)
    gone: set[KeeperId] = field(default_factory=set)
    searched: int = 0
    picture: Picture | None = None
    """The one that came with the last post or amendment."""
    forgets_after: timedelta = NONCE_WINDOW + timedelta(minutes=1)
    _nonces: dict[str, tuple[datetime, int]] = field(default_factory=dict)

    async def look(self, setup: SeasonSetup) -> HallHealth:
        return self.health

    async def post(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> Posted:
        self._raise()
        self.picture = picture
        at, number = self._nonces.get(notice.nonce, (None, 0))
        if at is None or self.now - at > self.forgets_after:
            self.seen.append((notice.nonce, notice))
            number = len(self.seen)
            self._nonces[notice.nonce] = (self.now, number)
        if self.crash_after_post:
            self.crash_after_post = False
            raise Crash
        return Posted(setup.channel_id, number)

    async def find(self, channel_id: int, notice: Notice) -> Posted | None:
        self.searched += 1
        self._raise()
        for number, (_, earlier) in enumerate(self.seen, start=1):
            if earlier.id == notice.id and number not in self.removed:
                return Posted(channel_id, number)
        return None

    async def amend(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> None:
        self._raise()
        self.picture = picture
        assert notice.message_id is not None
        nonce, _ = self.seen[notice.message_id - 1]
        self.seen[notice.message_id - 1] = (nonce, notice)

    async def retract(self, notice: Notice) -> None:
        self._raise()
        assert notice.message_id is not None
        self.removed.append(notice.message_id)

    async def tell_waiting(self, setup: SeasonSetup, notice: Notice, nonce: str) -> None:
        self.waiting.append(notice)

    async def tell_trouble(self, setup: SeasonSetup, sentences: Sequence[str], nonce: str) -> None:
        self.trouble_told.append(sentences)

    async def still_members(self, guild_id: GuildId, keepers: Sequence[KeeperId]) -> frozenset[KeeperId]:
        self._raise()
        return frozenset(keepers) - self.gone

    def _raise(self) -> None:
        if self.trouble:
            raise self.trouble.pop(0)


@dataclass
class Drawing:
    """Stands in for the drawing of pictures; can fail."""

    drawn: list[tuple[Sequence[GroupFigures], date, str]] = field(default_factory=list)
    trouble: Exception | None = None

    def __call__(self, figures: Sequence[GroupFigures], today: date, words: SeasonWords) -> Picture | None:
        if self.trouble is not None:
            raise self.trouble
        self.drawn.append((figures, today, words.code))
        return Picture(b"PNG", words.picture.about, 1, 1)


@dataclass
class Community:
    """A world with a season."""

    world: World
    hall: Hall
    drawing: Drawing
    season: Season
    counting: Counting
    drafts: Drafts
    desk: Desk
    check: Check
    dispatcher: SeasonDispatcher
    surprises: list[Exception]

    async def found(self, now: datetime, guild: GuildId = HALL, **changes: object) -> SeasonSetup:
        """Set up a community in Vienna."""
        usual = SetupChanges(channel_id=CHANNEL, helper_channel_id=MODERATORS, zone_name="Europe/Vienna")
        return await self.season.change(guild, replace(usual, **changes), MARA, now)  # type: ignore[arg-type]  # fields by name

    async def join(
        self, count: int, now: datetime, *, zone: str = "Europe/Vienna", first: int = 1, guild: GuildId = HALL
    ) -> list[KeeperId]:
        """Members with a colony each who agree to be counted."""
        ids = [KeeperId(number) for number in range(first, first + count)]
        for keeper_id in ids:
            await self.world.keepers.set_place(keeper_id, PlaceChanges(zone_name=zone, temperature_c=24), now)
            await self.world.colonies.add(keeper_id, builders.colony(name=f"C{keeper_id}"), now)
            await self.season.agree(guild, keeper_id, counted=True, helped=None, now=now)
        return ids

    async def beat(self, now: datetime) -> int:
        """What the bot does by itself at a moment."""
        self.hall.now = now
        await self.drafts.draft_due(now)
        return await self.dispatcher.post_due(now)

    async def notices(self, guild: GuildId = HALL) -> list[Notice]:
        return list(await self.desk.list(guild))

    async def only(self, guild: GuildId = HALL) -> Notice:
        (notice,) = await self.notices(guild)
        return notice

    async def approve(self, notice: Notice, now: datetime, actor: int = MARA) -> NoticeView:
        return await self.desk.approve(Step(notice.guild_id, notice.id, actor, now))


def open_community(world: World) -> Community:
    """A community on the store of a world."""
    hall, zones, surprises = Hall(), TzDatabase(), list[Exception]()
    handbook = builders.handbook()

    def surprised(_: GuildId, surprise: Exception) -> None:
        surprises.append(surprise)

    counting, drawing = Counting(world.units, handbook, zones), Drawing()
    pictures = SeasonPictures(zones, counting, LANGUAGES, drawing, surprised)
    return Community(
        world=world,
        hall=hall,
        drawing=drawing,
        season=Season(world.units, zones, LANGUAGES),
        counting=counting,
        drafts=Drafts(world.units, zones, counting, LANGUAGES, hall, surprised),
        desk=Desk(world.units, zones, hall, pictures),
        check=Check(world.units, hall),
        dispatcher=SeasonDispatcher(world.units, hall, pictures, surprised),
        surprises=surprises,
    )


def trouble(kind: type[DeliveryError], *arguments: object) -> DeliveryError:
    """One of the platform's refusals."""
    return kind(*arguments)
