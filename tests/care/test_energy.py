"""Energy need and diet split against the published fire ant figures, and the balance of artificial diets."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.colony import Amount, Brood
from bot.care.errors import BadValueError
from bot.care.feeding.diet_balance import (
    BATCH_RATIO,
    Alarm,
    balance_alarm,
    grams_per_litre,
    protein_gap_alarm,
    scale_batch,
    sugar_gap_alarm,
)
from bot.care.feeding.energy import (
    CRICKET,
    KCAL_PER_GRAM_BAND,
    Composition,
    carbohydrate_ratio,
    colony_mass_g,
    composition_of,
    larvae_level,
    metabolic_factor,
    phase_factor,
    split_diet,
    weekly_energy,
)
from bot.care.goods import Food, FoodKind
from bot.care.phase import Phase
from bot.care.species import Guild

FRUIT_FLY = Composition(5.12, 0.701, 0.296)
MEALWORM = Composition(6.49, 0.4908, 0.381)
"""Barker et al. 1998 and Finke 2002, second hand."""


def test_value_01_a_gram_of_fire_ants_needs_the_published_energy() -> None:
    # Macom & Porter 1995: 1.14 ± 0.29 kcal per g live colony and week.
    assert weekly_energy(1, 28) == pytest.approx(1.14)
    assert (KCAL_PER_GRAM_BAND.low, KCAL_PER_GRAM_BAND.high) == pytest.approx((1.14 - 0.29, 1.14 + 0.29))


def test_value_02_crickets_alone_weigh_what_the_study_gave() -> None:
    # Macom & Porter 1995: 0.186 g dry cricket per g colony and week; a cricket of 0.44 g: Nakagaki & DeFoliart 1991.
    wet = 0.186 / CRICKET.dry_share
    assert wet == pytest.approx(0.604, abs=0.001)
    assert wet / 0.44 == pytest.approx(1.37, abs=0.01)


def test_value_03_split_with_sugar_is_close_to_what_was_eaten() -> None:
    # Derived; the study measured 0.106 g dry cricket per g colony and week beside sugar water.
    diet = split_diet(1.14, 2, CRICKET)
    assert diet.prey_dry_g == pytest.approx(0.1090, abs=0.0001)
    assert diet.sugar_dry_g == pytest.approx(0.1415, abs=0.0001)
    assert diet.prey_dry_g == pytest.approx(0.106, rel=0.03)


def test_value_04_prey_alone_lies_inside_the_measured_band() -> None:
    # Derived; band from one standard deviation around the measured 0.186 g.
    diet = split_diet(1.14, 0, CRICKET)
    assert diet.prey_dry_g == pytest.approx(0.2135, abs=0.0001)
    assert 0.16 <= diet.prey_dry_g <= 0.27
    assert diet.sugar_dry_g == 0


def test_value_05_field_scaling_fits_the_anchor() -> None:
    # Macom & Porter 1995: 90 mounds a hectare take 21,000 kcal = 16.0 kg wet food a week.
    per_mound = 21_000 / 90
    assert per_mound == pytest.approx(233.3, abs=0.1)
    assert weekly_energy(per_mound / 1.14, 28) == pytest.approx(per_mound)
    assert per_mound / weekly_energy(1, 28) == pytest.approx(204.7, abs=0.1)
    assert 21_000 / 16_000 == 1.3125


def test_value_06_laboratory_colonies_were_fed_in_the_same_order_of_magnitude() -> None:
    # Thesis methods: half a mealworm of 0.142 g every second day, colony size not stated; factor two is accepted.
    energy = weekly_energy(colony_mass_g(1000, 1.43, Amount.NONE), 28)
    wet = split_diet(energy, 4, MEALWORM).prey_dry_g / MEALWORM.dry_share
    assert energy == pytest.approx(1.6302, abs=0.0001)
    assert wet == pytest.approx(0.301, abs=0.001)
    assert 0.5 <= wet / (0.142 / 2 * 3.5) <= 2


@pytest.mark.parametrize(
    ("temperature", "factor"),
    [(15, 0.466), (20, 0.625), (22, 0.703), (24, 0.790), (26, 0.889), (28, 1.0), (30, 1.125)],
)
def test_value_07_appetite_follows_the_published_q10(temperature: float, factor: float) -> None:
    # Lighton 1988, Camponotus vicinus, Q10 1.79 to 1.84; table derived with 1.8.
    assert metabolic_factor(temperature) == pytest.approx(factor, abs=0.0006)


def test_value_08_five_hundred_garden_ants() -> None:
    # Derived from the model; mass and pace of Lasius niger from memory.
    mass = colony_mass_g(500, 2, Amount.SOME)
    energy = weekly_energy(mass, 24, pace=0.6)
    crickets, flies = split_diet(energy, 2, CRICKET), split_diet(energy, 2, FRUIT_FLY)
    assert mass == pytest.approx(1.5)
    assert energy == pytest.approx(0.811, abs=0.001)
    assert crickets.prey_dry_g == pytest.approx(0.0776, abs=0.0001)
    assert crickets.prey_dry_g / CRICKET.dry_share == pytest.approx(0.252, abs=0.001)
    assert crickets.prey_dry_g / CRICKET.dry_share / 0.44 == pytest.approx(0.57, abs=0.01)
    assert crickets.sugar_dry_g == pytest.approx(0.1007, abs=0.0001)
    assert crickets.sugar_dry_g / 0.2 == pytest.approx(0.503, abs=0.001)
    assert flies.prey_dry_g == pytest.approx(0.0762, abs=0.0001)
    assert flies.prey_dry_g / FRUIT_FLY.dry_share / 0.001 == pytest.approx(257, abs=1)


def test_value_09_a_hundred_acorn_ants_eat_crumbs() -> None:
    # Derived from the model; mass and pace of Temnothorax from memory.
    mass = colony_mass_g(100, 0.7, Amount.SOME)
    energy = weekly_energy(mass, 22, pace=0.4)
    assert mass == pytest.approx(0.105)
    assert energy == pytest.approx(0.0337, abs=0.0001)
    assert split_diet(energy, 2, CRICKET).prey_dry_g / CRICKET.dry_share == pytest.approx(0.0105, abs=0.0001)
    assert split_diet(energy, 2, FRUIT_FLY).prey_dry_g / FRUIT_FLY.dry_share == pytest.approx(0.0107, abs=0.0001)


def test_value_10_seeds_of_five_hundred_harvesters() -> None:
    # Derived; energy of dry seeds and mass of Messor from memory.
    energy = weekly_energy(colony_mass_g(500, 5, Amount.SOME), 26, pace=0.6)
    assert energy == pytest.approx(2.28, abs=0.01)
    assert energy / 4.5 == pytest.approx(0.51, abs=0.005)


def test_value_13_half_an_agar_batch() -> None:
    # Bhatkar & Whitcomb 1970 (second hand): 5 g agar, 500 mL water, 62 mL honey (1000 US minims), 1 egg; rest memory.
    half = scale_batch(0.5)
    assert (half.agar_g, half.water_ml, half.honey_ml, half.egg_g) == (2.5, 250, 31, 25)
    assert (half.vitamins_g, half.minerals_g) == (0.5, 0.5)
    assert pytest.approx(62, abs=0.5) == 1000 * 0.0616115
    assert pytest.approx(BATCH_RATIO, rel=0.05) == 62 * 1.42 * 0.8 / 6.3


def test_an_unweighable_batch_is_refused() -> None:
    with pytest.raises(BadValueError, match="weighed"):
        scale_batch(0.04)


@pytest.mark.parametrize(
    ("protein", "carbohydrate", "grams"), [(1, 2, (100, 200)), (3, 1, (225, 75)), (1, 5, (50, 250))]
)
def test_value_14_grams_of_a_diet_of_300_g_per_litre(
    protein: float, carbohydrate: float, grams: tuple[float, float]
) -> None:
    # Dussutour & Simpson 2009: choice pairs at 300 g/L; grams derived.
    assert grams_per_litre(300, protein, carbohydrate) == pytest.approx(grams)


def test_a_diet_without_parts_is_refused() -> None:
    with pytest.raises(BadValueError, match="parts"):
        grams_per_litre(300, 0, 0)


def test_value_22_alarms_of_a_lopsided_diet() -> None:
    # Dussutour & Simpson 2012: one day of high protein cost over 20 % of a colony. The sugar gap is common practice.
    assert balance_alarm(0.5, 2) is Alarm.RED
    assert balance_alarm(0.5, 1) is None
    assert balance_alarm(2, 30) is None
    assert sugar_gap_alarm(4) is Alarm.AMBER
    assert sugar_gap_alarm(3) is None
    assert protein_gap_alarm(15, larvae=True) is Alarm.AMBER
    assert protein_gap_alarm(15, larvae=False) is None


@pytest.mark.parametrize(
    ("larvae", "ratio"), [(Amount.MANY, 1.5), (Amount.SOME, 2.0), (Amount.FEW, 2.0), (Amount.NONE, 4.0)]
)
def test_targets_of_a_generalist(larvae: Amount, ratio: float) -> None:
    # Rule of thumb across species: Dussutour & Simpson 2009/2012, Cook et al. 2010/2012.
    assert carbohydrate_ratio(larvae, Guild.GENERALIST) == ratio


def test_honeydew_feeders_and_colonies_before_rest_lean_to_sugar_but_never_past_eight() -> None:
    assert carbohydrate_ratio(Amount.SOME, Guild.HONEYDEW) == 3
    assert carbohydrate_ratio(Amount.SOME, Guild.GENERALIST, Phase.WIND_DOWN) == 4
    assert carbohydrate_ratio(Amount.NONE, Guild.HONEYDEW, Phase.WIND_DOWN) == 8


def test_appetite_by_phase() -> None:
    # Engineering judgement of the model: nothing in deep rest, a tenth in a cool one, rising over 14 days.
    assert phase_factor(Phase.REST, 8) == 0
    assert phase_factor(Phase.REST, 14) == 0.1
    assert phase_factor(Phase.WIND_DOWN, 22) == 0.7
    assert phase_factor(Phase.RESUME, 22, 0) == pytest.approx(0.3)
    assert phase_factor(Phase.RESUME, 22, 7) == pytest.approx(0.65)
    assert phase_factor(Phase.RESUME, 22, 14) == 1
    assert phase_factor(Phase.ACTIVE, 22) == 1


@pytest.mark.parametrize(
    ("brood", "expected"),
    [
        (Brood(), (Amount.SOME, True)),
        (Brood(level=Amount.MANY), (Amount.MANY, False)),
        (Brood(level=Amount.MANY, larvae=False), (Amount.NONE, False)),
        (Brood(larvae=True), (Amount.SOME, True)),
        (Brood(level=Amount.NONE), (Amount.NONE, False)),
    ],
)
def test_larvae_are_read_from_what_the_keeper_said(brood: Brood, expected: tuple[Amount, bool]) -> None:
    assert larvae_level(brood) == expected


def test_composition_comes_from_the_food_and_falls_back_on_the_cricket() -> None:
    fly = Food(id="fly", name="fly", kind=FoodKind.PREY, water_percent=70.4, protein_percent=20.7, energy_dry=5.12)
    assert composition_of(fly).protein_dry == pytest.approx(0.70, abs=0.01)
    assert composition_of(fly).dry_share == pytest.approx(0.296)
    assert composition_of(Food(id="x", name="x", kind=FoodKind.PREY)) == CRICKET
    assert composition_of(None) == CRICKET


@given(
    workers=st.integers(0, 20_000_000),
    worker_mg=st.floats(0.01, 100),
    larvae=st.sampled_from(Amount),
    temperature=st.floats(-20, 45),
    pace=st.floats(0.1, 2),
    ratio=st.floats(0, 8),
)
def test_energy_and_diet_are_never_negative_nor_nan(
    *, workers: int, worker_mg: float, larvae: Amount, temperature: float, pace: float, ratio: float
) -> None:
    energy = weekly_energy(colony_mass_g(workers, worker_mg, larvae), temperature, pace=pace)
    diet = split_diet(energy, ratio, CRICKET)
    assert energy >= 0
    assert math.isfinite(energy)
    assert diet.prey_dry_g >= 0
    assert diet.sugar_dry_g == pytest.approx(ratio * CRICKET.protein_dry * diet.prey_dry_g)
    assert diet.prey_dry_g * CRICKET.energy_dry + diet.sugar_dry_g * 3.94 == pytest.approx(energy)
