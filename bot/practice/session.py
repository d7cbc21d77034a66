"""What a visitor can do, one thing at a time: look as somebody, use commands, press, fill in, move the clock."""

from __future__ import annotations

import asyncio
import itertools
from collections.abc import AsyncIterator, Callable, Iterator, Mapping, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo
from typing import Any

from bot.app import Core
from bot.practice import inputs, view
from bot.practice.clock import PracticeClock
from bot.practice.errors import PracticeError
from bot.practice.platform import Reply, World
from bot.practice.shapes import DIRECT
from bot.practice.stepping import Stepper
from bot.practice.text import Reading, distance_said
from bot.services.records import KeeperId
from bot.services.rounds import Rounds

ACTION = timedelta(seconds=5)
"""How much time an action takes; the bot counts actions by its clock, as it does with people."""
LONGEST_STEP = timedelta(days=31)
LONGEST_WAIT = timedelta(days=120)
LONGEST_TEXT = 2000


@dataclass(frozen=True, slots=True)
class Seat:
    """Somebody in a room."""

    who: str
    room: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an action brought: a word for the visitor, or a form to fill in."""

    note: str | None = None
    form: Mapping[str, Any] | None = None


@dataclass(slots=True)
class Practice:
    """The bot, its simulated platform and its clock, behind one lock."""

    core: Core
    world: World
    clock: PracticeClock
    rounds: Rounds
    name: str
    people: Mapping[str, bool]
    zone: tzinfo
    save: Callable[[datetime, Sequence[dict[str, Any]]], None]
    _lock: asyncio.Lock = field(default_factory=asyncio.Lock)
    _forms: dict[str, tuple[Seat, Reply, Mapping[str, Any]]] = field(default_factory=dict)
    _numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def seat(self, who: str, room: str) -> Seat:
        """A seat that exists and that this person may take.

        Raises:
            PracticeError: nobody of that name, or no such room for them.
        """
        if who not in self.people:
            raise PracticeError(f"Nobody here is called “{who[:40]}”; there are {', '.join(self.people)}.")
        if room not in self.world.rooms_of(who):
            raise PracticeError(f"{who} has no room called “{room[:40]}”.")
        return Seat(who, room)

    def first_seat(self) -> Seat:
        """Where a visitor begins."""
        return Seat(next(iter(self.people)), DIRECT)

    async def look(self, seat: Seat) -> dict[str, Any]:
        """Everything that the page shows."""
        reading = await self._reading(seat)
        local = self.clock.now().astimezone(reading.zone)
        wake = await self.rounds.next_due()
        return {
            "server": self.name,
            "day": f"{local:%A} {local.day} {local:%B %Y}",
            "time": f"{local:%H:%M}",
            "zone": str(reading.zone),
            "wake": None if wake is None else distance_said((wake - self.clock.now()).total_seconds()),
            "who": seat.who,
            "room": seat.room,
            "people": [
                {
                    "name": who,
                    "leads": leads,
                    "newest": self.world.newest(who, DIRECT),
                    "rooms": self.world.rooms_of(who),
                }
                for who, leads in self.people.items()
            ],
            "rooms": [
                {"key": room, "topic": self.world.topic(room), "newest": self.world.newest(seat.who, room)}
                for room in self.world.rooms_of(seat.who)
            ],
            "messages": [view.message(post, reading) for post in self.world.posts(seat.who, seat.room)],
        }

    def commands(self, seat: Seat) -> list[dict[str, Any]]:
        """Commands that may be used from a seat."""
        found = self.world.commands(seat.who, seat.room)
        return [inputs.describe(name, definition) for name, definition in sorted(found.items())]

    async def _reading(self, seat: Seat) -> Reading:
        keeper = await self.core.keepers.find(KeeperId(self.world.person_id(seat.who)))
        zone = self.zone if keeper is None else keeper.settings.zone
        return Reading(names=self.world.names(), now=self.clock.now(), zone=zone)

    async def say(self, seat: Seat, text: str) -> Outcome:
        """Write a plain message."""
        if not text.strip() or len(text) > LONGEST_TEXT:
            raise PracticeError(
                f"Write something of at most {LONGEST_TEXT} characters, or a command that begins with /."
            )
        async with self._acting():
            await self.world.say(seat.who, seat.room, text)
        return Outcome()

    async def command(self, seat: Seat, name: str, typed: Mapping[str, Any]) -> Outcome:
        """Use a command with what was typed into its options."""
        definition = self._definition(seat, name)
        options = inputs.read_options(definition, typed, self.world.handles())
        async with self._acting():
            return await self._outcome(seat, await self.world.command(seat.who, seat.room, name, options))

    async def suggest(
        self, seat: Seat, name: str, option: str, typed: str, others: Mapping[str, Any]
    ) -> list[dict[str, str]]:
        """What the bot offers while an option is typed; takes no time."""
        definition = self._definition(seat, name)
        filled = {key: value for key, value in others.items() if key != option and value}
        known = {
            entry["name"]: inputs.read_option(entry, str(filled[entry["name"]]), self.world.handles())
            for entry in definition.get("options") or ()
            if entry["name"] in filled and inputs.KINDS.get(entry["type"]) == "text" and not entry.get("choices")
        }
        async with self._lock:
            found = await self.world.suggest(seat.who, seat.room, name, option, typed[:100], known)
        return [{"name": str(choice["name"]), "value": str(choice["value"])} for choice in found]

    async def press(self, seat: Seat, post: int, button: str) -> Outcome:
        """Press a button."""
        async with self._acting():
            return await self._outcome(seat, await self.world.press(seat.who, seat.room, post, button))

    async def choose(self, seat: Seat, post: int, menu: str, values: Sequence[str]) -> Outcome:
        """Choose from a picker."""
        if not values:
            raise PracticeError("Choose something first.")
        handles = self.world.handles()
        chosen = [handles.get(value, value) for value in values]
        async with self._acting():
            return await self._outcome(seat, await self.world.choose(seat.who, seat.room, post, menu, chosen))

    async def fill(self, seat: Seat, number: str, typed: Mapping[str, Any]) -> Outcome:
        """Hand in a form; it stays open when something in it cannot be."""
        if number not in self._forms or self._forms[number][0] != seat:
            raise PracticeError("This form was handed in already, or belongs to somebody else. Open it again.")
        _, reply, drawn = self._forms[number]
        values = inputs.read_form(drawn, typed, self.world.handles())
        async with self._acting():
            if reply.shown is None:
                raise PracticeError("This form is closed. Open it again.")
            done = await self.world.fill(seat.who, seat.room, reply.shown, values)
            del self._forms[number]
            return await self._outcome(seat, done)

    async def move(self, seconds: float) -> Outcome:
        """Let time pass; reminders arrive at their own moments."""
        if not 0 < seconds <= LONGEST_STEP.total_seconds():
            raise PracticeError(f"Time moves forward only, by at most {LONGEST_STEP.days} days at once.")
        async with self._changing():
            before = self._inboxes()
            await self._stepper().step_to(self.clock.now() + timedelta(seconds=seconds))
            return Outcome(note=self._arrived(before) or "No reminder was due in that time.")

    async def move_to_reminder(self, seat: Seat) -> Outcome:
        """Let time pass until a reminder arrives: one of this keeper's, or anybody's for those who keep no ants."""
        keeper = await self.core.keepers.find(KeeperId(self.world.person_id(seat.who)))
        watched = [seat.who] if keeper is not None else [*self.people]
        async with self._changing():
            before = self._inboxes()

            def enough() -> bool:
                after = self._inboxes()
                return any(after[who] != before[who] for who in watched)

            await self._stepper().step_to(self.clock.now() + LONGEST_WAIT, enough)
            told = self._arrived(before)
            return Outcome(note=told or f"No reminder is planned within {LONGEST_WAIT.days} days.")

    def picture(self, address: str) -> bytes | None:
        """A picture that the bot made."""
        return self.world.picture(address)

    @asynccontextmanager
    async def _changing(self) -> AsyncIterator[None]:
        async with self._lock:
            yield
            self.save(self.clock.now(), self.world.dump())

    @asynccontextmanager
    async def _acting(self) -> AsyncIterator[None]:
        async with self._changing():
            await self._stepper().step_to(self.clock.now() + ACTION)
            yield
            self.clock.move_to(self.world.now())

    def _stepper(self) -> Stepper:
        return Stepper(self.clock, self.rounds.next_due, self.beat)

    async def beat(self, moment: datetime) -> None:
        """Move clock and platform to a moment, and let the bot serve what is due there."""
        await self.world.move_to(moment)
        self.clock.move_to(moment)
        with self.world.bot_works():
            await self.rounds.beat(moment)
        await self.world.settle()

    async def step_to(self, moment: datetime) -> None:
        """Let time pass up to a moment."""
        async with self._changing():
            await self._stepper().step_to(moment)

    def _inboxes(self) -> dict[str, int]:
        return {who: self.world.count(who, DIRECT) for who in self.people}

    def _arrived(self, before: Mapping[str, int]) -> str | None:
        after = self._inboxes()
        got = [f"{who} {after[who] - before[who]}" for who in self.people if after[who] > before[who]]
        return f"Direct messages arrived: {', '.join(got)}." if got else None

    def _definition(self, seat: Seat, name: str) -> Mapping[str, Any]:
        found = self.world.commands(seat.who, seat.room)
        if name not in found:
            family = name.partition(" ")[0]
            near = [known for known in sorted(found) if known.startswith(family)] or sorted(found)
            listed = ", ".join(f"/{known}" for known in near[:12])
            raise PracticeError(f"There is no command “/{name[:40]}” here; there are: {listed}.")
        return found[name]

    async def _outcome(self, seat: Seat, reply: Reply) -> Outcome:
        if reply.form is None:
            return Outcome(note=None if reply.answered else "The bot gave no answer; the terminal may say why.")
        number = str(next(self._numbers))
        drawn = view.form(reply.form, number, await self._reading(seat))
        self._forms[number] = (seat, reply, drawn)
        return Outcome(form=drawn)
