"""What a temperature or humidity logger saw: extremes, hours outside a band, degree-days, rest-days, swings, gaps.

Between two readings the value is taken to run straight, so hours and degree-days are exact for that line. Nothing is
said about gaps. Limits of gaps and of whole days are judgement.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum
from itertools import pairwise
from statistics import median

from bot.care.errors import BadValueError
from bot.care.localtime import local_day, moment
from bot.care.physics.thermal_time import FULL_CREDIT_C, rest_days
from bot.care.units import Band

GAP_STEPS = 3
"""A pause longer than this many usual steps is a gap."""
SHORTEST_GAP = timedelta(hours=1)
WHOLE_DAY_HOURS = 18.0
"""A day seen for at least so long stands for a whole one."""
RECENT_DAYS = 14
"""Days from which a measured room takes its temperature and humidity."""
HOUR = timedelta(hours=1)


class Quantity(StrEnum):
    """What a logger measures: air or wall temperature in C, or relative humidity in %."""

    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: an aware moment, and the value in C or in %."""

    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one quantity, each later than the one before; at least two."""

    quantity: Quantity
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if len(self.readings) < 2:
            raise BadValueError("readings", "A logger needs at least two readings, or nothing can be said about time.")
        if any(later.at <= earlier.at for earlier, later in pairwise(self.readings)):
            raise BadValueError("readings", "The readings of a logger must follow each other, each at its own moment.")

    @property
    def longest_step(self) -> timedelta:
        """The longest pause that is no gap."""
        steps = [(later.at - earlier.at).total_seconds() for earlier, later in pairwise(self.readings)]
        return max(GAP_STEPS * timedelta(seconds=median(steps)), SHORTEST_GAP)


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without readings, between two moments."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class DayOfReadings:
    """One local day as far as it was seen: hours seen, lowest, highest, mean over time."""

    day: date
    hours: float
    low: float
    high: float
    mean: float

    @property
    def whole(self) -> bool:
        """Whether enough was seen to speak of the day."""
        return self.hours >= WHOLE_DAY_HOURS

    @property
    def swing(self) -> float:
        """Highest less lowest."""
        return self.high - self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What a series says. Hours outside the band are `None` where no band was wanted on any day.

    `degree_days` are C times days above the threshold (`None` without one), `rest_days` count whole days only, and
    `worst_swing` is the whole day with the widest swing.
    """

    quantity: Quantity
    lowest: Reading
    highest: Reading
    mean: float
    hours: float
    hours_below: float | None
    hours_above: float | None
    degree_days: float | None
    rest_days: float | None
    worst_swing: DayOfReadings | None
    gaps: tuple[Gap, ...]
    days: tuple[DayOfReadings, ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A straight run inside one local day, from value `first` to `last`."""

    day: date
    hours: float
    first: float
    last: float

    @property
    def mean(self) -> float:
        return (self.first + self.last) / 2

    def above(self, limit: float) -> tuple[float, float]:
        """Hours above a limit, and the excess over it summed over time, in units times hours."""
        low, high = sorted((self.first, self.last))
        if high <= limit:
            return 0.0, 0.0
        if low >= limit:
            return self.hours, self.hours * (self.mean - limit)
        hours = self.hours * (high - limit) / (high - low)
        return hours, hours * (high - limit) / 2


Wanted = Callable[[date], Band | None]


def evaluate(
    series: Series,
    zone: tzinfo,
    *,
    wanted: Wanted = lambda _: None,
    threshold_c: float | None = None,
    full_credit: Band = FULL_CREDIT_C,
) -> Evaluation:
    """Evaluate a series by the local days of a zone.

    Args:
        series: readings in C or %.
        zone: whose days count.
        wanted: the band wanted on a local day; `None` for days without one.
        threshold_c: development threshold for degree-days; `None`: none are counted.
        full_credit: daily means that earn a whole rest-day.
    """
    pieces = tuple(_pieces(series, zone))
    days = tuple(_days(pieces, series, zone))
    whole = [day for day in days if day.whole]
    hours = sum(piece.hours for piece in pieces)
    below, above = _outside(pieces, wanted)
    warm = series.quantity is Quantity.TEMPERATURE
    return Evaluation(
        quantity=series.quantity,
        lowest=min(series.readings, key=lambda reading: reading.value),
        highest=max(series.readings, key=lambda reading: reading.value),
        mean=sum(piece.mean * piece.hours for piece in pieces) / hours,
        hours=hours,
        hours_below=below,
        hours_above=above,
        degree_days=sum(piece.above(threshold_c)[1] for piece in pieces) / 24
        if warm and threshold_c is not None
        else None,
        rest_days=rest_days((day.mean for day in whole), full_credit) if warm else None,
        worst_swing=max(whole, key=lambda day: day.swing, default=None),
        gaps=gaps(series),
        days=days,
    )


def gaps(series: Series) -> tuple[Gap, ...]:
    """Stretches without readings, oldest first."""
    longest = series.longest_step
    return tuple(
        Gap(earlier.at, later.at) for earlier, later in pairwise(series.readings) if later.at - earlier.at > longest
    )


def recent_mean(evaluation: Evaluation, counts: Callable[[date], bool] = lambda _: True) -> float | None:
    """Mean of the newest whole days that count, to one place; `None` without any."""
    recent = [day for day in evaluation.days if day.whole and counts(day.day)][-RECENT_DAYS:]
    return round(sum(day.mean for day in recent) / len(recent), 1) if recent else None


def _pieces(series: Series, zone: tzinfo) -> Iterator[_Piece]:
    """Straight runs between readings, cut at local midnights, without gaps."""
    longest = series.longest_step
    for earlier, later in pairwise(series.readings):
        whole = later.at - earlier.at
        if whole > longest:
            continue
        start, value = earlier.at.astimezone(UTC), earlier.value
        end = later.at.astimezone(UTC)
        while start < end:
            day = local_day(start, zone)
            stop = min(end, max(moment(day + timedelta(days=1), time(0), zone), start + timedelta(seconds=1)))
            reached = earlier.value + (later.value - earlier.value) * ((stop - earlier.at) / whole)
            yield _Piece(day, (stop - start) / HOUR, value, reached)
            start, value = stop, reached


def _days(pieces: tuple[_Piece, ...], series: Series, zone: tzinfo) -> Iterator[DayOfReadings]:
    """Days that were seen; extremes are those of readings and of the runs across midnight."""
    runs_of: dict[date, list[_Piece]] = {}
    for piece in pieces:
        runs_of.setdefault(piece.day, []).append(piece)
    values_of: dict[date, list[float]] = {
        day: [end for run in runs for end in (run.first, run.last)] for day, runs in runs_of.items()
    }
    for reading in series.readings:
        values_of.setdefault(local_day(reading.at, zone), []).append(reading.value)
    for day, values in sorted(values_of.items()):
        runs = runs_of.get(day, [])
        hours = sum(run.hours for run in runs)
        mean = sum(run.mean * run.hours for run in runs) / hours if hours else sum(values) / len(values)
        yield DayOfReadings(day, hours, min(values), max(values), mean)


def _outside(pieces: tuple[_Piece, ...], wanted: Wanted) -> tuple[float | None, float | None]:
    """Hours below and above the bands of the days that have one; `None` when no day has."""
    below = above = 0.0
    judged = False
    for piece in pieces:
        band = wanted(piece.day)
        if band is not None:
            judged = True
            above += piece.above(band.high)[0]
            mirrored = _Piece(piece.day, piece.hours, -piece.first, -piece.last)
            below += mirrored.above(-band.low)[0]
    return (below, above) if judged else (None, None)
