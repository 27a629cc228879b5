"""Water inside meat, in the form of the papers."""

from __future__ import annotations

from math import exp
from typing import Final

from pitreckon.physics._ranges import within
from pitreckon.physics.water import (
    HOLDING_AT_C,
    HOLDING_FACTOR,
    HOLDING_PER_K,
    MODULUS_AT_C,
    MODULUS_PER_K,
    MODULUS_RAW_PA,
    MODULUS_RISE_PA,
)

PERMEABILITY_M2: Final = 1e-17
"""Darcy permeability of beef as used by Feyissa 2009 (quoted range 1e-19 to 1e-17) [m2]"""
HOLDING_RAW: Final = 0.745
"""Of raw meat, van der Sman 2007 as used by Feyissa 2009 [kg water/kg meat]"""
HOLDING_DROP: Final = 0.345
"""What it loses when hot [kg water/kg meat]"""
COLDEST_C: Final = -2.0
HOTTEST_C: Final = 150.0


def holding_capacity_van_der_sman(temp_c: float) -> float:
    """Oracle of section.laws.transport_and_holding.

    Water that meat can hold in the end at a temperature [kg water/kg meat].

    An asymptote: meat does not reach it in roasting times, so use it with a rate, never as a value at once.

    Parameters
    ----------
    temp_c: -2 to 150 (measured between about 20 and 90; the curve is flat outside) [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [van_der_sman_2007]_, constants as used by [feyissa_2009]_; the value is computed here.

    >>> round(holding_capacity_van_der_sman(60.0), 4)
    0.6768
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    return HOLDING_RAW - HOLDING_DROP / (1.0 + HOLDING_FACTOR * exp(-HOLDING_PER_K * (temp_c - HOLDING_AT_C)))


def elastic_modulus_feyissa(temp_c: float) -> float:
    """Oracle of section.laws.transport_and_holding.

    Elastic modulus of meat, which turns water above the holding capacity into pressure [Pa].

    Parameters
    ----------
    temp_c: -2 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: independent stiffness: 6 kPa unheated, under 14 kPa with all myosin denatured, 60 kPa with all
    actin denatured [ishiwatari_2013]_.

    Source: [feyissa_2009]_; the value is computed here.

    >>> round(elastic_modulus_feyissa(60.0) / 1000.0, 1)
    53.5
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    return MODULUS_RAW_PA + MODULUS_RISE_PA / (1.0 + exp(-MODULUS_PER_K * (temp_c - MODULUS_AT_C)))


def water_viscosity_kestin(temp_c: float) -> float:
    """Oracle of section.laws.transport_and_holding.

    Dynamic viscosity of water [Pa s].

    Parameters
    ----------
    temp_c: -2 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: the exponential printed with the meat model gives 0.049 Pa s at 20 degC, which is not water.

    Source: [kestin_1978]_, which rests on 1.002 mPa s at 20 degC.

    >>> round(water_viscosity_kestin(20.0) * 1000.0, 3)
    1.002
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    below = 20.0 - temp_c
    bracket = 1.2378 + below * (-1.303e-3 + below * (3.06e-6 + below * 2.55e-8))
    return 1.002e-3 * float(10.0 ** (below / (temp_c + 96.0) * bracket))


def darcy_transport_coefficient(temp_c: float, permeability_m2: float = PERMEABILITY_M2) -> float:
    """Oracle of section.laws.transport_and_holding.

    Diffusivity-like coefficient of water driven by swelling pressure, K E(T)/mu(T) [m2/s].

    Parameters
    ----------
    temp_c: -2 to 150 [degC]
    permeability_m2: 1e-20 to 1e-14 [m2]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: the permeability wants fitting, and above 100 degC there is no liquid water at a pit's pressure.

    Source: [feyissa_2009]_ with water by [kestin_1978]_; at 20 degC it is 1e-17 x 12e3 / 1.002e-3.

    >>> round(darcy_transport_coefficient(20.0) * 1e10, 2)
    1.20
    """
    within("permeability_m2", permeability_m2, 1e-20, 1e-14, "m2")
    return permeability_m2 * elastic_modulus_feyissa(temp_c) / water_viscosity_kestin(temp_c)
