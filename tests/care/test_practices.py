"""The practices P1 to P27 of keepers: the last of them that no other module shows, and that none is left out.

All of them are common practice without a published source.
"""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest

from bot.care.colony import LogEntry, NestKind, Side
from bot.care.duty import Duty, Outcome
from bot.care.growth.advice import advise_space
from bot.care.situation import Advice
from bot.care.water.advice import advise_water
from tests.care import builders
from tests.care.builders import DAY

TESTS = Path(__file__).parents[1]
PRACTICES = range(1, 28)


def space(habits: tuple[str, ...] = (), kind: NestKind = NestKind.NEST) -> Advice:
    """Advice for a nest that is much too small."""
    colony = builders.colony(workers=1500, nest=builders.nest(kind=kind))
    advice = advise_space(builders.situation(colony=colony, profile=builders.profile(nest_habits=habits)))
    assert advice is not None
    return advice


def test_p15_the_ground_of_a_tank_is_baked_or_boiled_first() -> None:
    advice = space(kind=NestKind.NATURALISTIC)
    assert "baked or boiled" in advice.reason
    assert "SUBSTRATE-CLEAN" in advice.cautions
    assert "SUBSTRATE-CLEAN" not in space().cautions


@pytest.mark.parametrize(
    ("habits", "word"),
    [(("leaf_woven",), "living plants"), (("dead_wood", "twig"), "Wood or cork"), (("soil", "dead_wood"), "")],
)
def test_p16_some_ants_need_a_home_of_their_own_kind(habits: tuple[str, ...], word: str) -> None:
    reason = space(habits).reason
    assert word in reason
    assert bool(word) == ("Wood or cork" in reason or "living plants" in reason)


def test_p21_a_nest_that_stays_damp_is_raised_and_aired() -> None:
    entries = tuple(
        LogEntry(
            day=DAY - timedelta(days=ago), duty=Duty.WATER, outcome=Outcome.DAMP, side=Side.A if ago % 2 else Side.B
        )
        for ago in range(60, 0, -1)
    )
    advice = advise_water(builders.situation(colony=builders.colony(log=entries)))
    assert "raise the nest a little and let air move" in advice.reason


def test_every_practice_has_a_test_that_names_it() -> None:
    text = "\n".join(file.read_text("utf-8") for file in TESTS.rglob("test_*.py"))
    named = {int(number) for number in re.findall(r"def test_p(\d\d)_", text)}
    assert set(PRACTICES) - named == set()
