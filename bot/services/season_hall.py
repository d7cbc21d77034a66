"""The community's channels as the season needs them: a Protocol that the chat adapter fulfils."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from bot.services.errors import TryLaterError
from bot.services.pictures import Picture
from bot.services.ports import Posted
from bot.services.records import KeeperId
from bot.services.season_records import GuildId, Notice, SeasonSetup


@dataclass(frozen=True, slots=True, kw_only=True)
class HallHealth:
    """Whether notices can be posted, as sentences for the moderators. `blocking` ones keep a notice from going out."""

    blocking: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of them, the worst first."""
        return (*self.blocking, *self.warnings)


class SeasonHall(Protocol):
    """The community's channels. Platform errors arrive as `services/errors.py` and `services/season_errors.py`."""

    async def look(self, setup: SeasonSetup) -> HallHealth:
        """Look at channels, rights and role without sending anything.

        Raises:
            TryLaterError: the platform does not show the community right now (an outage).
        """
        ...

    async def post(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> Posted:
        """Post a notice with its nonce, mentioning the chosen role alone; rather without its picture than never.

        Raises:
            HallClosedError, NoticeGoneError, TryLaterError, OutcomeUnknownError, BadMessageError.
        """
        ...

    async def find(self, channel_id: int, notice: Notice) -> Posted | None:
        """Look among the newest messages of the channel for this notice.

        Raises:
            HallClosedError, TryLaterError, OutcomeUnknownError.
        """
        ...

    async def amend(self, setup: SeasonSetup, notice: Notice, picture: Picture | None) -> None:
        """Put the present words and picture into the posted message.

        Raises:
            NoticeGoneError, DeliveryError.
        """
        ...

    async def retract(self, notice: Notice) -> None:
        """Remove the posted message; one that is gone already is fine.

        Raises:
            DeliveryError.
        """
        ...

    async def tell_waiting(self, setup: SeasonSetup, notice: Notice, nonce: str) -> None:
        """Show moderators a notice that waits for them, in the helper channel.

        Raises:
            DeliveryError.
        """
        ...

    async def tell_trouble(self, setup: SeasonSetup, sentences: Sequence[str], nonce: str) -> None:
        """Tell moderators what is in the way, in the helper channel.

        Raises:
            DeliveryError.
        """
        ...

    async def still_members(self, guild_id: GuildId, keepers: Sequence[KeeperId]) -> frozenset[KeeperId]:
        """Who of these is still in the community.

        Raises:
            DeliveryError.
        """
        ...


async def look_kindly(hall: SeasonHall, setup: SeasonSetup) -> HallHealth:
    """The same as `look`, with an outage told instead of raised."""
    try:
        return await hall.look(setup)
    except TryLaterError:
        return HallHealth(warnings=("The platform does not show me this server right now; I try again by myself.",))
