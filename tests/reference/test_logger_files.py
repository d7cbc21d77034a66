"""Logger files of many shapes. The fixtures are invented; what each holds is known by hand and written beside it.

ISO 8601 and seconds since 1970 are checked against the standard library; Fahrenheit by the fixed points of its scale
(32 °F is freezing, 212 °F boils, -40 is the same on both). Clock changes are those of the tz database.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.adapters.logger_files.reader import read_logger_file
from bot.adapters.zones import TzDatabase
from bot.care.logger.readings import Quantity
from bot.care.units import Units, fahrenheit
from bot.services.logger_reading import LARGEST_FILE, Hints, LoggerFileError, LoggerPreview, Skip

FOLDER = Path(__file__).parent / "fixtures" / "loggers"
VIENNA = TzDatabase().get("Europe/Vienna")
NO_HINTS = Hints()


def read(name: str, hints: Hints = NO_HINTS) -> LoggerPreview:
    return read_logger_file((FOLDER / name).read_bytes(), VIENNA, hints)


def shown(preview: LoggerPreview, quantity: Quantity = Quantity.TEMPERATURE) -> list[tuple[str, float]]:
    """Readings as (UTC time to the minute, value to two places)."""
    return [(f"{found.at:%m-%d %H:%M}", round(found.value, 2)) for found in preview.series[quantity].readings]


def test_semicolons_decimal_commas_and_a_byte_order_mark() -> None:
    preview = read("semicolon_decimal_comma.csv")
    assert shown(preview)[:2] == [("01-12 23:00", 6.5), ("01-13 00:00", 6.0)]
    assert shown(preview, Quantity.HUMIDITY)[-1] == ("01-13 04:00", 75.0)
    assert (preview.separator, preview.time_heading, preview.zone) == (
        "semicolon",
        "Time",
        "the wall clock of your place",
    )
    assert preview.time_shape == "like “13.01.2027 00:00”, day first"
    assert [column.unit for column in preview.columns] == ["°C, as its heading says", "%"]
    assert preview.doubts == ()


def test_month_first_twelve_hours_fahrenheit_below_notes() -> None:
    preview = read("month_first_twelve_hours_fahrenheit.csv")
    # 50, 41, 32, 23, 68, 77 °F are 10, 5, 0, -5, 20, 25 °C (multiples of 9 °F above freezing).
    assert [value for _, value in shown(preview)] == [10, 5, 0, -5, 20, 25]
    assert shown(preview)[0] == ("01-14 11:00", 10)  # noon in Vienna
    assert "month first" in preview.time_shape
    assert [(column.heading, column.unit) for column in preview.columns] == [("Temp (F)", "°F, as its heading says")]


def test_date_and_hour_in_columns_of_their_own_in_an_old_encoding() -> None:
    preview = read("date_and_time_apart_latin1.txt")
    expected = [("02-27 22:00", 4.0), ("02-27 22:30", 4.5), ("02-27 23:00", 5.0), ("02-27 23:30", -0.5)]
    assert shown(preview) == expected
    assert preview.columns[0].heading == "Temperatur [°C]"


def test_offsets_behind_times_outrank_the_place() -> None:
    preview = read("iso_with_offsets.csv")
    texts = ["2027-10-31T02:30:00+02:00", "2027-10-31T02:30:00+01:00", "2027-10-31T02:30:00+00:00"]
    moments = [found.at for found in preview.series[Quantity.TEMPERATURE].readings]
    assert moments[:3] == [datetime.fromisoformat(text) for text in texts]
    assert preview.zone == "as written behind each time"


def test_seconds_since_1970() -> None:
    preview = read("seconds_since_1970.csv")
    moments = [found.at for found in preview.series[Quantity.TEMPERATURE].readings]
    assert moments == [datetime.fromtimestamp(1799625600 + 600 * place, UTC) for place in range(3)]
    assert [value for _, value in shown(preview)] == [20, 21, 22]


def test_unsorted_and_repeated_lines() -> None:
    preview = read("bars_unsorted_repeated.txt")
    assert [value for _, value in shown(preview)] == [20, 21, 22, 20.5]
    assert preview.reordered
    assert [(found.line, found.why) for found in preview.skipped] == [(5, Skip.REPEATED), (6, Skip.REPEATED)]
    assert {column.heading for column in preview.columns} == {"T", "RH"}


def test_failures_are_left_out_each_with_its_reason() -> None:
    preview = read("gaps_and_failures.csv")
    assert shown(preview) == [("12-31 23:00", 6.1), ("01-01 02:00", 6.3), ("01-03 05:00", 6.5), ("01-03 06:00", 6.6)]
    reasons = {found.line: found.why for found in preview.skipped}
    assert reasons == {
        3: Skip.NO_VALUE,
        4: Skip.IMPOSSIBLE,
        7: Skip.NO_VALUE,
        8: Skip.IMPOSSIBLE,
        9: Skip.NO_TIME,  # 30 February
        10: Skip.NO_TIME,  # 25 o'clock
        13: Skip.NO_TIME,
    }
    assert preview.skipped_by_reason[Skip.NO_TIME] == 3
    assert (preview.lines, preview.used) == (11, 4)


def test_two_bytes_a_letter() -> None:
    assert shown(read("wide_characters.csv")) == [("01-09 23:00", 6.5), ("01-10 00:00", 6.0), ("01-10 01:00", 5.5)]


def test_months_by_name_and_units_behind_values() -> None:
    assert shown(read("month_names.csv")) == [("02-28 22:30", 7.5), ("02-28 23:30", 7.0), ("03-01 00:30", 6.5)]


def test_without_a_heading_every_choice_is_a_doubt() -> None:
    preview = read("no_heading.csv")
    assert [value for _, value in shown(preview)] == [21.5, 21.0, 20.5]
    assert len(preview.doubts) == 2
    assert "°C" in preview.doubts[1]
    other = read("no_heading.csv", Hints(fahrenheit=True))
    assert shown(other)[0][1] == pytest.approx(-5.83)  # 21.5 °F, by hand
    assert other.columns[0].unit == "°F, as you said"


def test_values_too_hot_to_be_true_are_taken_for_fahrenheit() -> None:
    preview = read_logger_file(b"time;temperature\n2027-01-10 14:00;68\n2027-01-10 15:00;70\n", VIENNA)
    assert [value for _, value in shown(preview)] == [20.0, 21.11]
    assert any("°F by the size" in doubt for doubt in preview.doubts)


def test_an_hour_that_comes_twice_is_read_in_its_order() -> None:
    moments = [found.at for found in read("hour_that_comes_twice.csv").series[Quantity.TEMPERATURE].readings]
    start = datetime(2027, 10, 30, 23, tzinfo=UTC)
    assert moments == [start + timedelta(minutes=30) * place for place in range(8)]


def test_newest_first_is_read_the_same() -> None:
    head, *lines = (FOLDER / "hour_that_comes_twice.csv").read_text("utf-8").splitlines()
    turned = read_logger_file("\n".join([head, *reversed(lines)]).encode(), VIENNA)
    assert turned.series == read("hour_that_comes_twice.csv").series
    assert turned.reordered


def test_an_hour_that_never_was_is_left_out_and_explained() -> None:
    preview = read("hour_that_never_was.csv")
    assert [found.why for found in preview.skipped] == [Skip.NO_SUCH_HOUR]
    assert "winter time" in preview.doubts[0]
    winter = read("hour_that_never_was.csv", Hints(zone=timezone(timedelta(hours=1))))
    assert (winter.used, winter.zone) == (4, "as you said")


def test_day_or_month_of_one_day_is_a_doubt_that_the_keeper_settles() -> None:
    preview = read("day_or_month.csv")
    assert "as 3 April 2027, day first" in preview.doubts[0]
    other = read("day_or_month.csv", Hints(day_first=False))
    assert shown(other)[0][0] == "03-03 23:00"
    assert other.doubts == ()


def test_day_or_month_of_several_days_is_settled_by_their_order() -> None:
    preview = read("day_or_month_over_days.csv")
    assert (shown(preview)[-1][0], preview.doubts) == ("04-05 14:00", ())


def test_two_digit_years_in_front() -> None:
    assert shown(read("two_digit_years.csv"))[-1] == ("01-08 11:00", 8.0)


def test_a_zone_in_the_heading() -> None:
    preview = read("zone_in_heading.csv")
    assert (shown(preview)[0][0], preview.zone) == ("01-09 14:00", "UTC+10:00, as the heading says")


def test_the_preview_shows_both_ends_as_they_stand_in_the_file() -> None:
    preview = read("semicolon_decimal_comma.csv")
    assert preview.first[0][0] == "13.01.2027 00:00;6,5;70"
    assert preview.last[-1] == ("13.01.2027 05:00;5,5;75", datetime(2027, 1, 13, 4, tzinfo=UTC))


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "is empty"),
        (b" \n\n", "is empty"),
        (b"x" * (LARGEST_FILE + 1), "larger than 1 MB"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "no text file"),
        (b"time;temp C\n2027-01-10 14:00;21\n", "1 of 1 lines"),
        (b"time;battery\n2027-01-10 14:00;88\n2027-01-10 15:00;88\n", "no column of temperatures"),
        (b"time;temp C\n2027-01-10 14:00;999\n2027-01-10 15:00;999\n", "0 of 2 lines"),
        (b"time;temp C\n40/40/2027 14:00;20\n41/41/2027 15:00;20\n", "0 of 2 lines"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(data: bytes, part: str) -> None:
    with pytest.raises(LoggerFileError, match=part):
        read_logger_file(data, VIENNA)


@pytest.mark.parametrize(("name", "part"), [("commas_for_everything.csv", "semicolons"), ("words_only.csv", "no line")])
def test_broken_files_are_refused_with_what_would_be_right(name: str, part: str) -> None:
    with pytest.raises(LoggerFileError, match=part):
        read(name)


def test_a_year_of_readings_is_read_whole() -> None:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    lines = (f"{start + timedelta(minutes=15) * place:%Y-%m-%dT%H:%MZ},{20 + place % 7}" for place in range(35_000))
    preview = read_logger_file("\n".join(["time,°C", *lines]).encode(), VIENNA)
    assert preview.used == 35_000


def checked(data: bytes) -> LoggerPreview | None:
    """Read; whatever comes back adds up and invents nothing."""
    try:
        preview = read_logger_file(data, VIENNA)
    except LoggerFileError as problem:
        sentence = str(problem)
        assert sentence.endswith((".", "”."))
        return None
    assert preview.used + len(preview.skipped) == preview.lines
    assert all(len(series.readings) <= preview.used for series in preview.series.values())
    numbers = [found.line for found in preview.skipped]
    assert numbers == sorted(set(numbers))
    for series in preview.series.values():
        assert all(-60 <= found.value <= 100 for found in series.readings)
    return preview


@given(data=st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    checked(data)


DATES = ("2027-01-0", "1799625600", "14:00", "Jan", "AM", "T", "Z", "+01", "2027-01-10 14:00;21,5\n")
pieces = st.sampled_from([*DATES, *'0123/.-: ,;\t|\n\n"%', "\u2212", "°C", "time", "temp", "0" * 12])


@given(text=st.lists(pieces, max_size=40))
def test_any_text_of_a_loggers_alphabet_is_read_or_refused(text: list[str]) -> None:
    preview = checked("".join(text).encode())
    assert preview is None or preview.used <= sum(line.count("\n") for line in text) + 1


SHAPES = ("%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M", "%m/%d/%Y %I:%M %p", "%d %b %Y %H:%M", "%Y/%m/%dT%H:%M")


@given(
    values=st.lists(st.integers(-400, 450), min_size=2, max_size=50),
    separator=st.sampled_from([";", "\t", "|"]),
    mark=st.sampled_from([".", ","]),
    shape=st.sampled_from(SHAPES),
    minutes=st.integers(1, 1000),
    start=st.datetimes(datetime(2000, 1, 13), datetime(2030, 1, 1)),  # noqa: DTZ001 - wall times
    units=st.sampled_from(Units),
)
def test_what_was_written_is_read_back(
    values: list[int], separator: str, mark: str, shape: str, minutes: int, start: datetime, units: Units
) -> None:
    walls = [
        start.replace(second=0, microsecond=0) + timedelta(minutes=minutes * place) for place in range(len(values))
    ]
    meant = [value / 10 for value in values]
    numbers = [fahrenheit(value) if units is Units.FAHRENHEIT else value for value in meant]
    lines = [
        f"{wall.strftime(shape)}{separator}{number:.2f}".replace(".", mark if "." not in shape else ".")
        for wall, number in zip(walls, numbers, strict=True)
    ]
    text = "\n".join([f"moment{separator}temperature °{units}", *lines])
    preview = read_logger_file(text.encode(), UTC, Hints(day_first=not shape.startswith("%m")))
    found = preview.series[Quantity.TEMPERATURE].readings
    assert [reading.at for reading in found] == [wall.replace(tzinfo=UTC) for wall in walls]
    assert [reading.value for reading in found] == pytest.approx(meant, abs=0.01)
