"""Feeder cultures against published rearing times, and the prey figures of `config/` against published bounds."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from bot.care.duty import Duty
from bot.care.feeding.feeders import advise_feeder_care, degree_days, growing, is_failing, ready_between
from bot.care.goods import FeederCulture
from bot.care.units import Band

CONFIG = Path(__file__).parents[2] / "config"
MEALWORM = FeederCulture(
    id="mealworm",
    name="mealworms",
    threshold_c=6.0,
    degree_days=2564.1,
    stop_c=15,
    best_c=Band(25, 28),
    care_days=7,
    tasks="Take wet food out.",
)
"""Korean study of Tenebrio molitor at seven temperatures."""


@pytest.mark.parametrize(("temperature", "days"), [(30, 106.8), (17, 233.1), (25, 135.0)])
def test_value_17_mealworms_by_degree_days(temperature: float, days: float) -> None:
    # Derived from the published line 2564.1 / (T - 6).
    assert growing(MEALWORM, temperature).days == pytest.approx(days, abs=0.1)


@pytest.mark.parametrize(("temperature", "observed"), [(30, 110.8), (17, 244.3)])
def test_value_17_mealworms_as_observed(temperature: float, observed: float) -> None:
    # The same study, observed means.
    assert growing(MEALWORM, temperature).days == pytest.approx(observed, rel=0.05)


@pytest.mark.parametrize("temperature", [15, 10, 6, -5])
def test_value_17_mealworms_do_not_grow_at_fifteen_degrees_and_below(temperature: float) -> None:
    # Observed at 15 C in the same study.
    assert growing(MEALWORM, temperature).days is None
    assert "does not grow" in growing(MEALWORM, temperature).reason


@pytest.mark.parametrize(
    ("food", "milligrams"),
    [
        ("house-cricket", 90),
        ("mealworm", 26.6),
        ("superworm", 118),
        ("waxworm", 35),
        ("house-fly", 3.15),
        ("fruit-fly", 0.21),
    ],
)
def test_value_20_protein_per_piece(food: str, milligrams: float) -> None:
    # Finke 2002/2013 (second hand or from memory) times published or remembered masses; the product is derived.
    row = _prey()[food]
    per_piece = row["item_g"]["value"] * row["protein_percent"]["value"] * 10
    assert per_piece == pytest.approx(milligrams, rel=0.02)


def test_value_20_protein_lies_in_the_published_range() -> None:
    # Finke 2002, Zoo Biol 21:269-285, nine invertebrates: 9.3 to 23.7 % of wet mass.
    known = [row["protein_percent"]["value"] for row in _prey().values() if "protein_percent" in row]
    assert len(known) >= 6
    assert all(9.3 <= value <= 23.7 for value in known)


def _prey() -> dict[str, Any]:
    return tomllib.loads((CONFIG / "foods" / "prey.toml").read_text(encoding="utf-8"))


def test_degree_days_add_up_over_changing_days() -> None:
    assert degree_days([16, 26, 10], MEALWORM) == 30
    assert degree_days([16], replace(MEALWORM, threshold_c=None)) is None


def test_p09_a_mealworm_tub_keeps_for_long_and_says_when_it_is_grown() -> None:
    # Common practice; days derived from the published line.
    ready = ready_between(MEALWORM, 25, date(2027, 1, 1))
    assert ready is not None
    assert ready[0] < date(2027, 5, 16) < ready[1]
    assert ready_between(MEALWORM, 15, date(2027, 1, 1)) is None


def test_unknown_figures_stay_unknown() -> None:
    unknown = replace(MEALWORM, degree_days=None, name="roaches")
    assert growing(unknown, 25).days is None
    assert "no figure" in growing(unknown, 25).reason


def test_rule_09_care_of_a_culture_shows_allergy_food_and_escape() -> None:
    advice = advise_feeder_care(MEALWORM, 20, date(2027, 1, 1))
    assert advice.duty is Duty.FEEDER_CARE
    assert advice.interval_days == 7
    assert {"FEEDER-ALLERGY", "FEEDER-FOOD", "FEEDER-ESCAPE"} <= set(advice.cautions)
    assert "25–28 °C" in advice.reason
    assert "ready_from" in advice.facts
    assert "ready_from" not in advise_feeder_care(MEALWORM, 14, date(2027, 1, 1)).facts


def test_many_deaths_end_a_culture() -> None:
    # Judgement: more than a tenth in a week.
    assert is_failing(11, 100)
    assert not is_failing(10, 100)
