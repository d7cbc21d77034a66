"""Moist air: vapour pressure, dew point, absolute humidity, and how far a hygrometer is off.

Saturation pressure and its slope: FAO Irrigation and Drainage Paper 56, eq. 11 and 13. Dew point: Alduchov and
Eskridge 1996. Salt points: the fit of the CRC Handbook's constant-humidity table. Good for 0 to 50 °C over water.
"""

from __future__ import annotations

from enum import StrEnum
from math import exp, log

from bot.care.errors import BadValueError

ZERO_C_IN_K = 273.15
VAPOUR_GAS_CONSTANT = 461.5
"""J/(kg K)."""


def saturation_pressure(temperature_c: float) -> float:
    """Vapour pressure of saturated air, Pa (FAO-56 eq. 11)."""
    return 610.8 * exp(17.27 * temperature_c / (temperature_c + 237.3))


def saturation_slope(temperature_c: float) -> float:
    """Rise of the saturation pressure with temperature, Pa/K (FAO-56 eq. 13)."""
    return 4098 * saturation_pressure(temperature_c) / (temperature_c + 237.3) ** 2


def vapour_pressure(temperature_c: float, humidity_percent: float) -> float:
    """Vapour pressure of air at a relative humidity, Pa."""
    return humidity_percent / 100 * saturation_pressure(temperature_c)


def pressure_deficit(temperature_c: float, humidity_percent: float) -> float:
    """How much vapour pressure is missing to saturation at air temperature, Pa; 0 in saturated air."""
    return saturation_pressure(temperature_c) - vapour_pressure(temperature_c, humidity_percent)


def dew_point(temperature_c: float, humidity_percent: float) -> float:
    """Temperature below which a surface sweats in this air, C (Alduchov and Eskridge 1996, AERK).

    Raises:
        BadValueError: the humidity is not above 0 and at most 100 %.
    """
    if not 0 < humidity_percent <= 100:
        raise BadValueError("humidity_percent", "Relative humidity lies above 0 and up to 100 %.")
    gamma = log(humidity_percent / 100) + 17.625 * temperature_c / (243.04 + temperature_c)
    return 243.04 * gamma / (17.625 - gamma)


def absolute_humidity(temperature_c: float, humidity_percent: float) -> float:
    """Water in the air, g/m3 (gas law)."""
    kelvin = temperature_c + ZERO_C_IN_K
    return 1000 * vapour_pressure(temperature_c, humidity_percent) / (VAPOUR_GAS_CONSTANT * kelvin)


def vaporisation_heat(temperature_c: float) -> float:
    """Heat that evaporating takes, J/kg (FAO-56)."""
    return (2.501 - 0.00236 * temperature_c) * 1e6


def vapour_diffusivity(temperature_c: float) -> float:
    """Diffusivity of water vapour in air at sea level, m2/s (Hall and Pruppacher 1976)."""
    return 0.211e-4 * float(((temperature_c + ZERO_C_IN_K) / ZERO_C_IN_K) ** 1.94)


class Salt(StrEnum):
    """Salts whose saturated slush holds the air above it at a known humidity."""

    TABLE_SALT = "NaCl"
    MAGNESIUM_CHLORIDE = "MgCl2"
    POTASSIUM_CHLORIDE = "KCl"
    POTASSIUM_SULPHATE = "K2SO4"
    LITHIUM_CHLORIDE = "LiCl"


_SALT_FIT = {
    Salt.TABLE_SALT: (69.20, 25),
    Salt.MAGNESIUM_CHLORIDE: (29.26, 34),
    Salt.POTASSIUM_CHLORIDE: (49.38, 159),
    Salt.POTASSIUM_SULPHATE: (86.75, 34),
    Salt.LITHIUM_CHLORIDE: (14.53, -75),
}


def salt_humidity(salt: Salt, temperature_c: float) -> float:
    """Relative humidity over a saturated salt, % (CRC fit, good to about 2 %)."""
    factor, rise = _SALT_FIT[salt]
    return factor * exp(rise / (temperature_c + ZERO_C_IN_K))


def hygrometer_offset(reading_percent: float, temperature_c: float, salt: Salt = Salt.TABLE_SALT) -> float:
    """What to add to a hygrometer that shows `reading_percent` in the sealed box with the salt, in points of RH."""
    return salt_humidity(salt, temperature_c) - reading_percent
