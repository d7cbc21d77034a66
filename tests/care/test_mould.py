"""Mould against the published VTT model and growth lines; the days-wet index of nests is derived from them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.errors import BadValueError
from bot.care.water import mould
from bot.care.water.mould import Sensitivity, WetIndex


@pytest.mark.parametrize(("temperature_c", "percent"), [(1, 97.03), (5, 88.02), (10, 82.03), (20, 80.04)])
def test_critical_humidity(temperature_c: float, percent: float) -> None:
    # C27: polynomial of Hukka and Viitanen 1999.
    assert mould.critical_humidity(temperature_c) == pytest.approx(percent, abs=0.006)


def test_critical_humidity_is_flat_above_20_c_and_refuses_other_ranges() -> None:
    assert mould.critical_humidity(30) == 80
    with pytest.raises(BadValueError, match="0 to 50 °C"):
        mould.critical_humidity(51)


def test_times_on_pine_at_25_c() -> None:
    # C28: Hukka and Viitanen 1999: traces after 8.92 days, visible after 2.529 weeks at 97 %; the ratio gives the pace
    # above index 1, which the class table prints as 2.
    traces, visible = mould.weeks_to_traces(25, 97), mould.weeks_to_visible(25, 97)
    assert traces * 7 == pytest.approx(8.92, abs=0.005)
    assert visible == pytest.approx(2.529, abs=0.001)
    assert 2 / (visible / traces - 1) == pytest.approx(2.03, abs=0.005)


def days_to(index: float, sensitivity: Sensitivity, temperature_c: float, percent: float) -> float:
    value, hours = 0.0, 0
    while value < index:
        value += mould.daily_growth(sensitivity, temperature_c, percent, value) / 24
        hours += 1
    return hours / 24


@pytest.mark.parametrize(
    ("sensitivity", "index", "days"),
    [
        (Sensitivity.VERY_SENSITIVE, 1, 10.4),
        (Sensitivity.VERY_SENSITIVE, 3, 20.8),
        (Sensitivity.SENSITIVE, 1, 18.0),
        (Sensitivity.SENSITIVE, 3, 72.0),
        (Sensitivity.MEDIUM, 1, 145),
    ],
)
def test_growth_at_20_c_over_a_wet_wall(sensitivity: Sensitivity, index: float, days: float) -> None:
    # C29 and the shelf's table at 20 C, 97 %: hourly stepping of the published equations, derived.
    assert days_to(index, sensitivity, 20, 97) == pytest.approx(days, rel=0.01)


def test_highest_index_and_no_growth_when_dry() -> None:
    # C29: Mmax 5.50 for pine at 20 C, 97 %.
    assert mould.highest_index(Sensitivity.VERY_SENSITIVE, 20, 97) == pytest.approx(5.50, abs=0.005)
    assert mould.daily_growth(Sensitivity.VERY_SENSITIVE, 20, 79, 0) == 0
    assert mould.daily_growth(Sensitivity.RESISTANT, 20, 84, 0) == 0


def test_growth_lines() -> None:
    # C30: closed form of Zeng et al. 2023 at 20 C: no growth below 75.6 %, 4 mm a day at 91.1 %.
    assert mould.growth_limit(20) == pytest.approx(75.6, abs=0.05)
    assert mould.growth_limit(20, 0.8701) == pytest.approx(91.1, abs=0.05)


@pytest.mark.parametrize(("temperature_c", "sensitivity", "days"), [(25, 0.58, 15.4), (12, 1.0, 14.7), (30, 1.0, 7.9)])
def test_days_wet_until_traces(temperature_c: float, sensitivity: float, days: float) -> None:
    # C34 and the checks beside the index: derived from the VTT time at 25 C, 97 %.
    index = WetIndex().wet(days, temperature_c, sensitivity)
    assert index.value == pytest.approx(1, abs=0.01)


def test_a_dry_week_halves_the_index_and_erases_nothing() -> None:
    # Judgement of the model in use: half, not zero.
    wet = WetIndex(1.6)
    assert wet.dry(7).value == pytest.approx(0.8)
    assert wet.dry(70).value == pytest.approx(0.8)
    assert 0.8 < wet.dry(3).value < 1.6
    assert [WetIndex(value).level for value in (0.49, 0.5, 1, 2)] == [0, 1, 2, 3]


def test_p20_taking_turns_keeps_the_index_lower_than_one_wet_side() -> None:
    # P20, common practice, no source: no place stays wet, so less mould.
    turns, always = WetIndex(), WetIndex()
    for _ in range(10):
        turns = turns.wet(7, 25, 0.58).dry(7)
        always = always.wet(14, 25, 0.58)
    assert turns.wet(7, 25, 0.58).value < 1 < always.value


@given(days=st.floats(0, 60), more=st.floats(0, 30), temperature_c=st.floats(1, 35))
def test_more_wet_days_and_warmth_never_lower_the_index(days: float, more: float, temperature_c: float) -> None:
    index = WetIndex().wet(days, temperature_c, 0.58)
    assert index.wet(more, temperature_c, 0.58).value >= index.value
    assert WetIndex().wet(days, temperature_c + 3, 0.58).value >= index.value
