"""Loads the households of this folder and plans their year.

A household starts on `START` unless its file says otherwise in a comment such as `# from 2027-12-12`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from pathlib import Path

from bot.adapters.handbook.loader import load_handbook
from bot.adapters.household.loading import load_household
from bot.adapters.zones import TzDatabase
from bot.care.agenda import ColonyPlan, plan_household
from bot.care.culture_agenda import CulturePlan, plan_cultures
from bot.care.duty import Duty, Occurrence
from bot.care.handbook import Handbook
from bot.care.phase import Phase
from bot.care.place import Household

START = date(2027, 4, 20)
"""A spring day, so that a whole season, a winter and a leap day follow."""
DAYS = 400
FOLDER = Path(__file__).parent
FILES = tuple(sorted((FOLDER / "households").glob("*.toml")))
CONFIG = FOLDER.parents[1] / "config"
EXAMPLES = tuple(sorted((CONFIG / "examples").glob("*.toml")))


@dataclass(frozen=True, slots=True)
class Year:
    """A household with the plans of its colonies from `start` on."""

    name: str
    start: date
    household: Household
    plans: tuple[ColonyPlan, ...]
    cultures: tuple[CulturePlan, ...] = ()

    @property
    def end(self) -> date:
        """The day after the last."""
        return self.start + timedelta(days=DAYS)


def whole_handbook() -> Handbook:
    """The handbook of `config/`."""
    return load_handbook(CONFIG)


def plan_year(file: Path, handbook: Handbook) -> Year:
    """The year of one household file."""
    said = re.search(r"^# from (\d{4}-\d\d-\d\d)$", file.read_text("utf-8"), re.MULTILINE)
    start = START if said is None else date.fromisoformat(said.group(1))
    household = load_household(file, handbook, TzDatabase(), start)
    cultures = plan_cultures(household, handbook, start, DAYS)
    return Year(file.stem, start, household, plan_household(household, handbook, start, DAYS), cultures)


def phase_of(plan: ColonyPlan, day: date) -> Phase:
    """The phase of a colony on a day."""
    return next((found for rest in plan.rests if (found := rest.phase_on(day)) is not Phase.ACTIVE), Phase.ACTIVE)


def stretches(plan: ColonyPlan, start: date, end: date) -> Iterator[tuple[Phase, date, date]]:
    """Runs of days of one phase, with the first day and the day after the last."""
    days = [start + timedelta(days=ahead) for ahead in range((end - start).days)]
    for phase, run in groupby(days, key=lambda day: phase_of(plan, day)):
        inside = list(run)
        yield phase, inside[0], inside[-1] + timedelta(days=1)


def days_of(plan: ColonyPlan, *duties: Duty) -> list[date]:
    """Days on which any of the duties falls, once each."""
    return sorted({found.day for found in plan.occurrences if found.duty in duties})


def of_duty(plan: ColonyPlan, duty: Duty) -> list[Occurrence]:
    """All occurrences of a duty."""
    return [found for found in plan.occurrences if found.duty is duty]
