"""A keeper's place and reminders as text; what nobody said is shown as what I count on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import day_said, joined, shown
from bot.adapters.chat.presenters.words import DUTY
from bot.care.cautions import Caution
from bot.care.duty import Duty
from bot.care.handbook import Handbook
from bot.care.place import Keeper, Place
from bot.care.situation import DEFAULT_ROOM_C
from bot.care.units import Units, say_temperature
from bot.services.records import Door, KeeperRecord

FIRST_STEP = "`/colony add` registers a colony; everything else follows from there."


def place_page(keeper: KeeperRecord, handbook: Handbook, *, colonies: int) -> Page:
    """Where the keeper is, and what their room is like."""
    lines = [*_where(keeper.settings, handbook), *_room(keeper.places[0], keeper.settings.units)]
    return Page(title="Your place", blocks=("\n".join(lines), *(() if colonies else (FIRST_STEP,))))


def _where(settings: Keeper, handbook: Handbook) -> list[str]:
    country = handbook.countries.get(settings.country or "")
    named = (
        country.name if country else (shown(settings.country) if settings.country else "not known; say it, for rules")
    )
    return [
        f"**Time zone** {settings.zone_name}",
        f"**Latitude** {_latitude(settings)}",
        f"**Country** {named}",
    ]


def _latitude(settings: Keeper) -> str:
    if settings.latitude is None:
        return "not known; say it, else I cannot date a winter rest"
    tropics = ", between the tropics" if settings.tropical else ""
    return f"{abs(settings.latitude):.1f}° {settings.hemisphere}{tropics}"


def _room(place: Place, units: Units) -> list[str]:
    if place.temperature_c is None:
        room = f"not said; I count on {say_temperature(DEFAULT_ROOM_C, units)}"
    else:
        room = say_temperature(place.temperature_c, units)
    winter = place.winter_temperature_c
    humid = place.humidity_percent
    return [
        f"**Room** {room}" + ("" if winter is None else f", in winter {say_temperature(winter, units)}"),
        f"**Air** {'humidity not said; I count on ordinary room air' if humid is None else f'{humid:.0f} % humidity'}",
        f"**Temperatures in** °{units.value}",
    ]


def reminders_page(keeper: KeeperRecord, today: date) -> Page:
    """When reminders come, or why they do not."""
    settings = keeper.settings
    quiet = settings.quiet
    hours = "none" if quiet.start == quiet.end else f"{quiet.start:%H:%M} to {quiet.end:%H:%M}"
    lines = [
        f"**Reminders** {_state(keeper)}",
        f"**Hour** {settings.digest_at:%H:%M} in {settings.zone_name}; water that cannot wait comes earlier",
        f"**Quiet hours** {hours}; what falls inside comes afterwards, nothing is dropped",
        f"**Small notes** {'muted' if keeper.mute_notes else 'shown'}; dangers and warnings always are",
    ]
    if keeper.away_until is not None and keeper.away_until > today:
        lines.append(f"**Away** until {day_said(keeper.away_until)}; water is reminded of all the same")
    return Page(title="Your reminders", blocks=("\n".join(lines),))


def _state(keeper: KeeperRecord) -> str:
    if not keeper.reminders_on:
        return "off; nothing is reminded of, not even water"
    if keeper.door is Door.REFUSED:
        return "on, but your direct messages are closed to me; `/season share` may let me write in a thread instead"
    return "on, by direct message, at most one a day and one more for what cannot wait"


def greeting_page(
    keeper: KeeperRecord, colony: str = "", today: Sequence[Duty] = (), dangers: tuple[Caution, ...] = ()
) -> Page:
    """The first direct message, which shows that the door is open, with the care of a first colony that is due today.

    Dangers of that care come first; how, why and with which other cautions stands behind the button under it.
    """
    waits = f"**Today {shown(colony)} needs** {joined([DUTY[duty] for duty in today])}."
    return Page(
        title="Here I will write to you",
        cautions=dangers,
        blocks=(
            *([waits] if today else []),
            f"One message a day when something is due, at {keeper.settings.digest_at:%H:%M} your time.",
            "Water that cannot wait comes earlier. Answer with the buttons under each line.",
            "`/my reminders` changes the hour, pauses while you are away, or stops it.",
        ),
    )
