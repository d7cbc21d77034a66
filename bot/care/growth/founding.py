"""What a founding queen is given: water alone, a little food, or a little food and a question.

Walled-in (claustral) queens live on their reserves; foraging (semi-claustral) ones starve without food (Johnson 2002).
Where a genus founds in several ways, the milder error counts: a smear too much rather than a starved queen.
"""

from __future__ import annotations

from enum import StrEnum

from bot.care.colony import Colony, Stage
from bot.care.errors import BadValueError
from bot.care.species import Founding, SpeciesProfile


class FoundingCare(StrEnum):
    """How a queen without workers is kept."""

    WATER_ONLY = "water only"
    FED = "fed"
    FED_AND_ASKED = "fed a little, mode unknown"
    NEEDS_WORKERS = "needs workers"


def founding_mode(colony: Colony) -> Founding | None:
    """How its queen founds as its keeper told it; `None` where nothing was told.

    Raises:
        BadValueError: that is not one of `species.Founding`.
    """
    if colony.founding is None:
        return None
    try:
        return Founding(colony.founding)
    except ValueError as error:
        known = ", ".join(Founding)
        raise BadValueError("founding", f"“{colony.founding}” is no way of founding; known are: {known}.") from error


def is_founding(colony: Colony) -> bool:
    """Whether there are no workers yet."""
    return colony.current_stage is Stage.FOUNDING and colony.workers == 0


def founding_care(colony: Colony, profile: SpeciesProfile) -> FoundingCare | None:
    """How the queen is kept until her first workers; `None` once there are workers.

    Raises:
        BadValueError: the colony's founding mode is not one of `species.Founding`.
    """
    if not is_founding(colony):
        return None
    told = founding_mode(colony)
    modes = profile.founding if told is None else (told,)
    if not modes or (len(modes) > 1 and Founding.SEMI_CLAUSTRAL in modes):
        return FoundingCare.FED_AND_ASKED
    # Budding and parasitic queens bring or need workers: a lone queen whose genus can also found walled in does that.
    if Founding.CLAUSTRAL in modes:
        return FoundingCare.WATER_ONLY
    return FoundingCare.FED if Founding.SEMI_CLAUSTRAL in modes else FoundingCare.NEEDS_WORKERS


def founding_question(colony: Colony, profile: SpeciesProfile) -> str | None:
    """What to ask the keeper of a founding queen, where the genus founds in several ways or nobody knows."""
    if not is_founding(colony) or colony.founding is not None or len(profile.founding) == 1:
        return None
    if not profile.founding:
        return (
            f"I do not know how {profile.genus} queens found. Does yours wall herself in, or does she go out for food?"
        )
    ways = " or ".join(profile.founding)
    return f"{profile.genus} queens found in more than one way ({ways}). Which is yours?"
