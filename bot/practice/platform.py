"""The simulated platform, and the only module that touches simcord. Pinned to the version below.

simcord offers no public way to choose ids and the first moment, to lend its scope to work that the bot does by itself,
or to look at raw messages. Each private part used here is named in `check_platform`, which refuses to start when one is
gone, instead of failing somewhere in the middle.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator, Mapping, Sequence
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from inspect import signature
from typing import Any

import discord
from simcord import ChannelHandle, Env, InteractionResult, MemberActor, ResponseMessage, RoleHandle, UserHandle
from simcord.backend import Backend
from simcord.backend.access import channel_accessible
from simcord.backend.errors import BackendError, SetupError
from simcord.backend.models import Channel, Message, Overwrite, User
from simcord.enums import ChannelType, OverwriteType
from simcord.interactions import command_leaves

from bot.practice.errors import PracticeError
from bot.practice.shapes import BOT_NAME, DIRECT, Post, Room, stable_id

SUPPORTED = "3.2.1"
SETTLE_SECONDS = 60.0
IDLE_SECONDS = 0.002
"""How soon it is looked again whether the bot has finished; the library's 50 ms would be felt in every action."""
KEPT = (
    "id",
    "channel_id",
    "author_id",
    "content",
    "timestamp",
    "edited_timestamp",
    "type",
    "flags",
    "components",
    "interaction_metadata",
)
"""Fields of a message that outlive a restart."""
GONE = "That is no longer there. Look at the message again."
_VIEW = discord.Permissions(view_channel=True).value
_LEAD = discord.Permissions(manage_guild=True, manage_messages=True, view_channel=True)


@dataclass(frozen=True, slots=True)
class Reply:
    """What came of an action: perhaps a form to fill in, perhaps no answer at all."""

    answered: bool
    form: Mapping[str, Any] | None = None
    shown: InteractionResult | None = None


def check_platform() -> None:
    """Whether everything private that is used here is where it is expected.

    Raises:
        PracticeError: another version, or a part that is gone.
    """
    found = version("simcord")
    parts = {
        "Env._bot_scope": hasattr(Env, "_bot_scope"),
        "Env._settle_internal": "idle" in signature(Env._settle_internal).parameters,  # noqa: SLF001 - this is the check
        "Clock._epoch": hasattr(Backend().clock, "_epoch"),
        "Message fields": set(KEPT) <= set(Message.__dataclass_fields__),
    }
    missing = [name for name, there in parts.items() if not there]
    if found != SUPPORTED or missing:
        what = f" ({', '.join(missing)} changed)" if missing else ""
        raise PracticeError(f"Practice mode works with simcord {SUPPORTED}; found {found}{what}. Install that version.")


class BriskEnv(Env):
    """The simulated platform, less patient between two looks."""

    async def _settle_internal(
        self,
        *,
        timeout: float | None = None,  # noqa: ASYNC109 - the library's own signature
        idle: float = IDLE_SECONDS,
        dispatch: str | None = None,
        _deadline: float | None = None,
    ) -> None:
        await super()._settle_internal(timeout=timeout, idle=idle, dispatch=dispatch, _deadline=_deadline)


class World:
    """A server with people and rooms, and the bot in it.

    Args:
        client: the bot.
        name: of the server.
        people: name -> whether they lead.
        rooms: its channels.
    """

    def __init__(self, client: discord.Client, name: str, people: Mapping[str, bool], rooms: Sequence[Room]) -> None:
        check_platform()
        self._env = BriskEnv(client, check_errors=False, settle_timeout=SETTLE_SECONDS)
        self._backend = self._env.backend
        self._backend.bot_user.name = BOT_NAME
        self._users = {who: self._user(who) for who in people}
        owner = self._env.create_user("steward")
        self._guild = self._env.create_guild(name, id=stable_id(f"server:{name}"), owner=owner)
        self._leaders = self._guild.create_role("leaders", permissions=_LEAD)
        self._members = {
            who: self._guild.add_member(user, roles=[self._leaders] if people[who] else [])
            for who, user in self._users.items()
        }
        self._rooms = {room.name: self._room(room) for room in rooms}
        self._seen_errors = 0
        self._asked: dict[int, str] = {}

    def _user(self, name: str) -> UserHandle:
        """A person whose id, and whose direct channel's id, are the same in every run."""
        user = User(id=self._backend.reserve_id(stable_id(f"person:{name}")), name=name.lower(), global_name=name)
        self._backend.users[user.id] = user
        self._place(Channel(id=stable_id(f"direct:{name}"), type=ChannelType.DM, recipient_ids=[user.id]))
        self._backend.dm_channels[user.id] = stable_id(f"direct:{name}")
        return UserHandle(self._env, user)

    def _room(self, room: Room) -> ChannelHandle:
        hidden = [
            Overwrite(self._guild.id, OverwriteType.ROLE, deny=_VIEW),
            Overwrite(self._leaders.id, OverwriteType.ROLE, allow=_VIEW),
            Overwrite(self._backend.bot_user.id, OverwriteType.MEMBER, allow=_VIEW),
        ]
        channel = Channel(
            id=stable_id(f"room:{room.name}"),
            type=ChannelType.TEXT,
            name=room.name,
            topic=room.topic,
            guild_id=self._guild.id,
            position=len(self._backend.get_guild(self._guild.id).channel_ids),
            overwrites=hidden if room.leaders_only else [],
        )
        self._place(channel)
        self._backend.get_guild(self._guild.id).channel_ids.append(channel.id)
        return ChannelHandle(self._env, self._guild, channel)

    def _place(self, channel: Channel) -> None:
        self._backend.channels[self._backend.reserve_id(channel.id)] = channel
        self._backend.messages[channel.id] = {}

    @asynccontextmanager
    async def open(self, start: datetime) -> AsyncIterator[World]:
        """The bot signs in at `start`; leaving the block signs it out."""
        self._backend.clock._epoch = start  # noqa: SLF001 - checked above; there is no public way
        await self._env.start()
        try:
            if not self._backend.commands.get(None):
                await self._hand_over_commands()
            yield self
        finally:
            await self._env.shutdown()

    async def _hand_over_commands(self) -> None:
        """This platform forgets the commands when it ends, while the bot remembers that it handed them over."""
        tree = getattr(self._env.bot, "tree", None)
        if tree is not None:
            with self.bot_works():
                await tree.sync()

    @contextmanager
    def bot_works(self) -> Iterator[None]:
        """What runs inside is done by the bot itself, such as a beat: its requests and timers are the platform's."""
        with self._env._bot_scope():  # noqa: SLF001 - checked above; there is no public way
            yield

    def now(self) -> datetime:
        """The moment on the platform, UTC."""
        return self._env.now()

    async def move_to(self, moment: datetime) -> None:
        """Let the platform's time pass until a moment."""
        seconds = (moment - self._env.now()).total_seconds()
        if seconds > 0:
            await self._env.advance_time(seconds)

    async def settle(self) -> None:
        """Wait until the bot has finished what it began."""
        await self._env.settle(idle=IDLE_SECONDS)

    def new_errors(self) -> tuple[BaseException, ...]:
        """What went wrong inside the bot since the last call."""
        found = self._env.errors_since(self._seen_errors)
        self._seen_errors = self._env.error_cursor
        return found

    def person_id(self, who: str) -> int:
        """The platform's id of a person."""
        return self._users[who].id

    def room_ids(self) -> dict[str, int]:
        """The platform's ids of the rooms."""
        return {name: room.id for name, room in self._rooms.items()}

    def rooms_of(self, who: str) -> list[str]:
        """Rooms that a person may enter, their direct one last."""
        me = self._users[who].id
        return [name for name, room in self._rooms.items() if channel_accessible(self._backend, room.id, me)] + [DIRECT]

    def topic(self, room: str) -> str:
        """What a room is for."""
        return "" if room == DIRECT else self._backend.get_channel(self._rooms[room].id).topic or ""

    def names(self) -> Mapping[str, str]:
        """Mentions of people, rooms and the bot -> names."""
        people = {f"@{user.id}": f"@{who}" for who, user in self._users.items()}
        rooms = {f"#{room.id}": f"#{name}" for name, room in self._rooms.items()}
        return {**people, **rooms, f"@{self._backend.bot_user.id}": f"@{BOT_NAME}"}

    def posts(self, who: str, room: str) -> list[Post]:
        """Everything a person sees in a room, oldest first."""
        stored = self._backend.messages.get(self._channel(who, room).id, {})
        me = self._users[who].id
        return [self._post(found) for _, found in sorted(stored.items()) if found.visible_to(me)]

    def count(self, who: str, room: str) -> int:
        """How many messages of others a person sees in a room."""
        return len(self._from_others(who, room))

    def newest(self, who: str, room: str) -> str:
        """Changes whenever a new message of the bot or of somebody else is there to be seen."""
        return str(max(self._from_others(who, room), default=0))

    def _from_others(self, who: str, room: str) -> list[int]:
        me = self._users[who].id
        stored = self._backend.messages.get(self._channel(who, room).id, {})
        return [key for key, found in stored.items() if found.visible_to(me) and found.author_id != me]

    def commands(self, who: str, room: str) -> dict[str, Mapping[str, Any]]:
        """Commands that a person may use in a room: their words -> the definition as the platform has it."""
        visible = self._backend.visible_commands(user_id=self._users[who].id, channel_id=self._channel(who, room).id)
        return {" ".join(path): leaf for command in visible for path, leaf in command_leaves(command)}

    def handles(self) -> dict[str, MemberActor | ChannelHandle | RoleHandle]:
        """People, rooms and roles by what they are called, for options and pickers that ask for one."""
        people = {f"@{who}": member for who, member in self._members.items()}
        return {**people, **{f"#{name}": room for name, room in self._rooms.items()}, "leaders": self._leaders}

    def picture(self, address: str) -> bytes | None:
        """A file that the bot attached."""
        return self._backend.cdn.get(address)

    async def say(self, who: str, room: str, text: str) -> None:
        """Write a plain message."""
        if room == DIRECT:
            await self._users[who].send_dm(text)
        else:
            await self._members[who].send(self._rooms[room], text)

    async def command(self, who: str, room: str, name: str, options: Mapping[str, Any]) -> Reply:
        """Use a command."""
        with _plainly("This command cannot be used here."):
            if room == DIRECT:
                result = await self._users[who].slash(name, **options)
            else:
                result = await self._members[who].slash(self._rooms[room], name, **options)
            answers = [answer for answer in (result.response, *result.followups) if answer is not None]
            self._asked.update({answer.id: name for answer in answers})
            return _reply(result)

    async def suggest(
        self, who: str, room: str, name: str, option: str, typed: str, filled: Mapping[str, Any]
    ) -> list[Mapping[str, Any]]:
        """What the bot offers while an option is typed: choices with `name` and `value`."""
        with _plainly("There are no suggestions for this."):
            if room == DIRECT:
                return [*await self._users[who].autocomplete(name, option, typed, **filled)]
            return [*await self._members[who].autocomplete(self._rooms[room], name, option, typed, **filled)]

    async def press(self, who: str, room: str, post: int, button: str) -> Reply:
        """Press a button of a message."""
        with _plainly(GONE):
            return _reply(await self._actor(who, room).click(self._message(who, room, post), custom_id=button))

    async def choose(self, who: str, room: str, post: int, menu: str, values: Sequence[Any]) -> Reply:
        """Choose from a picker of a message."""
        with _plainly(GONE):
            message = self._message(who, room, post)
            return _reply(await self._actor(who, room).select(message, values, custom_id=menu))

    async def fill(self, who: str, room: str, shown: InteractionResult, values: Mapping[str, Any]) -> Reply:
        """Hand in a form."""
        with _plainly("This form cannot be handed in like that. Open it again."):
            return _reply(await self._actor(who, room).submit_modal(shown, dict(values)))

    def _actor(self, who: str, room: str) -> UserHandle | MemberActor:
        return self._users[who] if room == DIRECT else self._members[who]

    def _channel(self, who: str, room: str) -> ChannelHandle:
        return self._users[who].dm_channel if room == DIRECT else self._rooms[room]

    def _message(self, who: str, room: str, post: int) -> ResponseMessage:
        return ResponseMessage(self._env, self._backend.get_message(self._channel(who, room).id, post))

    def _post(self, found: Message) -> Post:
        author = self._backend.get_user(found.author_id)
        return Post(
            id=found.id,
            author=author.global_name or author.name,
            by_bot=author.bot,
            at=datetime.fromisoformat(found.timestamp),
            private=found.is_ephemeral,
            asked=self._asked.get(found.id) or (found.interaction_metadata or {}).get("name"),
            text=found.content,
            parts=found.components,
        )

    def dump(self) -> list[dict[str, Any]]:
        """All messages that outlive a restart, as JSON values; private answers do not, as on any platform."""
        return [
            {name: getattr(found, name) for name in KEPT}
            for stored in self._backend.messages.values()
            for found in stored.values()
            if not found.is_ephemeral
        ]

    def restore(self, messages: Sequence[Mapping[str, Any]]) -> None:
        """Bring back messages from `dump`; those of rooms that are gone are left out."""
        for fields in messages:
            if fields["channel_id"] in self._backend.messages:
                found = Message(**{name: fields[name] for name in KEPT})
                self._backend.messages[found.channel_id][self._backend.reserve_id(found.id)] = found


def _reply(result: InteractionResult) -> Reply:
    return Reply(result.acknowledged, result.modal, result)


@contextmanager
def _plainly(sentence: str) -> Iterator[None]:
    """Say what the simulated platform refuses in a sentence of ours."""
    try:
        yield
    except (SetupError, BackendError) as refused:
        raise PracticeError(sentence) from refused
    except TimeoutError as slow:
        raise PracticeError("The bot did not finish within a minute. Try again.") from slow
