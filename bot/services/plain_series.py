"""Readings of a logger as a compact plain document: one shape for the store and for a keeper's export."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from itertools import accumulate, pairwise

from bot.care.errors import BadValueError
from bot.care.logger.readings import Quantity, Reading, Series
from bot.services.plain_values import BadPlainError, Plain

MOST_STORED = 25_000
LARGEST_STEP = 400 * 86_400
"""Seconds between two readings; more is no history of one logger."""
EXTREME = 20_000
"""Hundredths of a degree or percent that no logger of a colony exceeds."""


def plain_series(series: Series) -> Plain:
    """`first` is a moment, `steps` are whole seconds from each reading to the next, `values` are hundredths."""
    steps = [round((later.at - earlier.at).total_seconds()) for earlier, later in pairwise(series.readings)]
    return {
        "first": series.readings[0].at.astimezone(UTC).isoformat(),
        "steps": steps,
        "values": [round(100 * reading.value) for reading in series.readings],
    }


def series_from(quantity: Quantity, document: Plain) -> Series:
    """The readings of such a document.

    Raises:
        BadPlainError: a document that `plain_series` did not make.
    """
    if not isinstance(document, Mapping) or set(document) != {"first", "steps", "values"}:
        raise BadPlainError("Readings of a logger have the keys first, steps and values.")
    steps, values = document["steps"], document["values"]
    right = (
        isinstance(steps, list)
        and isinstance(values, list)
        and 2 <= len(values) == len(steps) + 1 <= MOST_STORED
        and all(type(step) is int and 0 < step <= LARGEST_STEP for step in steps)
        and all(type(value) is int and abs(value) <= EXTREME for value in values)
    )
    if not right:
        raise BadPlainError("Readings of a logger are whole seconds and hundredths, one value more than steps.")
    try:
        first = datetime.fromisoformat(document["first"]).astimezone(UTC)
        moments = [first + timedelta(seconds=sum_) for sum_ in accumulate(steps, initial=0)]
        return Series(quantity, tuple(Reading(at, value / 100) for at, value in zip(moments, values, strict=True)))
    except (TypeError, ValueError, OverflowError, BadValueError) as problem:
        raise BadPlainError("Readings of a logger begin at a moment such as 2027-01-10T00:00:00+00:00.") from problem
