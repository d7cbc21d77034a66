"""Forms of the season: a notice's text, its day and hour, and a member's winter rest."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Self

import discord
from discord import ui

from bot.adapters.chat.contact import Contact, pressed
from bot.adapters.chat.describing import read_number
from bot.adapters.chat.presenters.text import short
from bot.adapters.chat.reading import read_day
from bot.care.units import Units, celsius
from bot.services.rest import RestChanges, RestView
from bot.services.season_desk import LONGEST_TEXT, NoticeView

FORM_SECONDS = 900
TITLE = 45
PLACES = ("unheated room", "cellar", "fridge", "outdoors")


class TextForm(ui.Modal):
    """The editable text of a notice."""

    def __init__(self, text: str, done: Callable[[Contact, str], Awaitable[None]]) -> None:
        super().__init__(title="Text of the notice", timeout=FORM_SECONDS)
        self._done = done
        self.text = ui.TextInput[Self](
            style=discord.TextStyle.paragraph, default=text, max_length=LONGEST_TEXT, required=True
        )
        said = "Cautions and figures stand outside the text and stay as they are"
        self.add_item(ui.Label(text="Text", description=said, component=self.text))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Keep the words."""

        async def work(contact: Contact) -> None:
            await self._done(contact, self.text.value)

        await pressed(interaction, work)


class WhenForm(ui.Modal):
    """Day and hour of a notice, on the wall of the community's zone."""

    def __init__(self, view: NoticeView, done: Callable[[Contact, str, str], Awaitable[None]]) -> None:
        super().__init__(title="When shall it be posted?", timeout=FORM_SECONDS)
        self._done = done
        notice = view.notice
        self.day = ui.TextInput[Self](default=notice.post_day.isoformat(), max_length=30, required=True)
        self.hour = ui.TextInput[Self](default=f"{notice.post_wall:%H:%M}", max_length=10, required=True)
        self.add_item(ui.Label(text="Day", description="2027-10-05, tomorrow, in 3 days", component=self.day))
        zone = short(f"18:30, in {view.setup.zone_name}", 100)
        self.add_item(ui.Label(text="Hour", description=zone, component=self.hour))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Move it."""

        async def work(contact: Contact) -> None:
            await self._done(contact, self.day.value, self.hour.value)

        await pressed(interaction, work)


class RestForm(ui.Modal):
    """When and where a colony rests."""

    def __init__(self, view: RestView, done: Callable[[Contact, RestChanges], Awaitable[None]]) -> None:
        super().__init__(title=short(f"Winter rest of {view.colony.colony.name}", TITLE), timeout=FORM_SECONDS)
        self._done, self._view = done, view
        wishes = view.colony.colony.rest
        start = "" if wishes.start is None else wishes.start.isoformat()
        self.start = ui.TextInput[Self](default=start, max_length=30, required=False)
        weeks = "" if wishes.weeks is None else f"{wishes.weeks:g}"
        self.weeks = ui.TextInput[Self](default=weeks, max_length=6, required=False)
        options = [discord.SelectOption(label=place, default=place == wishes.place) for place in PLACES]
        self.place = ui.Select[Self](options=options, required=False, placeholder="Where it rests")
        self.low = ui.TextInput[Self](required=False, max_length=8)
        self.high = ui.TextInput[Self](required=False, max_length=8)
        scale = f"in °{view.units.value}, measured there"
        for text, description, field in (
            ("First day of the wind-down", "Such as 2027-10-15; empty: I go by your place", self.start),
            ("Weeks in the cold", "Empty: as usual for the species", self.weeks),
            ("Place", "Where it will rest", self.place),
            ("Coldest there", scale, self.low),
            ("Warmest there", scale, self.high),
        ):
            self.add_item(ui.Label(text=text, description=description, component=field))

    async def on_submit(self, interaction: discord.Interaction, /) -> None:
        """Keep what was said."""

        async def work(contact: Contact) -> None:
            await self._done(contact, self._changes())

        await pressed(interaction, work)

    def _changes(self) -> RestChanges:
        units = self._view.units
        start = self.start.value.strip()
        return RestChanges(
            start=read_day(start, self._view.today) if start else None,
            weeks=read_number("weeks", self.weeks.value),
            place=self.place.values[0] if self.place.values else None,
            place_low_c=_degrees(self.low.value, units),
            place_high_c=_degrees(self.high.value, units),
        )


def _degrees(text: str, units: Units) -> float | None:
    value = read_number("temperature", text)
    return None if value is None else celsius(value, units)
