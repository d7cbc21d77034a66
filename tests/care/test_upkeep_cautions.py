"""Every caution and source that the engines for water, heat and upkeep name is in `config/`."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from bot.care.colony import Heater, LogEntry, Nest, Outworld, RestWishes
from bot.care.duty import Duty, Outcome
from bot.care.phase import Phase
from bot.care.situation import Advice, Situation
from bot.care.upkeep.advice import (
    advise_barrier_check,
    advise_barrier_renew,
    advise_nest_change,
    advise_outside_wipe,
    advise_waste,
)
from bot.care.upkeep.heat import advise_heat_check
from bot.care.water.advice import advise_water
from tests.care.builders import DAY, colony, nest, situation

CONFIG = Path(__file__).parents[2] / "config"
RULES = (
    advise_water,
    advise_heat_check,
    advise_barrier_check,
    advise_barrier_renew,
    advise_outside_wipe,
    advise_waste,
    advise_nest_change,
)
MOULD = LogEntry(day=DAY, duty=Duty.WATER, outcome=Outcome.MOULD)
COLONIES = (
    colony(),
    colony(nest=Nest(), outworld=None),
    colony(heater=Heater(hot_c=36, share=0.5), log=(MOULD,), outworld=Outworld(limestone=True)),
    colony(heater=Heater(kind="unknown"), nest=nest(material="plaster"), rest=RestWishes(place="fridge")),
)


def ids(folder: str) -> set[str]:
    return {name for page in (CONFIG / folder).glob("*.toml") for name in tomllib.loads(page.read_text("utf-8"))}


def advices(where: Situation) -> Iterator[Advice]:
    return (advice for rule in RULES if (advice := rule(where)) is not None)


@pytest.mark.parametrize("phase", Phase)
def test_what_engines_name_is_in_the_handbook(phase: Phase) -> None:
    found = [advice for home in COLONIES for advice in advices(situation(colony=home, phase=phase))]
    assert found
    assert {name for advice in found for name in advice.cautions} <= ids("cautions")
    assert {name for advice in found for name in advice.why.evidence.sources} <= ids("sources")
