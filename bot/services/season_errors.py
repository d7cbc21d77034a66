"""What can go wrong around the season: refusals whose text is the sentence shown, and a hall that is closed to us."""

from __future__ import annotations

from bot.care.errors import CareError
from bot.services.errors import DeliveryError


class SeasonError(CareError):
    """A step that cannot be taken now; nothing was changed. Its text says why, and what would be right."""

    code = "care"


class HallClosedError(DeliveryError):
    """The community's channel does not take the message: rights are missing or it is gone. Its text says what to do."""


class NoticeGoneError(DeliveryError):
    """The message was posted once and somebody removed it."""
