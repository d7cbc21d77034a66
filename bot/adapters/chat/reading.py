"""Typed times and days, read kindly and strictly: what cannot be is refused with what would be right."""

from __future__ import annotations

import re
from datetime import date, time, timedelta

from bot.adapters.chat.presenters.text import short
from bot.care.errors import BadValueError

YEARS_BACK, YEARS_AHEAD = 80, 2
_CLOCK = re.compile(r"^(\d{1,2})(?:[:.h](\d{2}))?\s*(am|pm)?$")
_AWAY = re.compile(r"^(?:in (\d{1,3}) (day|week)s?|(\d{1,3}) (day|week)s? ago)$")
_ISO = re.compile(r"^(\d{4})-(\d{1,2})-(\d{1,2})$")
_NEAR = {"today": 0, "tomorrow": 1, "yesterday": -1}


def read_time(text: str) -> time:
    """`18:30`, `18.30`, `18`, `6:30 pm`.

    Raises:
        BadValueError: anything else.
    """
    found = _CLOCK.match(text.strip().casefold())
    if found is not None:
        hour, minute = int(found[1]), int(found[2] or 0)
        if found[3] and 1 <= hour <= 12:
            hour = hour % 12 + (12 if found[3] == "pm" else 0)
        elif found[3]:
            hour = 99
        if hour < 24 and minute < 60:
            return time(hour, minute)
    raise BadValueError("time", f"“{short(text, 30)}” is no time I can read; write it like 18:30.")


def read_day(text: str, today: date) -> date:
    """`2027-05-01`, `today`, `tomorrow`, `yesterday`, `in 3 days`, `2 weeks ago`.

    Raises:
        BadValueError: anything else, a day that does not exist, a day in the wrong century.
    """
    said = " ".join(text.casefold().split())
    if said in _NEAR:
        return today + timedelta(days=_NEAR[said])
    if (away := _AWAY.match(said)) is not None:
        count, unit, sign = (away[1], away[2], 1) if away[1] else (away[3], away[4], -1)
        return today + sign * int(count) * timedelta(days=7 if unit == "week" else 1)
    iso = _ISO.match(said)
    if iso is None:
        raise BadValueError(
            "day", f"“{short(text, 30)}” is no day I can read; write {today.isoformat()} or “tomorrow”."
        )
    try:
        day = date(int(iso[1]), int(iso[2]), int(iso[3]))
    except ValueError:
        raise BadValueError("day", f"There is no day {said}; a month has 28 to 31 days, a year 12 months.") from None
    if not today.year - YEARS_BACK <= day.year <= today.year + YEARS_AHEAD:
        raise BadValueError("day", f"{said} is in the wrong century; the year now is {today.year}.")
    return day
