"""How a logger's file was read: shown to the keeper before anything of it is kept. Readers of files fulfil the port."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from enum import StrEnum
from typing import Protocol

from bot.care.errors import CareError
from bot.care.logger.readings import Quantity, Series

LARGEST_FILE = 1_000_000
"""Bytes; a reading every ten minutes for a year and more."""


class LoggerFileError(CareError):
    """A file that cannot be read; the text says what is wrong and what would be right."""

    code = "logger_file"


class Skip(StrEnum):
    """Why a line of the file is not among the readings."""

    NO_TIME = "no time that I can read"
    NO_VALUE = "no number"
    IMPOSSIBLE = "a value that cannot be"
    REPEATED = "the same moment again"
    NO_SUCH_HOUR = "an hour that the clock skipped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """What the keeper says about the file; `None`: find out. `zone` overrules the keeper's own."""

    day_first: bool | None = None
    fahrenheit: bool | None = None
    zone: tzinfo | None = None


@dataclass(frozen=True, slots=True)
class Skipped:
    """A line that was left out: its number in the file, why, and how it begins."""

    line: int
    why: Skip
    text: str


@dataclass(frozen=True, slots=True)
class Column:
    """A column of values: its heading as in the file, the quantity, and how the unit was found."""

    heading: str
    quantity: Quantity
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerPreview:
    """A file as it was read. Series are in C and %, moments in UTC.

    `first` and `last` pair a line as it stands in the file with the moment read from it. `doubts` are sentences about
    choices that the keeper should look at, with what to say instead.
    """

    separator: str
    time_heading: str
    time_shape: str
    zone: str
    columns: tuple[Column, ...]
    series: Mapping[Quantity, Series]
    first: tuple[tuple[str, datetime], ...]
    last: tuple[tuple[str, datetime], ...]
    lines: int
    used: int
    skipped: tuple[Skipped, ...] = ()
    reordered: bool = False
    doubts: tuple[str, ...] = field(default_factory=tuple)

    @property
    def skipped_by_reason(self) -> Mapping[Skip, int]:
        """How many lines each reason left out."""
        return {why: count for why in Skip if (count := sum(found.why is why for found in self.skipped))}


class LoggerReader(Protocol):
    """Reads a file from any data logger."""

    def __call__(self, data: bytes, zone: tzinfo, hints: Hints = ...) -> LoggerPreview:
        """Read a file whose times, unless they say otherwise, are on the wall clock of `zone`.

        Raises:
            LoggerFileError: the file cannot be read.
        """
        ...
