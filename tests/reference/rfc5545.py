"""A small strict reader of iCalendar files, written from RFC 5545 alone: sections 3.1, 3.2, 3.3.5, 3.3.11, 3.4, 3.6.

It knows nothing of the library that writes our files, and refuses what the standard forbids.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime

NAME = re.compile(r"[A-Za-z0-9-]+")
PARAMETER = re.compile(r';([A-Za-z0-9-]+)=("[^"\x00-\x08\x0a-\x1f\x7f]*"|[^";:,\x00-\x08\x0a-\x1f\x7f]*)')
CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")
MOMENT = re.compile(r"\d{8}T\d{6}Z")
ESCAPE = re.compile(r"\\(.?)", re.DOTALL)
ONCE = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "SEQUENCE", "LAST-MODIFIED", "TRANSP", "CLASS"}


class BadCalendarError(ValueError):
    """The file breaks the standard."""


@dataclass
class Component:
    """A component with its properties in order, and what lies inside it."""

    name: str
    properties: list[tuple[str, dict[str, str], str]] = field(default_factory=list)
    inside: list[Component] = field(default_factory=list)

    def one(self, name: str) -> str:
        """The raw value of a property that must be there exactly once."""
        found = [value for key, _, value in self.properties if key == name]
        if len(found) != 1:
            raise BadCalendarError(f"{name} stands {len(found)} times in {self.name}")
        return found[0]

    def text(self, name: str) -> str:
        """A TEXT value (3.3.11), unescaped."""
        return unescaped(self.one(name))

    def moment(self, name: str) -> datetime:
        """A DATE-TIME value in UTC (3.3.5, form 2)."""
        value = self.one(name)
        if MOMENT.fullmatch(value) is None:
            raise BadCalendarError(f"{name}: {value} is no moment in UTC")
        return datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)


def read(data: bytes) -> Component:
    """The calendar object of a stream (3.4)."""
    stack: list[Component] = []
    done: list[Component] = []
    for line in _content_lines(data):
        name, parameters, value = _parsed(line)
        if name == "BEGIN":
            stack.append(Component(value.upper()))
        elif name == "END":
            if not stack or stack[-1].name != value.upper():
                raise BadCalendarError(f"END:{value} closes nothing")
            closed = stack.pop()
            (stack[-1].inside if stack else done).append(closed)
        elif not stack:
            raise BadCalendarError(f"{name} stands outside of all components")
        else:
            stack[-1].properties.append((name, parameters, value))
    if stack or len(done) != 1 or done[0].name != "VCALENDAR":
        raise BadCalendarError("the stream is not one calendar object")
    _check(done[0])
    return done[0]


def unescaped(value: str) -> str:
    """TEXT without its escapes; a bare comma or semicolon, or an unknown escape, breaks the standard."""
    if re.search(r"(?<!\\)(?:\\\\)*[,;]", value):
        raise BadCalendarError(f"a bare comma or semicolon in {value!r}")
    known = {"n": "\n", "N": "\n", ",": ",", ";": ";", "\\": "\\"}

    def letter(found: re.Match[str]) -> str:
        if found.group(1) not in known:
            raise BadCalendarError(f"an unknown escape in {value!r}")
        return known[found.group(1)]

    return ESCAPE.sub(letter, value)


def _content_lines(data: bytes) -> list[str]:
    """Lines unfolded (3.1): CRLF at each end, at most 75 octets, folds begin with a space or a tab."""
    if not data.endswith(b"\r\n") or re.search(rb"(?<!\r)\n|\r(?!\n)", data):
        raise BadCalendarError("every line ends with CRLF, and no other line break is in the file")
    folded = data[:-2].split(b"\r\n")
    if any(len(line) > 75 for line in folded):
        raise BadCalendarError("a line is longer than 75 octets")
    return data[:-2].replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode("utf-8").split("\r\n")


def _parsed(line: str) -> tuple[str, dict[str, str], str]:
    name = NAME.match(line)
    if name is None or CONTROL.search(line):
        raise BadCalendarError(f"no content line: {line!r}")
    place, parameters = name.end(), dict[str, str]()
    while found := PARAMETER.match(line, place):
        parameters[found.group(1).upper()] = found.group(2).strip('"')
        place = found.end()
    if line[place : place + 1] != ":":
        raise BadCalendarError(f"no colon after name and parameters: {line!r}")
    return name.group().upper(), parameters, line[place + 1 :]


def _check(calendar: Component) -> None:
    """What must be there (3.6, 3.6.1): PRODID and VERSION; in an event UID, DTSTAMP, and an end after its start."""
    calendar.text("PRODID")
    if calendar.one("VERSION") != "2.0":
        raise BadCalendarError("VERSION is not 2.0")
    if not calendar.inside:
        raise BadCalendarError("a calendar holds at least one component")
    seen: set[str] = set()
    for event in calendar.inside:
        if event.name != "VEVENT":
            continue
        names = [name for name, _, _ in event.properties]
        if any(names.count(name) > 1 for name in ONCE):
            raise BadCalendarError("a property stands twice")
        if event.moment("DTEND") <= event.moment("DTSTART"):
            raise BadCalendarError("an event ends before it starts")
        event.moment("DTSTAMP")
        uid = event.text("UID")
        if uid in seen:
            raise BadCalendarError(f"two events share the identity {uid}")
        seen.add(uid)
