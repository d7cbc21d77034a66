"""Values of the season to columns and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from typing import Any

from bot.adapters.store.mapping import Columns
from bot.adapters.store.season_tables import NoticeRow, SeasonLogRow, SeasonMemberRow, SeasonRow
from bot.care.phase import Phase
from bot.care.season.community import Half, Mark
from bot.care.season.figures import GroupFigures, GroupKey, Spread
from bot.services.records import KeeperId
from bot.services.season_records import Consent, GuildId, LogLine, Notice, NoticeId, SeasonSetup


def setup_columns(setup: SeasonSetup) -> Columns:
    """One row for a setup."""
    row = {field.name: getattr(setup, field.name) for field in fields(SeasonSetup)}
    return {**row, "halves": [half.value for half in setup.halves]}


def setup_from(row: SeasonRow) -> SeasonSetup:
    """A setup."""
    values = {field.name: getattr(row, field.name) for field in fields(SeasonSetup)}
    return SeasonSetup(**{**values, "halves": tuple(Half(half) for half in row.halves)})


def notice_columns(notice: Notice) -> Columns:
    """Everything but the id."""
    row = {field.name: getattr(notice, field.name) for field in fields(Notice) if field.name != "id"}
    return {**row, "cautions": list(notice.cautions), "approved_by": list(notice.approved_by)}


def notice_from(row: NoticeRow) -> Notice:
    """A notice."""
    values = {field.name: getattr(row, field.name) for field in fields(Notice)}
    changed = {
        "id": NoticeId(row.id),
        "guild_id": GuildId(row.guild_id),
        "cautions": tuple(row.cautions),
        "approved_by": tuple(row.approved_by),
    }
    return Notice(**{**values, **changed})


def consent_from(row: SeasonMemberRow) -> Consent:
    """What a member agreed to in one community."""
    return Consent(
        guild_id=GuildId(row.guild_id),
        keeper_id=KeeperId(row.keeper_id),
        counted=row.counted,
        helped=row.helped,
        threads=row.threads,
        since=row.since,
    )


def line_columns(line: LogLine) -> Columns:
    """One row for a log line."""
    return {field.name: getattr(line, field.name) for field in fields(LogLine)}


def line_from(row: SeasonLogRow) -> LogLine:
    """A log line."""
    return LogLine(**{field.name: getattr(row, field.name) for field in fields(LogLine)})


def figures_document(shown: GroupFigures | None) -> Columns:
    """Figures as JSON; empty for nothing shown."""
    if shown is None:
        return {}
    return {
        "taken": shown.taken.isoformat(),
        "colonies": shown.colonies,
        "marks": {mark.value: count for mark, count in shown.marks.items()},
        "begins": {
            phase.value: [spread.first.isoformat(), spread.middle.isoformat(), spread.last.isoformat()]
            for phase, spread in shown.begins.items()
        },
        "weeks": {
            phase.value: {week.isoformat(): count for week, count in counts.items()}
            for phase, counts in shown.weeks.items()
        },
    }


def figures_from(key: GroupKey, document: Mapping[str, Any]) -> GroupFigures | None:
    """Figures, or `None` where nothing is shown."""
    if not document:
        return None
    day = date.fromisoformat
    return GroupFigures(
        key=key,
        taken=day(document["taken"]),
        colonies=document["colonies"],
        marks={Mark(mark): count for mark, count in document["marks"].items()},
        begins={Phase(phase): Spread(*map(day, spread)) for phase, spread in document["begins"].items()},
        weeks={
            Phase(phase): {day(week): count for week, count in counts.items()}
            for phase, counts in document["weeks"].items()
        },
    )
