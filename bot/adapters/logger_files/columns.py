"""Which columns of a file hold the time and the values: by their cells first, then by heading and units."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from bot.adapters.logger_files.numbers import UnitFound, is_number, is_other, parts, quantity_of, scale
from bot.adapters.logger_files.table import SHAPE, Table
from bot.adapters.logger_files.times import has_date, is_wall_time, looks_like_epoch, written
from bot.care.logger.readings import Quantity
from bot.care.units import Units
from bot.services.logger_reading import Column, Hints, LoggerFileError

MOST = 0.5
"""A column holds what more than this share of its cells holds."""
LOOKED_AT = 500
"""Rows that decide what a column is."""


@dataclass(frozen=True, slots=True)
class Values:
    """A column of numbers: where it stands, what it is, its scale and how that was found."""

    column: int
    heading: str
    quantity: Quantity
    units: Units = Units.CELSIUS
    found: UnitFound = UnitFound.HEADING
    named: bool = True

    def shown(self) -> Column:
        """As the preview shows it."""
        unit = "%" if self.quantity is Quantity.HUMIDITY else f"°{self.units.value}, {self.found.value}"
        return Column(self.heading, self.quantity, unit)


def time_columns(table: Table) -> tuple[tuple[int, ...], bool]:
    """Columns that make the time, and whether they hold seconds since 1970."""
    columns = range(table.width)
    dated = next((column for column in columns if _mostly(table, column, has_date)), None)
    if dated is None:
        epoch = next((column for column in columns if _mostly(table, column, looks_like_epoch)), None)
        if epoch is None:
            raise LoggerFileError(f"I found no column of times. {SHAPE}")
        return (epoch,), True
    with_hour = any((found := written(cell)) is not None and found.wall is not None for cell in cells_of(table, dated))
    beside = [column for column in (dated + 1, dated - 1) if column in columns]
    walls = [column for column in beside if not with_hour and _mostly(table, column, is_wall_time)]
    halves = [
        column
        for column in columns
        if _mostly(table, column, lambda cell: cell.strip(". ").upper().replace(".", "") in {"AM", "PM"})
    ]
    return (dated, *walls[:1], *halves[:1]), False


def value_columns(table: Table, times: Sequence[int], hints: Hints) -> Iterator[Values]:
    """At most one column of each quantity: by heading, else the first numbers beside the time."""
    numbers = [column for column in range(table.width) if column not in times and _mostly(table, column, is_number)]
    numeric = [column for column in numbers if _told(table, column) or not _counts_up(cells_of(table, column))]
    named = [(column, quantity) for column in numeric if (quantity := _told(table, column)) is not None]
    taken: set[Quantity] = set()
    for column, quantity in named or _unnamed(table, numeric):
        if quantity not in taken:
            taken.add(quantity)
            yield _described(table, column, quantity, hints, named=bool(named))
    if not taken:
        raise LoggerFileError(
            f"I found no column of temperatures or humidity beside “{name_of(table, times[0])}”. {SHAPE}"
        )


def _told(table: Table, column: int) -> Quantity | None:
    """What heading or units say a column holds."""
    heading = table.heading[column] if column < len(table.heading) else ""
    found = quantity_of(heading)
    if found is not None or heading:
        return found
    units = {part[1] for cell in cells_of(table, column) if (part := parts(cell)) is not None}
    if "%" in units:
        return Quantity.HUMIDITY
    return Quantity.TEMPERATURE if units & {"c", "f"} else None


def _unnamed(table: Table, numeric: Sequence[int]) -> list[tuple[int, Quantity]]:
    """Where nothing is named: the first numbers are temperatures; a second column without any heading, humidity."""
    count = 1 if table.heading else 2
    unnamed = [column for column in numeric if not is_other(name_of(table, column))]
    return list(zip(unnamed[:count], (Quantity.TEMPERATURE, Quantity.HUMIDITY), strict=False))


def _described(table: Table, column: int, quantity: Quantity, hints: Hints, *, named: bool) -> Values:
    heading = name_of(table, column)
    if quantity is Quantity.HUMIDITY:
        return Values(column, heading, quantity, named=named)
    found = [part for cell in cells_of(table, column) if (part := parts(cell)) is not None]
    units, how = scale(
        heading, {unit for _, unit in found}, median(number for number, _ in found), fahrenheit=hints.fahrenheit
    )
    return Values(column, heading, quantity, units, how, named)


def _counts_up(cells: Sequence[str]) -> bool:
    """Whether a column only numbers the lines."""
    numbers = [int(cell) for cell in cells if cell.isascii() and cell.isdigit()]
    steps = {later - earlier for earlier, later in pairwise(numbers)}
    return len(numbers) == len(cells) > 2 and steps in ({1}, {-1})


def cells_of(table: Table, column: int) -> list[str]:
    """The cells of a column, without rows that are too short for it."""
    return [row.cells[column] for row in table.rows if column < len(row.cells)]


def _mostly(table: Table, column: int, holds: Callable[[str], bool]) -> bool:
    cells = [row.cells[column] if column < len(row.cells) else "" for row in table.rows[:LOOKED_AT]]
    return sum(holds(cell) for cell in cells) > MOST * len(cells)


def name_of(table: Table, column: int) -> str:
    """The heading of a column as in the file, else its number from 1."""
    heading = table.heading[column] if column < len(table.heading) else ""
    return heading or f"column {column + 1}"
