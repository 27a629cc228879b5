"""Water and its vapour at saturation: pressure, boiling point, latent heat."""

from math import exp, log
from typing import Final

from pitreckon.physics._ranges import within
from pitreckon.physics._roots import bracketed_root
from pitreckon.physics.constants import SEA_LEVEL_PA, ZERO_CELSIUS_K

CRITICAL_K: Final = 647.096
CRITICAL_PA: Final = 22.064e6
TRIPLE_C: Final = 0.01
TRIPLE_PA: Final = 611.657
HOTTEST_C: Final = 350.0
COLDEST_C: Final = -60.0

LATENT_HEAT_0C: Final = 2.5009e6
"""Of the straight line of ``latent_heat_linear``, from memory [J/kg]"""
LATENT_HEAT_SLOPE: Final = -2365.0
"""Of the same line [J/(kg K)]"""

_PRESSURE = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
_ICE = ((-21.2144006, 0.00333333333), (27.3203819, 1.20666667), (-6.10598130, 1.70333333))


def _series(terms: tuple[tuple[float, float], ...], x: float) -> float:
    return sum(factor * float(x**power) for factor, power in terms)


def saturation_pressure_wagner_pruss(temp_c: float) -> float:
    """Saturation pressure over liquid water [Pa].

    Equation::

        T = temp_c + 273.15
        x = 1 - T / 647.096
        series = (-7.85951783 * x + 1.84408259 * x**1.5 - 11.7866497 * x**3
                  + 22.6807411 * x**3.5 - 15.9618719 * x**4 + 1.80122502 * x**7.5)
        pressure_pa = 22.064e6 * exp(647.096 / T * series)

    Parameters
    ----------
    temp_c: temperature, 0.01 to 350 [degC] (the equation itself holds to the critical point)

    Raises
    ------
    RangeError: temperature outside the range

    Source: [wagner_pruss_2002]_, equation 2.5; worked values of [iapws_sr1_86]_.

    >>> round(saturation_pressure_wagner_pruss(0.01), 3)  # triple point, 611.657 Pa
    611.657
    >>> round(saturation_pressure_wagner_pruss(373.1243 - 273.15) / 1e6, 6)  # 0.101325 MPa
    0.101325
    """
    within("temp_c", temp_c, TRIPLE_C, HOTTEST_C, "degC")
    temp_k = temp_c + ZERO_CELSIUS_K
    return CRITICAL_PA * exp(CRITICAL_K / temp_k * _series(_PRESSURE, 1.0 - temp_k / CRITICAL_K))


def saturation_pressure_ice_wagner(temp_c: float) -> float:
    """Saturation pressure over ice [Pa].

    Equation::

        T = temp_c + 273.15
        x = T / 273.16
        series = -21.2144006 * x**0.00333333333 + 27.3203819 * x**1.20666667 - 6.10598130 * x**1.70333333
        pressure_pa = 611.657 * exp(series / x)

    Parameters
    ----------
    temp_c: temperature, -60 to 0.01 [degC] (published from 50 K; colder than -60 no pit is lit)

    Raises
    ------
    RangeError: temperature outside the range

    Source: [wagner_2011]_; worked value of [iapws_r14_08]_, at 230 K 8.94735 Pa.

    >>> round(saturation_pressure_ice_wagner(230.0 - 273.15), 5)
    8.94735
    """
    within("temp_c", temp_c, COLDEST_C, TRIPLE_C, "degC")
    theta = (temp_c + ZERO_CELSIUS_K) / 273.16
    return TRIPLE_PA * exp(_series(_ICE, theta) / theta)


def saturation_pressure(temp_c: float) -> float:
    """Saturation pressure over water, or over ice below the triple point [Pa].

    Equation::

        water_pa, ice_pa = saturation_pressure_wagner_pruss, saturation_pressure_ice_wagner
        pressure_pa = water_pa(temp_c) if temp_c >= 0.01 else ice_pa(temp_c)

    Parameters
    ----------
    temp_c: temperature, -60 to 350 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [wagner_pruss_2002]_ above 0.01 degC, [wagner_2011]_ below.

    >>> round(saturation_pressure(0.01), 1)  # both meet at the triple point, 611.657 Pa
    611.7
    """
    if temp_c < TRIPLE_C:
        return saturation_pressure_ice_wagner(temp_c)
    return saturation_pressure_wagner_pruss(temp_c)


def saturation_temperature(pressure_pa: float) -> float:
    """Temperature at which water (or ice, below 611.657 Pa) has this saturation pressure [degC].

    Equation::

        saturation_pressure(temp_c) = pressure_pa, solved for temp_c

    Parameters
    ----------
    pressure_pa: pressure of the vapour, 1.1 to 1.65e7 [Pa] (-60 to 350 degC)

    Raises
    ------
    RangeError: pressure outside the range

    Source: [wagner_pruss_2002]_ and [wagner_2011]_, inverted by an own bracketed solver.

    >>> round(saturation_temperature(101325.0), 4)  # 373.1243 K in IAPWS SR1-86
    99.9743
    """
    coldest, hottest = saturation_pressure(COLDEST_C), saturation_pressure(HOTTEST_C)
    within("pressure_pa", pressure_pa, coldest, hottest, "Pa")
    target = log(pressure_pa)
    low, high = (TRIPLE_C, HOTTEST_C) if pressure_pa >= saturation_pressure(TRIPLE_C) else (COLDEST_C, TRIPLE_C)
    law = saturation_pressure_wagner_pruss if low == TRIPLE_C else saturation_pressure_ice_wagner
    # at the triple point the two laws differ in the seventh digit: there the end is the answer
    if (log(law(low)) - target) * (log(law(high)) - target) > 0.0:
        return TRIPLE_C
    return bracketed_root(lambda temp_c: log(law(temp_c)) - target, low, high)


def boiling_point(pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Boiling point of water [degC].

    Equation::

        temp_c = saturation_temperature(pressure_pa)

    Parameters
    ----------
    pressure_pa: total pressure, 1e4 to 2e5 [Pa]

    Raises
    ------
    RangeError: pressure outside the range

    Source: [wagner_pruss_2002]_; worked value of [iapws_sr1_86]_, 373.1243 K at 0.101325 MPa.

    >>> round(boiling_point(101325.0), 4)
    99.9743
    """
    within("pressure_pa", pressure_pa, 1e4, 2e5, "Pa")
    return saturation_temperature(pressure_pa)


def pressure_isa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere at an altitude [Pa].

    Equation::

        pressure_pa = 101325 * (1 - 2.25577e-5 * altitude_m)**5.25588

    Parameters
    ----------
    altitude_m: height above sea level, -500 to 5000 [m] (published to 11 000)

    Raises
    ------
    RangeError: altitude outside the range

    Notes: weather moves the true pressure by some 2 %, the boiling point by half a kelvin.

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 3; the table of [coesa_1976]_ gives
    89.876 kPa at 1000 m.

    >>> round(pressure_isa(1000.0) / 1000.0, 2)
    89.87
    """
    within("altitude_m", altitude_m, -500.0, 5000.0, "m")
    return SEA_LEVEL_PA * float((1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def latent_heat_linear(temp_c: float) -> float:
    """Latent heat of evaporation of water, straight line in temperature [J/kg].

    Equation::

        latent_heat = 2.5009e6 - 2365 * temp_c

    Parameters
    ----------
    temp_c: temperature, 0 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: from memory. Within 0.1 % of ``latent_heat_wagner_pruss`` to 60 degC, 0.4 % high at 100,
    1.5 % high at 150.

    Source: [meteorology_latent_heat]_

    >>> round(latent_heat_linear(0.0) / 1000.0, 1)  # triple point, 2500.5 in IAPWS SR1-86
    2500.9
    """
    within("temp_c", temp_c, 0.0, 150.0, "degC")
    return LATENT_HEAT_0C + LATENT_HEAT_SLOPE * temp_c
