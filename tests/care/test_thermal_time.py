"""Degree-days, chill, rates, season and soil against printed examples. B numbers: dossier, section B."""

from __future__ import annotations

from datetime import date, timedelta
from math import pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.errors import BadValueError
from bot.care.physics.thermal_time import (
    FULL_CREDIT_MILD_C,
    chilling_hours,
    damped_amplitude,
    damping_depth_m,
    degree_days_average,
    degree_days_sine,
    degree_days_substituted,
    degree_days_triangle,
    development_days,
    first_run,
    growing_season,
    mass_factor,
    q10_between,
    q10_factor,
    q10_of_activation_energy,
    rest_days,
    utah_units,
)
from bot.care.species import Development

ARGENTINE_ANT = Development(threshold_c=15.9, degree_days=445, spread=0.3)
"""Hartley & Lester 2003, as quoted by an agency record."""
TEMPERATURES = st.floats(-40, 60)


def test_average_degree_days_of_extension_pages() -> None:
    """B17, B18: Michigan State extension (F). B20: Cornell network (F). B21: UC IPM (F)."""
    assert degree_days_average(40, 65, 50) == 2.5
    assert degree_days_average(35, 60, 50) == 0
    assert degree_days_average(46, 67, 50) == 6.5
    assert degree_days_average(64, 64, 53) == 11


def test_single_sine_on_the_same_days() -> None:
    """B19 and B20, derived from Baskerville & Emin 1969."""
    assert degree_days_sine(35, 60, 50) == pytest.approx(2.81, abs=0.01)
    assert degree_days_sine(40, 65, 50) == pytest.approx(5.31, abs=0.01)
    assert degree_days_sine(46, 67, 50) == pytest.approx(7.26, abs=0.01)


def test_sine_and_triangle_of_a_published_package() -> None:
    """B22: documentation example of a published R package."""
    assert degree_days_sine(7, 14, 12, 33) == pytest.approx(0.4681, abs=0.005)
    assert degree_days_triangle(7, 14, 12, 33) == pytest.approx(0.2857, abs=0.005)


def test_sine_off_the_threshold() -> None:
    """B23, derived."""
    assert degree_days_sine(16, 30, 15.9) == pytest.approx(7.1, abs=1e-9)
    assert degree_days_sine(2, 9, 10) == 0


def test_sine_with_and_without_upper_cut_off() -> None:
    """B24, derived; B25, closed form: half the range over pi."""
    assert degree_days_sine(5, 25, 10) == pytest.approx(6.09, abs=0.01)
    assert degree_days_sine(5, 25, 10, 20) == pytest.approx(5.00, abs=0.01)
    assert degree_days_sine(0, 20, 10) == pytest.approx(10 / pi, abs=0.001)


def test_substituted_average() -> None:
    """Oregon IPM's rule, worked by hand (derived): 5..25 between 10 and 20 becomes 10..20."""
    assert degree_days_substituted(5, 25, 10, 20) == 5
    assert degree_days_substituted(2, 8, 10, 20) == 0


@given(TEMPERATURES, st.floats(0, 30), st.floats(-20, 40))
def test_methods_agree_above_and_below_and_never_fall_under_the_average(
    low: float, span: float, threshold: float
) -> None:
    high = low + span
    average = degree_days_average(low, high, threshold)
    for method in (degree_days_sine, degree_days_triangle):
        found = method(low, high, threshold)
        assert found >= average - 1e-9
        if low >= threshold or high <= threshold:
            assert found == pytest.approx(average, abs=1e-9)


def test_a_low_above_the_high_is_refused() -> None:
    with pytest.raises(BadValueError, match="cannot lie above"):
        degree_days_sine(20, 10, 10)


@pytest.mark.parametrize(("temperature", "days"), [(20, 108.5), (26, 44.1), (30, 31.6)])
def test_days_to_a_worker(temperature: float, days: float) -> None:
    """B26, derived from the constants of Hartley & Lester 2003."""
    assert development_days(ARGENTINE_ANT, temperature) == pytest.approx(days, abs=0.1)


@pytest.mark.parametrize("temperature", [15.9, 10, -5])
def test_no_worker_at_or_below_the_threshold(temperature: float) -> None:
    """B27, derived: never is a value."""
    assert development_days(ARGENTINE_ANT, temperature) is None


def test_q10_of_a_measured_harvester_ant() -> None:
    """B28, derived from the published line for Pogonomyrmex rugosus: log10 VO2 = -1.588 + 0.0315 T."""
    cool, warm = (10 ** (-1.588 + 0.0315 * temperature) for temperature in (25, 35))
    assert (cool, warm) == pytest.approx((0.158, 0.327), abs=0.001)
    assert q10_between(25, cool, 35, warm) == pytest.approx(2.065, abs=0.001)


@pytest.mark.parametrize(("temperature", "factor"), [(5, 0.25), (15, 0.50), (25, 1), (28, 1.231)])
def test_feeding_factor(temperature: float, factor: float) -> None:
    """B29, derived."""
    assert q10_factor(temperature) == pytest.approx(factor, abs=0.001)


def test_q10_of_an_activation_energy() -> None:
    """B30, derived: 0.65 eV between 20 and 30 C."""
    assert q10_of_activation_energy(0.65, 20, 30) == pytest.approx(2.337, abs=0.005)


def test_a_colony_ten_times_as_heavy() -> None:
    """B31, derived from the published three-quarter power."""
    assert mass_factor(10) == pytest.approx(5.62, abs=0.01)
    assert mass_factor(10) / 10 == pytest.approx(0.562, abs=0.01)


@pytest.mark.parametrize(("temperature", "units"), [(6, 24), (20, -24), (10, 12)])
def test_utah_units_of_a_steady_day(temperature: float, units: float) -> None:
    """B32: weights of Richardson et al. 1974."""
    assert utah_units([temperature] * 24) == units


def test_chilling_hours() -> None:
    """UC Davis: above 0 and up to 7.2 C; the list is derived."""
    assert chilling_hours([-1, 0, 0.1, 5, 7.2, 7.3]) == 3


def test_growing_season_of_the_climate_index() -> None:
    """B33: documentation example of the ETCCDI index, 182 days."""
    means = [15 * sin(2 * pi * position / 364) + 5 for position in range(365)]
    assert growing_season(means, date(2024, 1, 1)).days == 182


def test_growing_season_of_the_south_runs_over_new_year() -> None:
    """Derived: warm from October to April, year counted from July."""
    first = date(2026, 7, 1)
    days = [first + timedelta(days=offset) for offset in range(365)]
    season = growing_season([12.0 if day.month in {10, 11, 12, 1, 2, 3, 4} else 2.0 for day in days], first)
    assert (season.start, season.end) == (date(2026, 10, 1), date(2027, 5, 1))


@pytest.mark.parametrize("mean", [-5.0, 20.0])
def test_a_year_without_a_season_has_no_length(mean: float) -> None:
    assert growing_season([mean] * 365, date(2026, 1, 1)).days is None


def test_a_run_has_to_be_whole() -> None:
    assert first_run([1, 1, 0, 1, 1, 1], bool, 3) == 3
    assert first_run([1, 1, 0, 1, 1], bool, 3) is None


def test_warmth_below_the_ground() -> None:
    """B34: soil-physics texts, diffusivity 0.5e-6 m2/s; B35: ratio of annual and daily depth."""
    daily = damping_depth_m(0.5e-6, 86_400)
    assert daily * 100 == pytest.approx(11.7, abs=0.05)
    assert damped_amplitude(7, 0.10, daily) == pytest.approx(3.0, abs=0.05)
    assert damping_depth_m(0.5e-6, 365.25 * 86_400) / daily == pytest.approx(19.1, abs=0.05)


def test_rest_days_earned() -> None:
    """B37, our proposal: 10 + 2 + 0 + 0."""
    assert rest_days([5] * 10 + [10] * 4 + [15] * 3 + [-1] * 2) == 12.0


def test_rest_days_of_mild_winters() -> None:
    """Our proposal: full credit from 6 to 14 C."""
    assert rest_days([5, 12, 14, 15], FULL_CREDIT_MILD_C) == 2.5


@given(st.lists(TEMPERATURES))
def test_rest_days_never_shrink(means: list[float]) -> None:
    assert 0 <= rest_days(means) <= len(means)
