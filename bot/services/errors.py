"""Errors of the use cases; the chat adapter has one sentence per code.

ServiceError
├── NotSetUpError        the keeper has no place yet
├── NotYoursError        the colony or occurrence belongs to somebody else, or does not exist: never says which
├── AlreadyAnsweredError the occurrence was answered before; carries the earlier outcome
├── NoLongerDueError     the occurrence was replaced or lapsed
├── DuplicateNameError   the keeper has a colony, or a feeder culture, of that name
├── TooManyError         a limit of ours is reached
├── StaleColonyError     the colony changed since it was read
└── RecordsError         the records cannot be reached
DeliveryError
├── DoorRefusedError     direct messages are closed
├── KeeperGoneError      the account is gone
├── TryLaterError        rate limit or trouble on the platform: certain that nothing was sent; `after` seconds
├── OutcomeUnknownError  may or may not have been sent: try again with the same nonce
└── BadMessageError      the platform refuses this very message: a fault of ours
"""

from __future__ import annotations

from bot.care.duty import Outcome


class ServiceError(Exception):
    """Root of what a keeper may meet; `code` picks the sentence."""

    code = "service"


class NotSetUpError(ServiceError):
    """The keeper has not set a place."""

    code = "not_set_up"


class NotYoursError(ServiceError):
    """Not the asker's, or not there at all."""

    code = "not_yours"


class AlreadyAnsweredError(ServiceError):
    """A second answer to the same occurrence; nothing was changed."""

    code = "already_answered"

    def __init__(self, outcome: Outcome | None) -> None:
        super().__init__("answered before")
        self.outcome = outcome


class NoLongerDueError(ServiceError):
    """The occurrence was replaced by a newer plan, or its time is over."""

    code = "no_longer_due"


class DuplicateNameError(ServiceError):
    """The keeper has one of that name."""

    code = "duplicate_name"

    def __init__(self, name: str, *, culture: bool = False) -> None:
        super().__init__(name)
        self.name, self.culture = name, culture


class TooManyError(ServiceError):
    """A limit of ours is reached: of colonies, or of feeder cultures."""

    code = "too_many"

    def __init__(self, limit: int, *, cultures: bool = False) -> None:
        super().__init__(str(limit))
        self.limit, self.cultures = limit, cultures


class StaleColonyError(ServiceError):
    """The colony changed while the keeper was editing it."""

    code = "stale_colony"


class RecordsError(ServiceError):
    """The records cannot be reached; the text is for the operator."""

    code = "store"


class DeliveryError(Exception):
    """Root of what can happen to a message on its way."""


class DoorRefusedError(DeliveryError):
    """The keeper's direct messages are closed to the bot."""


class KeeperGoneError(DeliveryError):
    """The account no longer exists."""


class TryLaterError(DeliveryError):
    """Nothing was sent; try again after `after` seconds."""

    def __init__(self, after: float) -> None:
        super().__init__(f"try again after {after:.0f} s")
        self.after = after


class OutcomeUnknownError(DeliveryError):
    """The request may have arrived; only the same nonce may be tried again."""


class BadMessageError(DeliveryError):
    """The platform refuses this message as it is."""
