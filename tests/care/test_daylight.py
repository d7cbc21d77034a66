"""Day length against printed values, against Astral, and at the ends of the earth. B numbers: dossier, section B."""

from __future__ import annotations

from datetime import UTC, date, timedelta

import pytest
from astral import LocationInfo
from astral.sun import sunrise, sunset
from hypothesis import given
from hypothesis import strategies as st

from bot.care.errors import BadValueError
from bot.care.physics.daylight import Horizon, day_length_hours, declination, first_day_at_least, first_day_below

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))
LATITUDES = st.floats(-90, 90)


@pytest.mark.parametrize(
    ("latitude", "day", "hours", "minutes", "seconds", "within_minutes"),
    [
        (51.5, date(2007, 10, 2), 11, 34, 58, 1),  # B1: London, dated web note
        (51.5, date(2007, 12, 22), 7, 49, 40, 1.5),  # B2: London, the same
        (51.5, date(2025, 6, 20), 16, 39, 28, 2),  # B3: London, printed with another refraction setting
        (55.75, date(2026, 6, 21), 17, 34, 0, 1.5),  # B4: Moscow at the June solstice, printed
        (50.84, date(2021, 12, 21), 7, 56, 10, 1.5),  # B5: Chichester, printed
        (-0.25, date(2023, 6, 21), 12, 6, 32, 1),  # B6: Quito, printed
        (-0.25, date(2023, 12, 21), 12, 8, 18, 1),  # B6
        (24.47, date(2023, 6, 21), 13, 39, 11, 1.5),  # B7: Abu Dhabi, printed
        (24.47, date(2023, 12, 22), 10, 37, 23, 1.5),  # B7
    ],
)
def test_printed_day_lengths(
    latitude: float, day: date, hours: int, minutes: int, seconds: int, within_minutes: float
) -> None:
    printed = hours + minutes / 60 + seconds / 3600
    assert day_length_hours(latitude, day) == pytest.approx(printed, abs=within_minutes / 60)


def test_tromso_has_midnight_sun_and_polar_night() -> None:
    """B8, printed: 24 h and 0 h, exactly."""
    assert day_length_hours(69.7, date(2023, 6, 21)) == 24
    assert day_length_hours(69.7, date(2023, 12, 22)) == 0


@pytest.mark.parametrize(("latitude", "sunrise_h"), [(40, 7 + 22 / 60), (50, 7 + 59 / 60), (0, 6), (-40, 4 + 35 / 60)])
def test_sunrise_table_of_new_year(latitude: float, sunrise_h: float) -> None:
    """B9: printed sunrise times of 1 January; doubling about solar noon at 12:02.9 is derived."""
    doubled = 2 * (12 + 2.9 / 60 - sunrise_h)
    assert day_length_hours(latitude, date(2023, 1, 1)) == pytest.approx(doubled, abs=0.05)


def test_an_encyclopaedias_round_figures() -> None:
    """B10 and B11: an encyclopaedia for students."""
    june, december = date(2023, 6, 21), date(2023, 12, 22)
    assert day_length_hours(30, june) == pytest.approx(14, abs=0.3)
    assert day_length_hours(30, december) == pytest.approx(10, abs=0.3)
    assert day_length_hours(60, june) > 18
    assert day_length_hours(60, december) < 6


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2023, 3, 20), -0.15),
        (date(2023, 6, 21), 23.44),
        (date(2023, 9, 23), -0.08),
        (date(2023, 12, 22), -23.44),
    ],
)
def test_declination(day: date, expected: float) -> None:
    """B12, derived from an ephemeris."""
    assert declination(day) == pytest.approx(expected, abs=0.02)


def _forsythe(latitude: float, day: date, depression: float) -> float:
    """Day length by the published model of Forsythe et al. 1995, written out again for the tests."""
    from math import acos, asin, atan, cos, pi, radians, sin, tan  # noqa: PLC0415 (kept beside the formula)

    theta = 0.2163108 + 2 * atan(0.9671396 * tan(0.00860 * (day.timetuple().tm_yday - 186)))
    phi = asin(0.39795 * cos(theta))
    x = (sin(radians(depression)) + sin(radians(latitude)) * sin(phi)) / (cos(radians(latitude)) * cos(phi))
    return 24 - 24 / pi * acos(min(max(x, -1), 1))


def test_civil_twilight_counts_as_day() -> None:
    """B13, derived with the model of Forsythe et al. 1995."""
    day = date(2023, 6, 21)
    assert _forsythe(50, day, 6) == pytest.approx(17.86, abs=0.05)
    assert day_length_hours(50, day, Horizon.CIVIL) == pytest.approx(17.86, abs=0.05)


@pytest.mark.parametrize("latitude", [-60, -35, 0, 30, 50, 60])
@pytest.mark.parametrize("day", [date(2023, month, 15) for month in range(1, 13)])
def test_a_second_published_model_agrees(latitude: float, day: date) -> None:
    """Forsythe et al. 1995 stays within its own error of 5 minutes up to 60 degrees (table 6.1, derived)."""
    assert day_length_hours(latitude, day) == pytest.approx(_forsythe(latitude, day, 50 / 60), abs=5.5 / 60)


@pytest.mark.parametrize("day", [date(2024, month, 9) for month in range(1, 13)])
@pytest.mark.parametrize(
    ("latitude", "within_minutes"),
    [(-60, 1.5), (-43.5, 1), (-23.4, 1), (-1, 1), (0, 1), (12, 1), (28, 1), (40, 1), (52.5, 1), (60, 1.5), (65, 4)],
)
def test_astral_agrees(latitude: float, within_minutes: float, day: date) -> None:
    """Astral, an independent library; it follows the sun through the day, which shows at high latitudes."""
    observer = LocationInfo(latitude=latitude, longitude=0).observer
    astral = (sunset(observer, day, tzinfo=UTC) - sunrise(observer, day, tzinfo=UTC)).total_seconds() % 86_400
    assert day_length_hours(latitude, day) == pytest.approx(astral / 3600, abs=within_minutes / 60)


def test_reference_table_of_the_four_turning_points() -> None:
    """Dossier 6.3, derived against an ephemeris."""
    days = (date(2023, 3, 20), date(2023, 6, 21), date(2023, 9, 23), date(2023, 12, 22))
    table = {
        0: (12.11, 12.12, 12.11, 12.12),
        30: (12.12, 14.08, 12.12, 10.21),
        40: (12.13, 15.02, 12.14, 9.33),
        50: (12.15, 16.37, 12.16, 8.07),
        60: (12.19, 18.87, 12.20, 5.87),
        -35: (12.15, 9.80, 12.14, 14.51),
    }
    for latitude, expected in table.items():
        found = [day_length_hours(latitude, day) for day in days]
        assert found == pytest.approx(expected, abs=0.01), latitude


def test_first_short_and_first_long_day() -> None:
    """B14 and B15, derived."""
    assert first_day_below(50, 2026, 11) in {date(2026, 10, 12), date(2026, 10, 13)}
    assert _apart(first_day_below(-35, 2026, 11), date(2026, 4, 22)) <= 2
    assert _apart(first_day_at_least(50, 2027, 11), date(2027, 3, 2)) <= 2


@pytest.mark.parametrize(
    ("latitude", "short", "long"),
    [
        (30, date(2026, 11, 1), date(2027, 2, 10)),
        (35, date(2026, 10, 25), date(2027, 2, 17)),
        (40, date(2026, 10, 20), date(2027, 2, 23)),
        (45, date(2026, 10, 15), date(2027, 2, 27)),
        (50, date(2026, 10, 12), date(2027, 3, 2)),
        (52, date(2026, 10, 11), date(2027, 3, 3)),
        (55, date(2026, 10, 9), date(2027, 3, 5)),
        (60, date(2026, 10, 7), date(2027, 3, 7)),
        (70, date(2026, 10, 2), date(2027, 3, 12)),
        (-30, date(2026, 4, 29), date(2026, 8, 14)),
        (-35, date(2026, 4, 22), date(2026, 8, 22)),
        (-38, date(2026, 4, 18), date(2026, 8, 25)),
        (-43, date(2026, 4, 14), date(2026, 8, 30)),
    ],
)
def test_table_of_eleven_hours(latitude: float, short: date, long: date) -> None:
    """Dossier 7.2, derived; two days of tolerance because published models differ by as much."""
    assert _apart(first_day_below(latitude, short.year, 11), short) <= 2
    assert _apart(first_day_at_least(latitude, long.year, 11), long) <= 2


def test_north_and_south_share_a_little_more_than_24_hours() -> None:
    """B16, derived: refraction and the sun's edge add 0.35 to 0.44 h at 50 degrees, all year."""
    for offset in range(0, 365, 5):
        day = date(2023, 1, 1) + timedelta(days=offset)
        both = day_length_hours(50, day) + day_length_hours(-50, day) - 24
        assert 0.33 <= both <= 0.46


def test_the_ends_of_the_earth_are_values() -> None:
    """B40, derived."""
    assert day_length_hours(70, date(2026, 12, 22)) == 0
    assert day_length_hours(90, date(2026, 12, 22)) == 0
    assert day_length_hours(-90, date(2026, 12, 22)) == 24
    assert day_length_hours(50, date(2024, 2, 29)) == pytest.approx(10.95, abs=0.02)
    year = [date(2026, 1, 1) + timedelta(days=offset) for offset in range(365)]
    assert all(12.09 <= day_length_hours(0, day) <= 12.13 for day in year)


def test_at_the_equator_no_day_is_short() -> None:
    assert first_day_below(0, 2026, 11) is None
    assert first_day_at_least(0, 2026, 13) is None


@given(LATITUDES, DAYS)
def test_a_day_has_0_to_24_hours_everywhere(latitude: float, day: date) -> None:
    assert 0 <= day_length_hours(latitude, day) <= 24


@given(st.floats(25, 90), st.integers(1991, 2090))
def test_the_first_short_day_is_the_first(latitude: float, year: int) -> None:
    for signed in (latitude, -latitude):
        found = first_day_below(signed, year, 11)
        assert found is not None
        assert day_length_hours(signed, found) < 11 <= day_length_hours(signed, found - timedelta(days=1))


def test_a_latitude_that_cannot_be_is_refused() -> None:
    with pytest.raises(BadValueError, match="-90"):
        day_length_hours(91, date(2026, 1, 1))


def _apart(found: date | None, expected: date) -> int:
    assert found is not None
    return abs((found - expected).days)
