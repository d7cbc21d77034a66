"""Typed options of commands: what is offered while typing, and the annotations that commands use.

What comes back is what the keeper typed or chose, tidied; the services and the handbook judge it and say what would
be right, so that a typed name works as well as a chosen one.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Coroutine
from typing import Any, Literal, TypeVar

import discord
import structlog
from discord import app_commands

from bot.adapters.chat.contact import host
from bot.adapters.chat.describing import NO_HEATER
from bot.adapters.chat.presenters.choices import Offer, named_offers, species_offers, zone_offers
from bot.adapters.chat.presenters.text import short
from bot.adapters.chat.services import ChatServices
from bot.services.records import KeeperId

Upkeep = Literal[
    "leftovers",
    "barrier_check",
    "barrier_renew",
    "outside_wipe",
    "waste",
    "nest_change",
    "space",
    "rest_wind_down",
    "rest_cool_down",
    "rest_begin",
    "rest_check",
    "rest_warm_up",
    "rest_end",
    "heat_check",
    "census",
]
"""Care of a colony beside food and water, as choices; values of `Duty`."""
Care = Literal["sugar", "protein", "seeds", "leaves", "water", Upkeep]
"""Every kind of care of a colony; that of feeder cultures is no colony's."""
HINTS = {
    "colony": "Which colony",
    "day": "When, such as yesterday; today if you say nothing",
    "note": "Anything worth remembering",
}
"""Hints of options that many commands share."""
log = structlog.get_logger()
C = TypeVar("C", bound=Callable[..., Coroutine[Any, Any, None]])
Offering = Callable[[ChatServices, KeeperId, str], Awaitable[list[Offer]]]
TYPED = 200
"""Characters of what was typed that are looked at."""


def hints(*shared: str, **own: str) -> Callable[[C], C]:
    """Hints beside the options of a command: the `shared` ones by name, and its own."""
    return app_commands.describe(**{name: HINTS[name] for name in shared}, **own)


class FromList(app_commands.Transformer):
    """An option with suggestions; trouble while suggesting is logged and offers nothing."""

    def __init__(self, offering: Offering) -> None:
        self._offering = offering

    async def transform(self, _: discord.Interaction, value: str, /) -> str:
        """What was typed or chosen, on one line."""
        return " ".join(value.split())

    async def autocomplete(  # type: ignore[override]  # the library allows any choice type
        self, interaction: discord.Interaction, value: str, /
    ) -> list[app_commands.Choice[str]]:
        """Suggestions for what was typed so far."""
        try:
            found = await self._offering(host(interaction).services, KeeperId(interaction.user.id), value[:TYPED])
        except Exception as error:  # noqa: BLE001 - a suggestion is a help, never a failure
            log.warning("no_suggestions", error=type(error).__name__)
            return []
        return [app_commands.Choice(name=label, value=key) for label, key in found]


async def _species(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return species_offers(services.handbook, typed)


async def _zones(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return zone_offers(services.zones, typed)


async def _colonies(services: ChatServices, keeper_id: KeeperId, typed: str) -> list[Offer]:
    mine = await services.colonies.of(keeper_id)
    return named_offers({str(record.id): f"{record.colony.name} ({record.colony.species})" for record in mine}, typed)


async def _cared(services: ChatServices, keeper_id: KeeperId, typed: str) -> list[Offer]:
    names = await services.acknowledgement.names(keeper_id, services.clock.now())
    return named_offers({str(colony_id): name for colony_id, name in names.items()}, typed)


async def _materials(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers({key: found.name for key, found in services.handbook.materials.items()}, typed)


async def _barriers(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers({key: found.name for key, found in services.handbook.barriers.items()}, typed)


async def _heaters(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    heaters = {key: found.name for key, found in services.handbook.heaters.items()}
    return named_offers({**heaters, NO_HEATER: "none"}, typed)


async def _foods(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    foods = services.handbook.foods.items()
    return named_offers({key: f"{found.name} ({found.kind.value})" for key, found in foods}, typed)


async def _feeders(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers({key: found.name for key, found in services.handbook.feeders.items()}, typed)


async def _cultures(services: ChatServices, keeper_id: KeeperId, typed: str) -> list[Offer]:
    mine = await services.cultures.names(keeper_id)
    return named_offers({str(record.id): record.culture.name for record in mine}, typed)


async def _countries(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers({key: short(found.name, 80) for key, found in services.handbook.countries.items()}, typed)


async def _topics(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers(await services.asking.topics(), typed)


async def _languages(services: ChatServices, _: KeeperId, typed: str) -> list[Offer]:
    return named_offers({code: words.name for code, words in services.languages.items()}, typed)


SpeciesName = app_commands.Transform[str, FromList(_species)]
ZoneName = app_commands.Transform[str, FromList(_zones)]
ColonyName = app_commands.Transform[str, FromList(_colonies)]
CaredName = app_commands.Transform[str, FromList(_cared)]
"""A colony of the asker, or one that they sit for."""
MaterialName = app_commands.Transform[str, FromList(_materials)]
BarrierName = app_commands.Transform[str, FromList(_barriers)]
HeaterName = app_commands.Transform[str, FromList(_heaters)]
FoodName = app_commands.Transform[str, FromList(_foods)]
FeederName = app_commands.Transform[str, FromList(_feeders)]
CultureName = app_commands.Transform[str, FromList(_cultures)]
CountryName = app_commands.Transform[str, FromList(_countries)]
LanguageName = app_commands.Transform[str, FromList(_languages)]
TopicName = app_commands.Transform[str, FromList(_topics)]
