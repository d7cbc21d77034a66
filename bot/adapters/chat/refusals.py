"""What an answer of the platform means for a message of ours.

Codes: the platform's list of response codes. Which of the library's errors stand for what was tried against a loopback
server that speaks the platform's protocol; on a dead connection nobody knows whether a message arrived.
"""

from __future__ import annotations

import aiohttp
import discord

from bot.services.errors import (
    BadMessageError,
    DeliveryError,
    DoorRefusedError,
    KeeperGoneError,
    OutcomeUnknownError,
    TryLaterError,
)

CLOSED = frozenset({50007, 50278, 50001})
"""Closed direct messages, no server in common, no access to the channel."""
TOO_MANY_DOORS = 40003
UNKNOWN_MESSAGE = 10008
"""A nonce whose message was deleted meanwhile: it was delivered."""
UNKNOWN_CHANNEL = 10003
"""The stored channel is no more; a new one must be opened."""
NO_ACCESS, NO_RIGHT = 50001, 50013
"""A channel that is not shown to us, a right that we lack there."""
NO_MEMBER, NO_USER = 10007, 10013
"""Nobody of that id in the server; no such account at all."""
NOT_REACHED = frozenset({503, 521, 523})
"""The request never came to the platform's own machines."""
BUSY_SECONDS = 30.0
DOORS_SECONDS = 600.0


def meaning(error: Exception) -> DeliveryError:
    """The error of the services that stands for one of the library's."""
    if isinstance(error, discord.RateLimited):
        return TryLaterError(error.retry_after)
    if isinstance(error, discord.HTTPException):
        return _refusal(error)
    if isinstance(error, aiohttp.ClientConnectorError):
        return TryLaterError(BUSY_SECONDS)
    return OutcomeUnknownError(type(error).__name__)


def code_of(error: DeliveryError) -> int | None:
    """The platform's code behind an error of ours; `None` where it said nothing."""
    return error.__cause__.code if isinstance(error.__cause__, discord.HTTPException) else None


def _refusal(error: discord.HTTPException) -> DeliveryError:
    said = f"status {error.status}, code {error.code}"
    if error.code in CLOSED:
        return DoorRefusedError(said)
    if error.code == NO_USER:
        return KeeperGoneError(said)
    if error.code == TOO_MANY_DOORS or error.status in {401, 429}:
        return TryLaterError(DOORS_SECONDS)
    if error.status in NOT_REACHED:
        return TryLaterError(BUSY_SECONDS)
    return OutcomeUnknownError(said) if error.status >= 500 else BadMessageError(said)
