"""The real client on the simulated platform, with the real store and handbook and a clock that tests move."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Iterable, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import discord
from simcord.actors import MemberActor
from simcord.builders import ChannelHandle
from simcord.components import walk_components
from simcord.env import Env
from simcord.results import InteractionResult, ResponseMessage

from bot.adapters.calendar_file import calendar_file
from bot.adapters.chat.client import ChatClient
from bot.adapters.chat.services import ChatServices
from bot.adapters.handbook.season_words import load_languages
from bot.adapters.logger_files.reader import read_logger_file
from bot.adapters.pictures.drawings import ColonyAlbum, LightDrawings
from bot.adapters.store.engine import open_engine
from bot.adapters.store.own_data import own_data_unit_maker
from bot.adapters.store.unit_of_work import unit_of_work_maker
from bot.adapters.zones import TzDatabase
from bot.care.duty import Duty
from bot.care.handbook import Handbook
from bot.services.acknowledgement import Acknowledgement
from bot.services.calendars import Calendars
from bot.services.care_views import CareViews
from bot.services.colonies import Colonies
from bot.services.colony_pictures import ColonyPictures
from bot.services.delivery import Dispatcher
from bot.services.history import History
from bot.services.keepers import Keepers
from bot.services.loggers import Loggers
from bot.services.own_data import OwnDataUseCases
from bot.services.planner import Planner
from bot.services.records import ColonyId, KeeperId
from bot.services.rest import Rest
from bot.services.tally import Tally
from tests.shelf import guide

START = datetime(2027, 6, 1, 6, 0, tzinfo=UTC)
"""A Tuesday morning in summer, 08:00 in Vienna."""
ZONE = "Europe/Vienna"
CONFIG = Path(__file__).parents[2] / "config"
Shown = InteractionResult | ResponseMessage | discord.Message


@dataclass
class MovableClock:
    """A clock that stands until it is moved; each look takes two seconds, as people do between two presses."""

    moment: datetime = START

    def now(self) -> datetime:
        self.moment += timedelta(seconds=2)
        return self.moment

    def move(self, **by: float) -> None:
        self.moment += timedelta(**by)


@dataclass
class ChatWorld:
    """Everything a test acts with. Ada and Bela are members of one community."""

    env: Env
    services: ChatServices
    clock: MovableClock
    planner: Planner
    ada: MemberActor
    bela: MemberActor
    hall: ChannelHandle
    surprises: list[Exception] = field(default_factory=list)

    @property
    def client(self) -> ChatClient:
        client = self.env.bot
        assert isinstance(client, ChatClient)
        return client

    async def settle_in(self, who: MemberActor | None = None) -> None:
        """Give a place."""
        await self.slash("my place", who, zone=ZONE, temperature=24, humidity=50)

    async def slash(self, command: str, who: MemberActor | None = None, /, **options: Any) -> InteractionResult:
        """A command in the hall."""
        return await (who or self.ada).slash(self.hall, command, **options)

    async def register(self, name: str = "Dusk", **options: Any) -> InteractionResult:
        """A colony with a nest that is watered."""
        usual = {"species": "Lasius niger", "workers": 80, "material": "aerated-concrete", "water_ml": 60.0}
        return await self.slash("colony add", name=name, **{**usual, **options})

    async def beat(self) -> Tally:
        """One beat of the dispatcher, inside the bot; the platform's own clock moves on a little."""
        await self.env.advance_time(5)
        dispatcher = Dispatcher(
            self.services.units,
            self.client.messenger,
            self.planner,
            self.services.handbook,
            lambda _, surprise: self.surprises.append(surprise),
        )
        with self.env._bot_scope():
            tally = await dispatcher.deliver_due(self.clock.now())
        await self.env.settle()
        return tally

    async def reminder(self, who: MemberActor | None = None, days: int = 30) -> discord.Message:
        """Move on, moment by moment, until a reminder arrives; returns it."""
        member = who or self.ada
        before = len(self.inbox(member))
        end = self.clock.moment + timedelta(days=days)
        while self.clock.moment < end:
            async with self.services.units() as work:
                wake = await work.keepers.next_wake()
            assert wake is not None, "nothing is planned"
            self.clock.moment = max(self.clock.moment, wake)
            await self.beat()
            assert not self.surprises, self.surprises
            if len(self.inbox(member)) > before:
                return self.inbox(member)[-1]
        raise AssertionError("no reminder came")

    def inbox(self, who: MemberActor | None = None) -> list[discord.Message]:
        """Direct messages of the bot, oldest first."""
        user = (who or self.ada).user
        if user.id not in self.env.backend.dm_channels:
            return []
        return list(user.dm_channel.history())

    def reminders(self, who: MemberActor | None = None) -> list[discord.Message]:
        """Direct messages that ask for something, without the greeting."""
        return [message for message in self.inbox(who) if message.components and set(buttons(message)) - {"wb:due"}]

    async def next_day(self, duty: Duty) -> date:
        """When a duty of Ada's first colony is due next."""
        found = await self.services.care_views.why(await self.keeper_id(), ColonyId(1), duty, self.clock.now())
        assert found.occurrence is not None, found.no_reason
        return found.occurrence.day

    async def restart(self) -> None:
        """The process ends and another begins on the same store."""
        await self.env.restart_bot(ChatClient(self.services, shard_count=1))

    async def keeper_id(self) -> KeeperId:
        return KeeperId(self.ada.id)


def text(shown: Shown) -> str:
    """All text a person sees: the answer and what followed it."""
    return "\n".join(_texts(shown))


def _texts(shown: Shown) -> Iterator[str]:
    if isinstance(shown, InteractionResult):
        for message in [shown.response, *shown.followups]:
            if message is not None:
                yield from _texts(message)
        return
    for part in parts(shown):
        if "content" in part:
            yield part["content"]


def last(shown: InteractionResult) -> ResponseMessage:
    """The last message of an answer with words: the one with the buttons, when cautions went ahead."""
    found = [message for message in (shown.response, *shown.followups) if message is not None]
    return next(message for message in reversed(found) if not _picture(message))


def _picture(message: ResponseMessage) -> bool:
    return bool(message.components) and all(part["type"] == 12 for part in message.components)


def parts(shown: Shown) -> Iterable[dict[str, Any]]:
    """All components of a message, nested ones included."""
    if isinstance(shown, InteractionResult):
        return parts(last(shown))
    if isinstance(shown, discord.Message):
        return walk_components([component.to_dict() for component in shown.components])
    return walk_components(shown.components)


def buttons(shown: Shown) -> dict[str, str]:
    """Identifier -> label of all buttons."""
    return {part["custom_id"]: part["label"] for part in parts(shown) if part.get("type") == 2}


def button(shown: Shown, act: str, occurrence: str | None = None) -> str:
    """The identifier of the first button of an act, or of one line's."""
    for identifier in buttons(shown):
        pieces = identifier.split(":")
        if pieces[1] == "a" and pieces[2] == act and occurrence in {None, pieces[3]}:
            return identifier
    raise AssertionError(f"no {act} among {list(buttons(shown))}")


def line_of(shown: Shown, word: str) -> str:
    """The occurrence whose text begins with a duty's name."""
    last = ""
    for part in parts(shown):
        if "content" in part:
            last = part["content"]
        elif part.get("custom_id", "").startswith("wb:a:") and f"**{word}**" in last:
            return str(part["custom_id"].split(":")[3])
    raise AssertionError(f"no line about {word}")


@asynccontextmanager
async def open_world(folder: Path, template: Path, handbook: Handbook, zones: TzDatabase) -> AsyncIterator[ChatWorld]:
    """A world on a fresh database. Errors that a test expects are read from `env.errors`."""
    file = folder / "store.sqlite3"
    shutil.copyfile(template, file)
    engine, clock = open_engine(f"sqlite+aiosqlite:///{file}"), MovableClock()
    units, planner = unit_of_work_maker(engine, zones), Planner(handbook)
    colonies = Colonies(units, planner, handbook)
    services = ChatServices(
        keepers=Keepers(units, planner, zones),
        colonies=colonies,
        acknowledgement=Acknowledgement(units, planner),
        care_views=CareViews(units, handbook),
        rest=Rest(units, colonies, handbook),
        history=History(units, planner, handbook),
        loggers=Loggers(units, planner, handbook, read_logger_file),
        pictures=ColonyPictures(units, handbook, LightDrawings(handbook)),
        calendars=Calendars(units, handbook, calendar_file),
        own_data=OwnDataUseCases(own_data_unit_maker(engine, zones), planner, handbook, zones, ColonyAlbum(handbook)),
        handbook=handbook,
        languages=load_languages(handbook, CONFIG),
        guide=guide,
        zones=zones,
        clock=clock,
        units=units,
    )
    env = Env(ChatClient(services, shard_count=1), settle_timeout=20)
    await env.start()
    try:
        yield _people(env, services, clock, planner)
    finally:
        await env.shutdown()
        await engine.dispose()
    env._raise_errors_since(env._errors_acknowledged)


def _people(env: Env, services: ChatServices, clock: MovableClock, planner: Planner) -> ChatWorld:
    guild = env.create_guild("Formicarium Hall")
    return ChatWorld(
        env=env,
        services=services,
        clock=clock,
        planner=planner,
        ada=guild.add_member(env.create_user("ada")),
        bela=guild.add_member(env.create_user("bela")),
        hall=guild.create_text_channel("hall"),
    )
