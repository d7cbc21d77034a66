"""From bytes to cells: the encoding, the separator, and where the readings begin below a heading of any length."""

from __future__ import annotations

import codecs
import csv
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from bot.adapters.logger_files.numbers import is_number
from bot.adapters.logger_files.times import has_date, is_wall_time, looks_like_epoch
from bot.services.logger_reading import LARGEST_FILE, LoggerFileError

SEPARATORS = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma"}
SAMPLE = 300
"""Lines that are tried with each separator."""
SHAPE = "I need lines with a time and a value, such as “2027-01-10 14:00;21.5”."


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the file: its number from 1, its text, and its cells."""

    line: int
    text: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Rows from the first reading on, and the cells of the heading above it (empty where there is none)."""

    separator: str
    heading: tuple[str, ...]
    rows: tuple[Row, ...]
    width: int


def read_table(data: bytes) -> Table:
    """Cells of a file.

    Raises:
        LoggerFileError: too large, empty, not text, or without any line that has a time and a value.
    """
    if len(data) > LARGEST_FILE:
        raise LoggerFileError(
            "The file is larger than 1 MB: export a shorter stretch of time, or fewer readings a day."
        )
    lines = [(number, text) for number, text in enumerate(_decoded(data).split("\n"), start=1) if text.strip()]
    if not lines:
        raise LoggerFileError(f"The file is empty. {SHAPE}")
    sample = lines[:: max(1, len(lines) // SAMPLE)]
    scores = {mark: sum(_is_reading(_cells(text, mark)) for _, text in sample) for mark in SEPARATORS}
    separator = max(SEPARATORS, key=lambda mark: scores[mark])
    rows = [Row(number, text, _cells(text, separator)) for number, text in lines]
    first = next((place for place, row in enumerate(rows) if _is_reading(row.cells)), None)
    if first is None:
        raise LoggerFileError(f"I found no line with a time and a value in {len(lines)} lines. {SHAPE}")
    widths = Counter(len(row.cells) for row in rows[first : first + SAMPLE] if _is_reading(row.cells))
    width = widths.most_common(1)[0][0]
    heading = _heading(rows[: first + 1], width)
    _check_commas(separator, heading, width)
    return Table(separator, heading, tuple(rows[first:]), width)


def _decoded(data: bytes) -> str:
    """Text with plain line ends: by its byte-order mark, else UTF-8, else the western single-byte encoding."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        text = data.decode("utf-16", errors="replace")
    elif b"\x00" in data:
        raise LoggerFileError("This is no text file: export the readings as CSV and send that.")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("latin-1")
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\x00", "")


def _cells(text: str, separator: str) -> tuple[str, ...]:
    try:
        found = next(csv.reader([text], delimiter=separator, skipinitialspace=True), [])
    except csv.Error:
        found = [text]
    while len(found) > 1 and not found[-1].strip():
        found.pop()
    return tuple(cell.strip() for cell in found)


def _is_reading(cells: Sequence[str]) -> bool:
    """Whether a line has a date or an epoch, and a number besides it."""
    times = [cell for cell in cells if has_date(cell)] or [cell for cell in cells if looks_like_epoch(cell)]
    if not times:
        return False
    return any(is_number(cell) and cell != times[0] and not is_wall_time(cell) for cell in cells)


def _heading(rows: Sequence[Row], width: int) -> tuple[str, ...]:
    """The one or two lines right above the last of `rows`, as far as they have about as many cells, joined by cell."""
    near: list[tuple[str, ...]] = []
    for above, below in ((row, rows[place + 1]) for place, row in reversed(list(enumerate(rows[:-1])))):
        if len(near) == 2 or above.line != below.line - 1 or not 1 < len(above.cells) <= width:
            break
        near.insert(0, above.cells)
    padded = [(*cells, *[""] * (width - len(cells))) for cells in near]
    joined = tuple(" ".join(part for part in parts if part) for parts in zip(*padded, strict=True))
    short = bool(near) and all(len(cells) < width for cells in near)
    return joined[: max(len(cells) for cells in near)] if short else joined


def _check_commas(separator: str, heading: Sequence[str], width: int) -> None:
    if separator == "," and heading and len(heading) < width:
        raise LoggerFileError(
            f"The heading has {len(heading)} columns but the readings have {width}: it seems that commas both part "
            "columns and mark decimals. Export with semicolons, or with decimal points."
        )
