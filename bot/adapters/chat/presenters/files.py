"""What stands beside a calendar file and a logger's file."""

from __future__ import annotations

from collections.abc import Iterator

from bot.adapters.chat.presenters.page import Page
from bot.adapters.chat.presenters.text import number, shown
from bot.adapters.chat.presenters.words import capital
from bot.care.logger.history import MOST_READINGS
from bot.care.logger.readings import Evaluation, Quantity
from bot.care.logger.spot import LIKE_THE_ROOM, Spot
from bot.care.logger.use import Measured
from bot.care.logger.warnings import say_difference, say_moment
from bot.care.place import Keeper
from bot.care.units import Units, say_temperature
from bot.services.calendars import CALENDAR_DAYS
from bot.services.logger_reading import LoggerPreview
from bot.services.loggers import LoggerView

CALENDAR_FILE = "ant-care.ics"
SHOWN_SKIPPED = 3
KEPT_READINGS = (
    f"-# I keep the lowest and highest reading of each hour, the newest {MOST_READINGS:,} of a spot; the file itself "
    "is not stored."
)
SPOT = {
    Spot.ROOM: "in the room",
    Spot.WARM_WALL: "at the warm wall",
    Spot.NEST: "in the nest",
    Spot.OUTWORLD: "in the outworld",
    Spot.REST: "in the place of rest",
}
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
    """How a file was read, what it says together with earlier ones, and what would change."""
    settings, preview = view.keeper.settings, view.preview
    blocks = [] if preview is None else ["\n".join(_reading(preview, settings))]
    if preview is not None and preview.doubts:
        blocks.append("\n".join(["**Please look at this**", *(shown(doubt, 400) for doubt in preview.doubts)]))
    if view.earlier is not None:
        blocks.append(f"What follows counts your earlier files of this spot too, since {view.earlier.isoformat()}.")
    blocks += ["\n".join(_values(found, settings)) for found in view.found.values()]
    blocks += [f"**{capital(warning.sentence)}**" for warning in view.warnings]
    changes = list(_changes(view.measured, settings.units)) or [_no_change(view)]
    if preview is not None:
        blocks.append("\n".join(["**If you keep it, I plan with**", *changes, KEPT_READINGS]))
    title = f"What the logger of {shown(view.colony.colony.name)} saw: {SPOT[view.spot]}"
    return Page(title=title, blocks=tuple(blocks), cautions=view.cautions, advice=True)


def _no_change(view: LoggerView) -> str:
    """Why nothing of the plan would change."""
    if view.spot is Spot.WARM_WALL and view.colony.colony.heater is None:
        return "nothing yet: you told me of no heater. `/colony edit` does, then send the file again."
    if view.spot in LIKE_THE_ROOM and view.colony.colony.heater is not None:
        return "nothing new: beside a heater this spot is neither the room nor the warm wall. Its warnings count."
    if view.spot in LIKE_THE_ROOM and Quantity.TEMPERATURE not in view.found:
        return "nothing new: the air in there is not that of the room."
    return "nothing new: not enough whole days of the right season were seen."


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
    if measured.wall_c is not None:
        yield f"a warm wall of {say_temperature(measured.wall_c, units)}"
    if measured.rest_low_c is not None and measured.rest_high_c is not None:
        low, high = say_temperature(measured.rest_low_c, units), say_temperature(measured.rest_high_c, units)
        yield f"a place of rest between {low} and {high}"


def kept_page(view: LoggerView) -> Page:
    """What the plan counts on from now on."""
    lines = "\n".join(_changes(view.measured, view.keeper.settings.units))
    name = shown(view.colony.colony.name)
    said = (
        f"The plan of **{name}** now counts on\n{lines}" if lines else f"Kept for **{name}**. The plan stays as it was."
    )
    return Page(
        title="Planned anew" if lines else "Kept",
        blocks=(
            said,
            "Send the next file when there is one: it joins this one. `/care logger` without a file shows all.",
        ),
    )


def no_readings_page(name: str) -> Page:
    """Nothing was kept of a colony."""
    return Page(
        title="No readings yet",
        blocks=(
            (
                f"I keep no readings of **{shown(name)}**. Attach a file to `/care logger`: CSV, with a column for the "
                "time and one for temperature or humidity."
            ),
        ),
    )


def forgotten_page() -> Page:
    """Readings are gone."""
    return Page(
        title="Forgotten",
        blocks=("All readings of this colony are removed. Values in your plan stay until you change them.",),
    )
