"""Moist air against published tables, PsychroLib (ASHRAE formulation) and values computed with other libraries."""

from __future__ import annotations

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.care.errors import BadValueError
from bot.care.physics import air
from bot.care.physics.air import Salt

psychrolib.SetUnitSystem(psychrolib.SI)

WARMTH = st.floats(0, 50)
HUMIDITY = st.floats(1, 100)


@pytest.mark.parametrize(
    ("temperature_c", "kilopascal"), [(10, 1.228), (15, 1.705), (20, 2.338), (25, 3.168), (30, 4.243)]
)
def test_saturation_pressure_matches_the_fao_56_table(temperature_c: float, kilopascal: float) -> None:
    # C1: FAO Irrigation and Drainage Paper 56, annex 2, table 2.3 (printed to three decimals).
    assert air.saturation_pressure(temperature_c) / 1000 == pytest.approx(kilopascal, abs=0.0006)


def test_mean_of_two_temperatures_matches_fao_56_example_3() -> None:
    # C2: FAO-56 example 3, Tmax 24.5 C and Tmin 15 C: 2.39 kPa.
    mean = (air.saturation_pressure(24.5) + air.saturation_pressure(15)) / 2
    assert mean / 1000 == pytest.approx(2.39, abs=0.005)


def test_actual_pressure_matches_fao_56_example_5() -> None:
    # C3: FAO-56 example 5, 18 C at 82 % and 25 C at 54 %: 1.70 kPa.
    mean = (air.vapour_pressure(18, 82) + air.vapour_pressure(25, 54)) / 2
    assert mean / 1000 == pytest.approx(1.70, abs=0.005)


def test_slope_matches_fao_56() -> None:
    # C4: FAO-56 example 17, slope at 30.2 C: 0.246 kPa/K.
    assert air.saturation_slope(30.2) / 1000 == pytest.approx(0.246, abs=0.0005)


def test_saturation_pressure_matches_the_ashrae_table() -> None:
    # C5: ASHRAE Handbook Fundamentals 2017 via the test suite of PsychroLib: 3169.7 Pa at 25 C. C35: IAPWS-97 says the
    # same (computed with the library iapws).
    assert air.saturation_pressure(25) == pytest.approx(3169.7, rel=0.001)


@given(temperature_c=WARMTH)
def test_saturation_pressure_agrees_with_psychrolib(temperature_c: float) -> None:
    # Largest near 0 C: the Tetens form is 0.02 % off there and 0.1 % at 50 C.
    reference = psychrolib.GetSatVapPres(temperature_c)
    assert air.saturation_pressure(temperature_c) == pytest.approx(reference, rel=0.003)


@given(temperature_c=WARMTH)
def test_slope_is_the_derivative_of_the_pressure(temperature_c: float) -> None:
    step = 0.01
    rise = air.saturation_pressure(temperature_c + step) - air.saturation_pressure(temperature_c - step)
    assert air.saturation_slope(temperature_c) == pytest.approx(rise / (2 * step), rel=0.001)


@pytest.mark.parametrize(
    ("temperature_c", "percent", "expected"),
    [(25, 50, 13.86), (20, 60, 12.00), (22, 45, 9.52), (30, 40, 14.93), (28, 97, 27.48), (31, 56, 21.198)],
)
def test_dew_point_matches_published_values(temperature_c: float, percent: float, expected: float) -> None:
    # C6: AERK formula of Alduchov and Eskridge 1996, derived. C7 (31 C, 56 %): test of thermofeel, 294.34844 K.
    assert air.dew_point(temperature_c, percent) == pytest.approx(expected, abs=0.006)


@given(temperature_c=WARMTH, percent=st.floats(15, 100))
def test_dew_point_agrees_with_psychrolib(temperature_c: float, percent: float) -> None:
    reference = psychrolib.GetTDewPointFromRelHum(temperature_c, percent / 100)
    if reference > 0:  # below 0 C PsychroLib speaks of frost
        assert air.dew_point(temperature_c, percent) == pytest.approx(reference, abs=0.1)


def test_dew_point_matches_coolprop() -> None:
    # C35: humid air at 25 C, 50 %, 101325 Pa, computed with CoolProp: 13.87 C.
    assert air.dew_point(25, 50) == pytest.approx(13.87, abs=0.02)


@given(temperature_c=WARMTH)
def test_saturated_air_is_at_its_dew_point(temperature_c: float) -> None:
    assert air.dew_point(temperature_c, 100) == pytest.approx(temperature_c, abs=1e-9)


@pytest.mark.parametrize("percent", [0, -1, 100.1])
def test_dew_point_refuses_humidity_that_cannot_be(percent: float) -> None:
    with pytest.raises(BadValueError, match="above 0 and up to 100 %"):
        air.dew_point(20, percent)


@pytest.mark.parametrize(("temperature_c", "percent", "grams"), [(25, 50, 11.5), (20, 50, 8.6), (12, 75, 8.0)])
def test_absolute_humidity(temperature_c: float, percent: float, grams: float) -> None:
    # C9: gas law, derived.
    assert air.absolute_humidity(temperature_c, percent) == pytest.approx(grams, abs=0.05)


def test_humidity_ratio_from_our_pressures_matches_psychrolib() -> None:
    # C10: W(25 C, 50 %) = 0.00988 at 101325 Pa (PsychroLib). Saturated, the ASHRAE table prints 0.020173: real air
    # takes up about half a percent more than the ideal gas of our formula.
    def ratio(percent: float) -> float:
        pressure = air.vapour_pressure(25, percent)
        return 0.62194 * pressure / (101_325 - pressure)

    assert ratio(50) == pytest.approx(0.00988, abs=0.00001)
    assert ratio(100) == pytest.approx(0.020173, rel=0.006)
    assert ratio(50) == pytest.approx(psychrolib.GetHumRatioFromRelHum(25, 0.5, 101_325), rel=0.001)
    # C35: CoolProp, which also counts the real gas, says 0.00993.
    assert ratio(50) == pytest.approx(0.00993, rel=0.006)


@pytest.mark.parametrize(
    ("temperature_c", "percent", "kilopascal"),
    [(25, 50, 1.584), (22, 45, 1.454), (12, 75, 0.351), (10, 70, 0.368), (30, 40, 2.546)],
)
def test_pressure_deficit(temperature_c: float, percent: float, kilopascal: float) -> None:
    # C11: FAO-56 eq. 11, derived.
    assert air.pressure_deficit(temperature_c, percent) / 1000 == pytest.approx(kilopascal, abs=0.0006)


@given(temperature_c=WARMTH, percent=HUMIDITY)
def test_pressure_and_deficit_make_up_saturation(temperature_c: float, percent: float) -> None:
    total = air.vapour_pressure(temperature_c, percent) + air.pressure_deficit(temperature_c, percent)
    assert total == pytest.approx(air.saturation_pressure(temperature_c))
    assert air.pressure_deficit(temperature_c, percent) >= 0


def test_evaporating_a_gram_an_hour_takes_two_thirds_of_a_watt() -> None:
    # C17: FAO-56 latent heat at 25 C, 0.678 W.
    assert air.vaporisation_heat(25) / 3600 / 1000 == pytest.approx(0.678, abs=0.001)


def test_vapour_diffusivity() -> None:
    # C18: Hall and Pruppacher 1976 (from memory), 2.50e-5 m2/s at 25 C.
    assert air.vapour_diffusivity(25) == pytest.approx(2.50e-5, rel=0.002)


@pytest.mark.parametrize(
    ("salt", "table", "fit"),
    [
        (Salt.TABLE_SALT, 75.29, 75.25),
        (Salt.MAGNESIUM_CHLORIDE, 32.78, 32.79),
        (Salt.POTASSIUM_CHLORIDE, 84.34, 84.17),
        (Salt.POTASSIUM_SULPHATE, 97.30, 97.23),
        (Salt.LITHIUM_CHLORIDE, 11.30, 11.30),
    ],
)
def test_salt_humidity_at_25_c(salt: Salt, table: float, fit: float) -> None:
    # C31: table Greenspan 1977 (from memory), fit CRC Handbook.
    assert air.salt_humidity(salt, 25) == pytest.approx(fit, abs=0.01)
    assert air.salt_humidity(salt, 25) == pytest.approx(table, abs=0.25)


def test_hygrometer_offset_is_added_to_readings() -> None:
    # Worked by hand: over table salt at 25 C stands 75.25 %; a reading of 80 is 4.75 too high.
    assert air.hygrometer_offset(80, 25) == pytest.approx(-4.75, abs=0.01)
