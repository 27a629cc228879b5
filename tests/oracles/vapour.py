"""Saturation in the form of its paper."""

from __future__ import annotations

from math import exp, log
from typing import Final

from pitreckon.physics.constants import ZERO_CELSIUS_K
from pitreckon.physics.vapour import _PRESSURE, CRITICAL_K, CRITICAL_PA, _series, saturation_pressure_wagner_pruss

CRITICAL_DENSITY: Final = 322.0
_LIQUID = (
    (1.99274064, 1 / 3),
    (1.09965342, 2 / 3),
    (-0.510839303, 5 / 3),
    (-1.75493479, 16 / 3),
    (-45.5170352, 43 / 3),
    (-6.74694450e5, 110 / 3),
)
_VAPOUR = (
    (-2.03150240, 2 / 6),
    (-2.68302940, 4 / 6),
    (-5.38626492, 8 / 6),
    (-17.2991605, 18 / 6),
    (-44.7586581, 37 / 6),
    (-63.9201063, 71 / 6),
)


def saturation_pressure_slope_wagner_pruss(temp_c: float) -> float:
    """Oracle of section.laws.saturation_slope.

    Slope of the saturation pressure over liquid water, dp/dT [Pa/K].

    Parameters
    ----------
    temp_c: temperature, 0.01 to 350 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [wagner_pruss_2002]_, derivative of equation 2.5; worked value of [iapws_sr1_86]_.

    >>> round(saturation_pressure_slope_wagner_pruss(373.1243 - 273.15))  # 3.616e3 Pa/K
    3616
    """
    pressure = saturation_pressure_wagner_pruss(temp_c)
    temp_k = temp_c + ZERO_CELSIUS_K
    left = 1.0 - temp_k / CRITICAL_K
    climb = sum(factor * power * float(left ** (power - 1.0)) for factor, power in _PRESSURE)
    return -pressure / temp_k * (log(pressure / CRITICAL_PA) + climb)


def latent_heat_wagner_pruss(temp_c: float) -> float:
    """Oracle of physics.vapour.latent_heat_linear and section.laws.latent_heat.

    Latent heat of evaporation of water, from Clapeyron's relation [J/kg].

    Parameters
    ----------
    temp_c: temperature, 0.01 to 350 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [wagner_pruss_2002]_, equations 2.5 to 2.7; worked values of [iapws_sr1_86]_ at
    373.1243 K: 2675.7 - 419.05 = 2256.65 kJ/kg.

    >>> round(latent_heat_wagner_pruss(373.1243 - 273.15) / 1000.0, 1)
    2256.7
    """
    slope = saturation_pressure_slope_wagner_pruss(temp_c)
    temp_k = temp_c + ZERO_CELSIUS_K
    left = 1.0 - temp_k / CRITICAL_K
    liquid = CRITICAL_DENSITY * (1.0 + _series(_LIQUID, left))
    vapour = CRITICAL_DENSITY * exp(_series(_VAPOUR, left))
    return temp_k * slope * (1.0 / vapour - 1.0 / liquid)
