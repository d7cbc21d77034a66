"""The demo community: read from `config/examples/demo`, its days shifted so that it always happened just now.

Everything goes in through the same use cases that commands call. Loading twice changes nothing.
"""

from __future__ import annotations

import re
import tempfile
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

from pydantic import BaseModel, ConfigDict, ValidationError

from bot.adapters.household.loading import load_household
from bot.app import Core
from bot.care.localtime import local_day
from bot.care.place import Household
from bot.care.season.community import Half
from bot.practice.errors import PracticeError
from bot.practice.shapes import Room
from bot.services.keepers import PlaceChanges, ReminderChanges
from bot.services.records import KeeperId
from bot.services.season import Season, SetupChanges
from bot.services.season_records import GuildId

COMMUNITY = "community.toml"
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")


class _Section(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class RoomSection(_Section):
    """`[[room]]`."""

    name: str
    topic: str
    leaders_only: bool = False


class PersonSection(_Section):
    """`[[person]]`; `household` is a file beside this one."""

    name: str
    leads: bool = False
    household: str | None = None


class PostSection(_Section):
    """`[[post]]`: what somebody wrote before the visitor came."""

    room: str
    person: str
    text: str


class SeasonSection(_Section):
    """`[season]`: the season as the server was set up, and members without a face who agreed to be counted.

    Each of `silent_zones` is such a member, with the colonies of the file `silent`; reminders of theirs are off.
    """

    room: str
    moderators_room: str
    silent: str
    silent_zones: tuple[str, ...]


class CommunityFile(_Section):
    """`community.toml`. Days in the households are meant as seen from `written_on`."""

    name: str
    zone: str
    written_on: date
    room: tuple[RoomSection, ...]
    person: tuple[PersonSection, ...]
    post: tuple[PostSection, ...] = ()
    season: SeasonSection


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Ids of the simulated platform that the season needs."""

    server: GuildId
    rooms: Mapping[str, int]
    leader: int
    """Who set the season up."""
    stable_id: Callable[[str], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Community:
    """The demo community as read."""

    folder: Path
    name: str
    zone: str
    written_on: date
    rooms: tuple[Room, ...]
    people: Mapping[str, bool]
    """Name -> whether they lead."""
    households: Mapping[str, str]
    posts: Sequence[PostSection]
    season: SeasonSection


def read_community(folder: Path) -> Community:
    """Read the community of a folder.

    Raises:
        PracticeError: a file that is missing or wrong.
    """
    file = folder / COMMUNITY
    try:
        read = CommunityFile.model_validate(tomllib.loads(file.read_text("utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValidationError) as wrong:
        raise PracticeError(f"The demo community in {file.name} cannot be read: {wrong}") from wrong
    return Community(
        folder=folder,
        name=read.name,
        zone=read.zone,
        written_on=read.written_on,
        rooms=tuple(Room(name=room.name, topic=room.topic, leaders_only=room.leaders_only) for room in read.room),
        people={person.name: person.leads for person in read.person},
        households={person.name: person.household for person in read.person if person.household},
        posts=read.post,
        season=read.season,
    )


async def settle_in(community: Community, core: Core, ids: Mapping[str, int], now: datetime) -> None:
    """Give every keeper their place, colonies and log; colonies that are there already are left alone.

    Raises:
        HouseholdError, CareError, ServiceError: a household that cannot be.
    """
    for who, file in community.households.items():
        household = shifted_household(community, file, core, now)
        await _settle_keeper(core, KeeperId(ids[who]), household, now)


async def lead_season(community: Community, core: Core, place: Places, now: datetime) -> None:
    """Set the season up, and let the silent members in.

    Raises:
        HouseholdError, CareError, ServiceError: a setup or household that cannot be.
    """
    section, season = community.season, Season(core.units, core.zones, core.languages)
    setup = SetupChanges(
        channel_id=place.rooms[section.room],
        helper_channel_id=place.rooms[section.moderators_room],
        zone_name=community.zone,
        halves=(Half.NORTH, Half.SOUTH),
    )
    await season.change(place.server, setup, place.leader, now)
    household = shifted_household(community, section.silent, core, now)
    for zone_name in section.silent_zones:
        keeper_id = KeeperId(place.stable_id(f"silent:{zone_name}"))
        await _settle_keeper(
            core, keeper_id, replace(household, keeper=replace(household.keeper, zone_name=zone_name)), now
        )
        await core.keepers.set_reminders(keeper_id, ReminderChanges(on=False), now)
        await season.agree(place.server, keeper_id, counted=True, helped=None, now=now)


def shifted_household(community: Community, file: str, core: Core, now: datetime) -> Household:
    """A household of the community, its days moved by as many days as have passed since it was written."""
    passed = now.date() - community.written_on
    text = _DAY.sub(lambda day: _moved(day[0], passed), (community.folder / file).read_text("utf-8"))
    with tempfile.TemporaryDirectory(prefix="winterbrood-") as place:
        moved = Path(place) / file
        moved.write_text(text, "utf-8")
        return load_household(moved, core.handbook, core.zones, now.date() + timedelta(days=1))


def _moved(day: str, passed: timedelta) -> str:
    return (date.fromisoformat(day) + passed).isoformat()


async def _settle_keeper(core: Core, keeper_id: KeeperId, household: Household, now: datetime) -> None:
    settings, room = household.keeper, household.places[0]
    changes = PlaceChanges(
        zone_name=settings.zone_name,
        latitude=settings.latitude,
        country=settings.country,
        temperature_c=room.temperature_c,
        winter_temperature_c=room.winter_temperature_c,
        humidity_percent=room.humidity_percent,
        units=settings.units,
    )
    await core.keepers.set_place(keeper_id, changes, now)
    hours = ReminderChanges(
        digest_at=settings.digest_at, quiet_from=settings.quiet.start, quiet_until=settings.quiet.end
    )
    await core.keepers.set_reminders(keeper_id, hours, now)
    known = {record.colony.name for record in await core.colonies.of(keeper_id)}
    today = local_day(now, settings.zone)
    for colony in household.colonies:
        if colony.name not in known:
            view = await core.colonies.add(keeper_id, replace(colony, log=(), place=None), now)
            for entry in colony.log:
                if entry.day <= today:
                    await core.acknowledgement.record(keeper_id, view.record.id, entry, now)
    await _settle_cultures(core, keeper_id, household, now)


async def _settle_cultures(core: Core, keeper_id: KeeperId, household: Household, now: datetime) -> None:
    cases = core.chat_services().cultures
    known = {record.culture.name for record in await cases.names(keeper_id)}
    for culture in household.cultures:
        if culture.name not in known:
            begun = await cases.add(keeper_id, replace(culture, log=(), place=None), now)
            for entry in culture.log:
                if entry.day <= local_day(now, household.keeper.zone):
                    await cases.note(keeper_id, begun.record.id, entry, now)
