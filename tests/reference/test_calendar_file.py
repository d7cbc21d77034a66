"""Calendar files, opened by a reader of their own that was written from RFC 5545 (`rfc5545.py`)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.adapters.calendar_file import calendar_file
from bot.adapters.household.loading import load_household
from bot.adapters.zones import TzDatabase
from bot.care.agenda import ColonyPlan, plan_household
from bot.care.culture import Culture
from bot.care.culture_agenda import CulturePlan, plan_cultures
from bot.care.duty import Duty, Occurrence, Why
from bot.care.evidence import JUDGEMENT
from bot.care.place import Household
from tests.care import builders
from tests.reference import rfc5545
from tests.shelf import handbook

ROOT = Path(__file__).parents[2]
BOOK = handbook()
ZONES = TzDatabase()
START = date(2026, 11, 24)
MADE = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
SCOPE = "test/1001"


def household(name: str) -> Household:
    return load_household(ROOT / "config" / "examples" / f"{name}.toml", BOOK, ZONES, START)


def made(home: Household, start: date = START, days: int = 120, at: datetime = MADE, scope: str = SCOPE) -> bytes:
    return calendar_file(plan_household(home, BOOK, start, days), home.keeper, BOOK, scope, at)


def events(data: bytes) -> list[rfc5545.Component]:
    return rfc5545.read(data).inside


@pytest.mark.parametrize("name", ["north-temperate", "south", "tropical-heated"])
def test_the_standard_is_kept_and_every_occurrence_is_in(name: str) -> None:
    home = household(name)
    found = events(made(home))
    plans = plan_household(home, BOOK, START, 120)
    lines = [line for event in found for line in event.text("DESCRIPTION").split("\n")]
    for plan in plans:
        for occurrence in plan.occurrences:
            assert any(line.endswith(occurrence.reason) for line in lines)
    starts = {event.moment("DTSTART") for event in found}
    assert starts <= {occurrence.due_at for plan in plans for occurrence in plan.occurrences}


def test_feeder_cultures_have_events_of_their_own() -> None:
    tub = Culture(key="1", name="Oat tub", kind="mealworm")
    home = replace(household("north-temperate"), cultures=(tub,))
    both: list[ColonyPlan | CulturePlan] = [*plan_household(home, BOOK, START, 30)]
    both += plan_cultures(home, BOOK, START, 30)
    found = [
        event for event in events(calendar_file(both, home.keeper, BOOK, SCOPE, MADE)) if "Oat" in event.text("SUMMARY")
    ]
    assert {event.text("SUMMARY") for event in found} == {"Oat tub: feeder care"}
    assert len({event.text("UID") for event in found}) == len(found) == 5


def test_cautions_come_first_and_whole() -> None:
    found = events(made(household("north-temperate")))
    assert any(event.text("DESCRIPTION").startswith("DANGER: ") for event in found)
    for event in found:
        lines = event.text("DESCRIPTION").split("\n")
        kinds = [line.split(":")[0] for line in lines]
        loud = [kind for kind in kinds if kind in {"DANGER", "WARNING", "NOTE"}]
        assert kinds[: len(loud)] == loud
        texts = {caution.text for caution in BOOK.cautions.values()}
        assert all(line.split(": ", 1)[1] in texts for line in lines[: len(loud)])


def test_events_stand_at_the_reminder_hour_across_a_clock_change() -> None:
    # Vienna changes its clocks on 28 March 2027: half past six is 17:30 UTC before and 16:30 UTC after it.
    home = household("north-temperate")
    moments = [event.moment("DTSTART") for event in events(made(home, days=200))]
    walls = {f"{at.astimezone(home.keeper.zone):%H:%M}" for at in moments}
    assert walls <= {"18:30", "08:00"}
    assert "18:30" in walls
    assert {"17:30", "16:30"} <= {f"{at:%H:%M}" for at in moments}


def test_a_newer_file_moves_events_instead_of_doubling_them() -> None:
    home = household("north-temperate")
    first = {event.text("UID"): event for event in events(made(home))}
    later = MADE + timedelta(days=5)
    second = {event.text("UID"): event for event in events(made(home, START + timedelta(days=5), 120, later))}
    assert len(first.keys() & second.keys()) > 0.9 * len(first)
    moved = [uid for uid in first.keys() & second.keys() if first[uid].one("DTSTART") != second[uid].one("DTSTART")]
    assert moved
    assert all(int(second[uid].one("SEQUENCE")) > int(first[uid].one("SEQUENCE")) for uid in moved)
    assert all(0 <= int(event.one("SEQUENCE")) < 2**31 for event in second.values())


def test_a_step_of_a_rest_keeps_its_identity_when_it_moves() -> None:
    home = household("north-temperate")
    slate = next(colony for colony in home.colonies if colony.name == "Slate")

    def warm_up(weeks: float) -> dict[str, str]:
        wished = replace(slate, rest=replace(slate.rest, weeks=weeks))
        found = events(made(replace(home, colonies=(wished,)), days=250))
        return {event.text("UID"): event.one("DTSTART") for event in found if "rest warm up" in event.text("SUMMARY")}

    short, long = warm_up(12), warm_up(18)
    assert short.keys() == long.keys()
    assert list(short.values()) != list(long.values())


def test_keepers_and_servers_never_share_an_identity() -> None:
    home = household("south")
    one, other = ({event.text("UID") for event in events(made(home, scope=scope))} for scope in ("one/1", "two/1"))
    assert not one & other


def plan_of(name: str, reason: str, day: date = START, **changes: Any) -> ColonyPlan:
    occurrence = Occurrence(
        colony="c", duty=Duty.WATER, day=day, due_at=datetime(day.year, day.month, day.day, 17, tzinfo=UTC),
        earliest=day, latest=day, reason=reason, why=Why(rule="made up", evidence=JUDGEMENT),
    )  # fmt: skip
    return ColonyPlan(
        colony=builders.colony(name=name), profile=builders.profile(), rests=(), occurrences=(occurrence,), **changes
    )


shown = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp", "Cs"]), min_size=1, max_size=200)


@given(name=shown, reason=shown)
def test_any_words_come_back_as_they_were(name: str, reason: str) -> None:
    data = calendar_file([plan_of(name, reason)], builders.keeper(), builders.handbook(), SCOPE, MADE)
    (event,) = events(data)
    assert event.text("SUMMARY") == f"{name}: water"
    assert event.text("DESCRIPTION") == f"Water: {reason}"


@pytest.mark.parametrize(
    "data",
    [
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:x\nEND:VCALENDAR\n",
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:a,b\r\nBEGIN:VEVENT\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:" + b"x" * 80 + b"\r\nEND:VCALENDAR\r\n",
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nEND:VEVENT\r\n",
    ],
)
def test_the_reader_refuses_what_the_standard_forbids(data: bytes) -> None:
    with pytest.raises(rfc5545.BadCalendarError):
        rfc5545.read(data)
