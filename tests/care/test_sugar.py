"""Sugar water: dilution, molarity, open times, and what never goes in."""

from __future__ import annotations

import pytest

from bot.care.errors import BadValueError
from bot.care.feeding.sugar import (
    Dish,
    Sweet,
    grams_per_litre,
    honey_water_percent,
    is_expired,
    judge_ingredients,
    mix,
    open_hours,
    water_parts,
)


@pytest.mark.parametrize(("molar", "grams"), [(0.5, 171.15), (1, 342.30), (1.5, 513.45)])
def test_value_11_molarity_of_sucrose(molar: float, grams: float) -> None:
    # Molar mass of sucrose 342.30 g/mol; the three strengths are those of published ant studies.
    assert grams_per_litre(molar) == pytest.approx(grams)


@pytest.mark.parametrize(("parts", "percent"), [(1, 40), (3, 20), (4, 16), (9, 8)])
def test_value_12_honey_water(parts: float, percent: float) -> None:
    # Derived from 80 % sugar in honey.
    assert honey_water_percent(parts) == pytest.approx(percent)


def test_value_22_honey_water_open_for_two_days_has_expired() -> None:
    # Common practice, no source.
    assert is_expired(Sweet.HONEY, Dish.OPEN, 48)
    assert not is_expired(Sweet.SUCROSE, Dish.OPEN, 48)


def test_value_23_dilution_by_mass() -> None:
    # Derived.
    mixture = mix(100, 20)
    assert (mixture.sugar_g, mixture.water_g) == pytest.approx((20, 80))
    assert water_parts(40, 10) == pytest.approx(3)


def test_open_times_halve_above_28_degrees_but_not_in_the_fridge() -> None:
    # Common practice, no source.
    assert open_hours(Sweet.HONEY, Dish.OPEN) == 24
    assert open_hours(Sweet.HONEY, Dish.OPEN, 29) == 12
    assert open_hours(Sweet.SUCROSE, Dish.WICK) == 120
    assert open_hours(Sweet.SUCROSE, Dish.FRIDGE, 29) == 336


@pytest.mark.parametrize(
    "label", ["Erythritol", "birch sugar (xylitol)", "STEVIA", "aspartame, saccharin", "borax in honey", "Sucralose"]
)
def test_rule_05_sugar_substitutes_and_poisons_are_refused_by_name(label: str) -> None:
    # Erythritol: J Econ Entomol 110:593 (2017); boric acid: Klotz et al. 1997; the others are disputed or unknown.
    verdict = judge_ingredients(label)
    assert not verdict.allowed
    assert "SUGAR-SWEETENER" in verdict.cautions


def test_plain_sugar_is_allowed_and_honey_carries_its_own_caution() -> None:
    assert judge_ingredients("cane sugar").allowed
    honey = judge_ingredients("Honey")
    assert honey.allowed
    assert {"SUGAR-HONEY", "SUGAR-FRESH", "SUGAR-DROWN"} <= set(honey.cautions)


@pytest.mark.parametrize(("total", "percent"), [(0, 20), (-5, 20), (100, 0), (100, 100), (float("nan"), 20)])
def test_a_mixture_that_cannot_be_is_refused(total: float, percent: float) -> None:
    with pytest.raises(BadValueError, match="between 0 and 100"):
        mix(total, percent)


def test_water_cannot_strengthen_a_solution() -> None:
    with pytest.raises(BadValueError, match="only thins"):
        water_parts(10, 40)
    with pytest.raises(BadValueError, match="negative"):
        honey_water_percent(-1)
