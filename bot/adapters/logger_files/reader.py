"""A logger's file to series, with a preview of every choice; nothing is guessed without saying so."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, tzinfo

from bot.adapters.logger_files.columns import Values, cells_of, name_of, time_columns, value_columns
from bot.adapters.logger_files.numbers import UnitFound, parts, possible
from bot.adapters.logger_files.table import SEPARATORS, SHAPE, Row, Table, read_table
from bot.adapters.logger_files.times import (
    ORDER_WORDS,
    Settled,
    Written,
    from_epoch,
    on_wall,
    settle_order,
    was_skipped,
    written,
    zone_in,
)
from bot.care.errors import CareError
from bot.care.logger.readings import Quantity, Reading, Series
from bot.services.logger_reading import Hints, LoggerFileError, LoggerPreview, Skip, Skipped

SHOWN = 3
"""Lines shown from both ends."""
SHOWN_CHARACTERS = 60


def read_logger_file(data: bytes, zone: tzinfo, hints: Hints = Hints()) -> LoggerPreview:  # noqa: B008 - frozen
    """Read a file whose times, unless they say otherwise, are on the wall clock of `zone`.

    Raises:
        LoggerFileError: what is wrong with the file, and what would be right.
    """
    table = read_table(data)
    clock = _clock(table, zone, hints)
    values = tuple(value_columns(table, clock.columns, hints))
    lines = _Lines(clock, values)
    for row in clock.in_order(table.rows):
        lines.take(row)
    return lines.preview(table, hints)


@dataclass(frozen=True, slots=True)
class _Clock:
    """How the time of a row is read: from one cell, or from a date and a time beside it."""

    columns: tuple[int, ...]
    heading: str
    settled: Settled | None
    """`None`: seconds since 1970."""
    zone: tzinfo
    zone_words: str
    example: str
    backwards: bool
    dated_only: bool

    def text(self, row: Row) -> str:
        return " ".join(row.cells[column] for column in self.columns if column < len(row.cells))

    def moment(self, row: Row, after: datetime | None) -> datetime | Skip:
        text = self.text(row)
        if self.settled is None:
            return from_epoch(text) or Skip.NO_TIME
        found = written(text)
        if found is None or found.day(self.settled.order) is None:
            return Skip.NO_TIME
        if was_skipped(found, self.settled.order, self.zone):
            return Skip.NO_SUCH_HOUR
        return on_wall(found, self.settled.order, self.zone, after) or Skip.NO_TIME

    def in_order(self, rows: Sequence[Row]) -> Sequence[Row]:
        """Rows with time running forwards, for the hour that comes twice in autumn."""
        return rows[::-1] if self.backwards else rows

    def shape(self) -> str:
        if self.settled is None:
            return "seconds since 1970"
        order = f", {ORDER_WORDS[self.settled.order]}" if self.settled.open else ""
        return f"like “{self.example}”{order}"


@dataclass(slots=True)
class _Lines:
    """Collects readings line by line."""

    clock: _Clock
    values: tuple[Values, ...]
    readings: dict[Quantity, dict[datetime, float]] = field(default_factory=dict)
    used: dict[datetime, str] = field(default_factory=dict)
    skipped: list[Skipped] = field(default_factory=list)
    reordered: bool = False
    latest: datetime | None = None
    lines: int = 0

    def take(self, row: Row) -> None:
        self.lines += 1
        why = self._taken(row)
        if why is not None:
            self.skipped.append(Skipped(row.line, why, row.text[:SHOWN_CHARACTERS]))

    def _taken(self, row: Row) -> Skip | None:
        at = self.clock.moment(row, self.latest)
        if isinstance(at, Skip):
            return at
        found = {value.quantity: _number(row, value) for value in self.values}
        good = {quantity: number for quantity, number in found.items() if isinstance(number, float)}
        if not good:
            return Skip.IMPOSSIBLE if Skip.IMPOSSIBLE in found.values() else Skip.NO_VALUE
        if at in self.used:
            return Skip.REPEATED
        self.reordered = self.reordered or (self.latest is not None and at < self.latest)
        self.latest = at
        self.used[at] = row.text[:SHOWN_CHARACTERS]
        for quantity, number in good.items():
            self.readings.setdefault(quantity, {})[at] = number
        return None

    def preview(self, table: Table, hints: Hints) -> LoggerPreview:
        series = dict(self._series())
        if not series:
            count = f"{len(self.used)} of {self.lines} lines could be read"
            raise LoggerFileError(f"Too little to go on: {count}, and at least two are needed. {SHAPE}")
        ends = [(text, at) for at, text in sorted(self.used.items())]
        return LoggerPreview(
            separator=SEPARATORS[table.separator],
            time_heading=self.clock.heading,
            time_shape=self.clock.shape(),
            zone=self.clock.zone_words,
            columns=tuple(value.shown() for value in self.values if value.quantity in series),
            series=series,
            first=tuple((text, at) for text, at in ends[:SHOWN]),
            last=tuple((text, at) for text, at in ends[-SHOWN:]),
            lines=self.lines,
            used=len(self.used),
            skipped=tuple(sorted(self.skipped, key=lambda found: found.line)),
            reordered=self.reordered or self.clock.backwards,
            doubts=tuple(self._doubts(table, hints)),
        )

    def _series(self) -> Iterator[tuple[Quantity, Series]]:
        for quantity, found in self.readings.items():
            try:
                yield quantity, Series(quantity, tuple(Reading(at, found[at]) for at in sorted(found)))
            except CareError:
                continue

    def _doubts(self, table: Table, hints: Hints) -> Iterator[str]:
        clock = self.clock
        if clock.settled is not None and clock.settled.by_custom and hints.day_first is None:
            order = ORDER_WORDS[clock.settled.order]
            day = written(clock.example)
            read = day.day(clock.settled.order) if day is not None else None
            shown = "" if read is None else f" as {read.day} {read:%B %Y}"
            yield f"I read “{clock.example}”{shown}, {order}; say so if it is the other way round."
        if clock.dated_only:
            yield "The times have no hour, so each reading stands at midnight."
        if any(found.why is Skip.NO_SUCH_HOUR for found in self.skipped):
            yield "The file has an hour that your clock skips in spring: if the logger keeps winter time, say its zone."
        if table.separator == "," and not table.heading and len(self.values) > 1:
            yield "Without a heading I took every comma for a new column; decimal commas need semicolons beside them."
        for value in self.values:
            if not value.named:
                yield f"No heading says what “{value.heading}” measures; I took it for {value.quantity.value}."
            if value.quantity is Quantity.TEMPERATURE and value.found in {UnitFound.ASSUMED, UnitFound.GUESSED}:
                yield f"I took “{value.heading}” for °{value.units.value} {value.found.value}; say so if that is wrong."


def _number(row: Row, value: Values) -> float | Skip:
    found = parts(row.cells[value.column]) if value.column < len(row.cells) else None
    if found is None:
        return Skip.NO_VALUE
    kept = possible(found[0], value.quantity, value.units)
    return Skip.IMPOSSIBLE if kept is None else kept


def _clock(table: Table, zone: tzinfo, hints: Hints) -> _Clock:
    columns, epoch = time_columns(table)
    heading = " ".join(name_of(table, column) for column in columns)
    if epoch:
        first, last = (from_epoch(cells_of(table, columns[0])[place]) for place in (0, -1))
        backwards = first is not None and last is not None and last < first
        return _Clock(columns, heading, None, UTC, "UTC, as seconds since 1970 always are", "", backwards, False)  # noqa: FBT003 - named by the fields
    blank = _Clock(columns, heading, None, zone, "", "", backwards=False, dated_only=False)
    texts = [blank.text(row) for row in table.rows]
    read = [(text, found) for text in texts if (found := written(text)) is not None]
    if not read:
        raise LoggerFileError(f"The times are of a kind that I cannot read, such as “{texts[0][:40]}”. {SHAPE}")
    settled = settle_order([found for _, found in read], day_first=hints.day_first)
    days = [found.day(settled.order) for _, found in read]
    dated = [(day, found.wall or time(0)) for day, (_, found) in zip(days, read, strict=True) if day is not None]
    named = zone_in(" ".join(table.heading[column] for column in columns if column < len(table.heading)))
    words, used = _zone(read, hints.zone, named, zone)
    return _Clock(
        columns=columns,
        heading=heading,
        settled=settled,
        zone=used,
        zone_words=words,
        example=read[0][0],
        backwards=bool(dated) and dated[-1] < dated[0],
        dated_only=all(found.wall is None for _, found in read),
    )


def _zone(
    read: Sequence[tuple[str, Written]], given: tzinfo | None, named: tzinfo | None, own: tzinfo
) -> tuple[str, tzinfo]:
    if all(found.offset is not None for _, found in read):
        return "as written behind each time", own
    if given is not None:
        return "as you said", given
    if named is not None:
        return f"{named.tzname(None)}, as the heading says", named
    return "the wall clock of your place", own
