"""What stands beside a calendar file and a logger's file."""

from __future__ import annotations

from collections.abc import Iterator

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import number, shown
from bot.adapters.chat.presenters.words import capital
from bot.care.logger.readings import Evaluation, Quantity
from bot.care.logger.use import Measured
from bot.care.logger.warnings import say_difference, say_moment
from bot.care.place import Keeper
from bot.care.units import Units, say_temperature
from bot.services.calendars import CALENDAR_DAYS
from bot.services.logger_reading import LoggerPreview
from bot.services.loggers import LoggerView
from bot.services.records import ColonyRecord

CALENDAR_FILE = "ant-care.ics"
SHOWN_SKIPPED = 3
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "upright stroke", " ": "space"}


def calendar_page(colonies: int) -> Page:
    """How to use the file."""
    if not colonies:
        return Page(title="Nothing to plan yet", blocks=("`/colony add` registers a colony; then there is a plan.",))
    return Page(
        title="Your calendar",
        blocks=(
            (
                f"The next {CALENDAR_DAYS} days of {colonies} colon{'y' if colonies == 1 else 'ies'}. Open the file "
                "with a calendar program."
            ),
            "The plan moves with what you do: fetch a new file now and then. It moves the entries of the old one.",
            "A calendar does not know what you answered. `/care due` does.",
        ),
    )


def logger_page(view: LoggerView) -> Page:
    """How a file was read, what it says, and what would change."""
    settings = view.keeper.settings
    blocks = ["\n".join(_reading(view.preview, settings))]
    if view.preview.doubts:
        blocks.append("\n".join(["**Please look at this**", *(shown(doubt, 400) for doubt in view.preview.doubts)]))
    blocks += ["\n".join(_values(found, settings)) for found in view.found.values()]
    blocks += [f"**{capital(warning.sentence)}**" for warning in view.warnings]
    if view.measured.empty:
        blocks.append("Not enough whole days were seen to plan with; nothing would change.")
    else:
        changes = list(_changes(view.measured, settings.units))
        blocks.append("\n".join(["**If you keep it, I plan with**", *changes, "The file itself is not stored."]))
    title = f"What the logger of {shown(view.colony.colony.name)} saw"
    return Page(title=title, blocks=tuple(blocks), cautions=view.cautions, advice=True)


def _reading(preview: LoggerPreview, keeper: Keeper) -> Iterator[str]:
    yield "**How I read the file**"
    columns = ", ".join(f"“{shown(one.heading)}” as {one.quantity.value} in {one.unit}" for one in preview.columns)
    yield f"Times from “{shown(preview.time_heading)}” (clock: {shown(preview.zone, 60)}); {columns}."
    for text, moment in (*preview.first[:1], *preview.last[-1:]):
        yield f"“{shown(text, 60)}” is {say_moment(moment, keeper)}."
    yield f"{number(preview.used)} of {number(preview.lines)} lines are readings."
    for why, count in preview.skipped_by_reason.items():
        yield f"-# Left out: {number(count)} with {why.value}."


def _values(found: Evaluation, keeper: Keeper) -> Iterator[str]:
    warm = found.quantity is Quantity.TEMPERATURE

    def value(amount: float) -> str:
        return say_temperature(amount, keeper.units) if warm else f"{amount:.0f} %"

    yield f"**{capital(found.quantity.value)}**"
    yield f"Lowest {value(found.lowest.value)}, {say_moment(found.lowest.at, keeper)}."
    yield f"Highest {value(found.highest.value)}, {say_moment(found.highest.at, keeper)}."
    yield f"On average {value(found.mean)}, over {number(round(found.hours))} hours."
    if found.hours_below is not None and found.hours_above is not None:
        yield f"Below the wanted band {found.hours_below:.0f} h, above it {found.hours_above:.0f} h."
    if found.degree_days is not None:
        yield f"{found.degree_days:.0f} degree-days above the threshold of its brood."
    if found.rest_days is not None:
        yield f"{found.rest_days:.1f} days that count as winter rest."
    if found.worst_swing is not None:
        swing = found.worst_swing
        wide = say_difference(swing.swing, keeper.units) if warm else f"{swing.swing:.0f} %"
        yield f"Widest swing of a day: {wide} on {swing.day.isoformat()}."
    if found.gaps:
        yield f"-# {len(found.gaps)} gap{'s' if len(found.gaps) > 1 else ''} without readings."


def _changes(measured: Measured, units: Units) -> Iterator[str]:
    if measured.room_c is not None:
        yield f"a room of {say_temperature(measured.room_c, units)}"
    if measured.humidity_percent is not None:
        yield f"air of {measured.humidity_percent:.0f} % humidity"
    if measured.rest_low_c is not None and measured.rest_high_c is not None:
        low, high = say_temperature(measured.rest_low_c, units), say_temperature(measured.rest_high_c, units)
        yield f"a place of rest between {low} and {high}"


def kept_page(record: ColonyRecord, measured: Measured, units: Units) -> Page:
    """What the plan counts on from now on."""
    lines = "\n".join(_changes(measured, units))
    name = shown(record.colony.name)
    return Page(
        title="Planned anew",
        blocks=(
            f"The plan of **{name}** now counts on\n{lines}",
            "`/care week` shows it.",
        ),
    )
