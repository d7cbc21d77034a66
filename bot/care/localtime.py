"""Wall time at a place and moments in UTC: the one rule for clock gaps and overlaps, and quiet hours.

A wall time in a spring gap moves forward by the gap (02:30 becomes 03:30); in an autumn overlap the first of the two
counts. So each (rule, local date) happens exactly once. RFC 5545 would drop the wall time in the gap; a dropped
watering kills, so we differ on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo


def moment(day: date, wall: time, zone: tzinfo) -> datetime:
    """The UTC moment of a wall time on a local day; gaps move forward, the first of an overlap counts."""
    local = datetime.combine(day, wall.replace(fold=0), tzinfo=zone)
    return local.astimezone(UTC)


def local_day(at: datetime, zone: tzinfo) -> date:
    """The date on the wall at a UTC moment."""
    _aware(at)
    return at.astimezone(zone).date()


def say_day(day: date, today: date) -> str:
    """`Thu 10 Dec`, with the year where it is not that of `today`."""
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day:%a} {day.day} {day:%b}{year}"


def on_day(day: date, today: date) -> str:
    """`today`, or `on Thu 10 Dec`."""
    return "today" if day == today else f"on {say_day(day, today)}"


@dataclass(frozen=True, slots=True)
class QuietHours:
    """A daily stretch without messages, from `start` to `end` on the wall; may cross midnight. Equal ends: none."""

    start: time
    end: time

    def holds(self, wall: time) -> bool:
        """Whether a wall time lies inside; the start counts, the end does not."""
        if self.start == self.end:
            return False
        if self.start < self.end:
            return self.start <= wall < self.end
        return wall >= self.start or wall < self.end

    def next_allowed(self, at: datetime, zone: tzinfo) -> datetime:
        """`at` itself when it is allowed, else the moment the quiet hours end: shifted, never dropped."""
        _aware(at)
        local = at.astimezone(zone)
        if not self.holds(local.time()):
            return at
        day = local.date() if local.time() < self.end else local.date() + timedelta(days=1)
        return max(at, moment(day, self.end, zone))


def _aware(at: datetime) -> None:
    if at.tzinfo is None:
        raise ValueError("a moment without a zone is no moment: give an aware datetime")
