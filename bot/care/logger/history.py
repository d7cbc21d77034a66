"""Readings kept as history: of each hour the lowest and the highest, at their own moments; later files join earlier.

So extremes stay exact, and a year of a logger that reads each minute takes no more room than one of two readings an
hour. How much is kept is judgement.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from bot.care.logger.readings import Reading, Series

MOST_READINGS = 20_000
"""Readings kept of one quantity at one spot, the newest: more than a year of two an hour."""
_HOUR = 3600


def thinned(series: Series) -> Series:
    """Of each hour (UTC) the lowest and the highest reading, and the first and the last of all."""
    kept: dict[datetime, Reading] = {one.at: one for one in (series.readings[0], series.readings[-1])}
    hour: list[Reading] = []
    for reading in series.readings:
        if hour and _hour_of(hour[0]) != _hour_of(reading):
            kept |= _ends(hour)
            hour = []
        hour.append(reading)
    kept |= _ends(hour)
    return Series(series.quantity, tuple(kept[at] for at in sorted(kept)))


def joined(earlier: Series, later: Series) -> Series:
    """Both as one: where they overlap, `later` counts alone."""
    first, last = later.readings[0].at, later.readings[-1].at
    before = [reading for reading in earlier.readings if reading.at < first]
    after = [reading for reading in earlier.readings if reading.at > last]
    return Series(later.quantity, (*before, *later.readings, *after))


def newest(series: Series, most: int = MOST_READINGS) -> Series:
    """The newest readings."""
    return series if len(series.readings) <= most else Series(series.quantity, series.readings[-most:])


def since(series: Series, days: int) -> Series:
    """The readings of the last days before the newest; all of them where fewer than two would be left."""
    limit = series.readings[-1].at - timedelta(days=days)
    left = tuple(reading for reading in series.readings if reading.at >= limit)
    return Series(series.quantity, left) if len(left) >= 2 else series


def _hour_of(reading: Reading) -> int:
    return int(reading.at.timestamp()) // _HOUR


def _ends(hour: list[Reading]) -> dict[datetime, Reading]:
    ends = (min(hour, key=lambda one: one.value), max(hour, key=lambda one: one.value))
    return {one.at: one for one in ends}
