"""A community on the simulated platform: moderators, a helper with a named role, members with colonies, channels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import discord
from simcord.actors import MemberActor
from simcord.builders import ChannelHandle, GuildHandle, RoleHandle
from simcord.results import InteractionResult, ResponseMessage

from bot.adapters.pictures.season import draw_season
from bot.care.colony import Colony
from bot.services.keepers import PlaceChanges
from bot.services.records import KeeperId
from bot.services.season_posting import SeasonDispatcher
from bot.services.season_records import GuildId, Notice
from tests.chat.world import ChatWorld, Shown, buttons, parts

MANAGES = discord.Permissions(manage_guild=True, view_channel=True, send_messages=True)


@dataclass
class Town:
    """One server with its people."""

    world: ChatWorld
    guild: GuildHandle
    news: ChannelHandle
    backroom: ChannelHandle
    mara: MemberActor
    nils: MemberActor
    """Both manage the server."""
    hedy: MemberActor
    """Has the role that may lead."""
    mila: MemberActor
    """A member like any other."""
    leaders: RoleHandle
    keepers: RoleHandle
    surprises: list[Exception] = field(default_factory=list)

    @property
    def id(self) -> GuildId:
        return GuildId(self.guild.id)

    async def set_up(self, **options: Any) -> InteractionResult:
        """Set up by Mara, for Vienna."""
        usual = {
            "channel": self.news,
            "zone": "Europe/Vienna",
            "role": self.keepers,
            "moderators_channel": self.backroom,
            "leader_role": self.leaders,
        }
        return await self.by(self.mara, "setup", **{**usual, **options})

    async def desk(self, stage: str, half: str | None = None, who: MemberActor | None = None) -> ResponseMessage:
        """The notice of a stage on the desk."""
        options = {"stage": stage} if half is None else {"stage": stage, "members_in": half}
        shown = await self.by(who or self.mara, "draft", **options)
        assert shown.response is not None
        return shown.response

    async def by(self, who: MemberActor, command: str, **options: Any) -> InteractionResult:
        """A `/season` command in the moderators' channel, or the notices' for those who cannot see it."""
        return await who.slash(self.news, f"season {command}", **options)

    async def at(self, moment: datetime) -> int:
        """What the bot does by itself at a moment; returns how many notices appeared."""
        self.world.clock.moment = moment
        client, services = self.world.client, self.world.services
        dispatcher = SeasonDispatcher(
            services.units,
            client.hall,
            client.season_acts.pictures,
            lambda _, surprise: self.surprises.append(surprise),
        )
        with self.world.env._bot_scope():
            await client.season_acts.drafts.draft_due(moment)
            posted = await dispatcher.post_due(moment)
        await self.world.env.settle()
        assert not self.surprises, self.surprises
        return posted

    async def through(self, start: datetime, days: int) -> dict[str, datetime]:
        """Approve every draft and walk week by week, stopping when one is due; when each appeared, by heading."""
        seen: dict[str, datetime] = {}
        moment = start
        while moment < start + timedelta(days=days):
            before = len(self.posted())
            await self.at(moment)
            for message in self.posted()[before:]:
                seen[heading(message)] = moment
            for notice in await self.notices():
                if notice.state.value == "draft":
                    await self.mara.click(await self.desk(notice.stage.value, notice.half.value), label="Approve")
            async with self.world.services.units() as work:
                due = await work.seasons.next_due()
            moment = min(moment + timedelta(days=7), due or datetime.max.replace(tzinfo=UTC))
        return seen

    async def notices(self) -> Sequence[Notice]:
        """As stored."""
        return await self.world.client.season_acts.desk_cases.list(self.id)

    def posted(self) -> list[discord.Message]:
        """Notices in the channel."""
        return [message for message in self.news.history() if any("wb:sn:" in name for name in buttons(message))]

    def told(self) -> list[discord.Message]:
        """What moderators were told."""
        return [message for message in self.backroom.history() if message.author.bot]

    async def join(
        self, count: int, *, zone: str = "Europe/Vienna", species: str = "Lasius niger", first: int = 1
    ) -> None:
        """Members with a colony each, known since last year, who agree to be counted."""
        now = self.world.clock.moment - timedelta(days=200)
        services, season = self.world.services, self.world.client.season_acts.season
        for number in range(first, first + count):
            keeper_id = KeeperId(10_000 + number)
            await services.keepers.set_place(keeper_id, PlaceChanges(zone_name=zone, temperature_c=24), now)
            kept = Colony(key="", name=f"C{number}", species=species, workers=50)
            await services.colonies.add(keeper_id, kept, now)
            await season.agree(self.id, keeper_id, counted=True, helped=None, now=now)


def open_town(world: ChatWorld, name: str = "The Burrow") -> Town:
    """A server with everybody in it."""
    env = world.env
    guild = env.create_guild(name)
    chiefs = guild.create_role("chiefs", permissions=MANAGES)
    leaders = guild.create_role("season team")
    keepers = guild.create_role("keepers", mentionable=True)

    def person(who: str, *roles: RoleHandle) -> MemberActor:
        return guild.add_member(env.create_user(f"{who}-{guild.id}"), roles=roles)

    return Town(
        world=world,
        guild=guild,
        news=guild.create_text_channel("season-news"),
        backroom=guild.create_text_channel("backroom"),
        mara=person("mara", chiefs),
        nils=person("nils", chiefs),
        hedy=person("hedy", leaders),
        mila=person("mila"),
        leaders=leaders,
        keepers=keepers,
    )


def draw_pictures(town: Town) -> None:
    """Let the bot draw the community's weeks; without it there are words only."""
    chat = town.world.client.season_acts
    chat.pictures = replace(chat.pictures, draw=draw_season)
    chat.desk_cases = replace(chat.desk_cases, pictures=chat.pictures)


def gallery(message: Shown) -> dict[str, Any] | None:
    """The picture inside a message, as the platform stores it."""
    return next((part for part in parts(message) if part.get("type") == 12), None)


def heading(message: discord.Message) -> str:
    """The heading of a notice."""
    for part in _texts(message):
        for line in part.splitlines():
            if line.startswith("### "):
                return line.removeprefix("### ")
    raise AssertionError("no heading")


def _texts(message: discord.Message) -> list[str]:
    return [part["content"] for part in parts(message) if "content" in part]


def on_day(year: int, month: int, day: int, hour: int = 16) -> datetime:
    """A moment of a test; 16:00 UTC is 18:00 in Vienna in summer."""
    return datetime(year, month, day, hour, 0, tzinfo=UTC)
