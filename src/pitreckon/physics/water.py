"""Water inside meat: how much it can hold, how it moves, how juice is expelled."""

from __future__ import annotations

from math import exp
from typing import Final

from pitreckon.physics._ranges import within

__all__ = [
    "PERMEABILITY_M2",
    "darcy_transport_coefficient",
    "elastic_modulus_feyissa",
    "expelled_water_first_order",
    "expulsion_rate_first_order",
    "holding_capacity_per_dry_matter",
    "holding_capacity_van_der_sman",
    "water_per_dry_matter",
    "water_viscosity_kestin",
]

PERMEABILITY_M2: Final = 1e-17
"""Darcy permeability of beef as used by Feyissa 2009 (quoted range 1e-19 to 1e-17) [m2]"""

HOLDING_RAW: Final = 0.745
"""Of raw meat, van der Sman 2007 as used by Feyissa 2009 [kg water/kg meat]"""
HOLDING_DROP: Final = 0.345
"""What it loses when hot [kg water/kg meat]"""
HOLDING_FACTOR, HOLDING_PER_K, HOLDING_AT_C = 30.0, 0.25, 52.0
"""Of its sigmoid 1/(1 + factor exp(-(T - at) per_k)) [-, 1/K, degC]"""

MODULUS_RAW_PA: Final = 12e3
"""Elastic modulus of raw meat, Feyissa 2009 [Pa]"""
MODULUS_RISE_PA: Final = 83e3
"""What heating adds to it [Pa]"""
MODULUS_PER_K, MODULUS_AT_C = 0.3, 60.0
"""Of its sigmoid 1/(1 + exp(-(T - at) per_k)) [1/K, degC]"""

COLDEST_C: Final = -2.0
HOTTEST_C: Final = 150.0


def holding_capacity_van_der_sman(temp_c: float) -> float:
    """Water that meat can hold in the end at a temperature [kg water/kg meat].

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


def water_per_dry_matter(water_per_meat: float) -> float:
    """Water content of lean meat, from per kilogram of meat to per kilogram of dry matter [kg/kg].

    Parameters
    ----------
    water_per_meat: 0 to 0.99 [kg/kg]

    Raises
    ------
    RangeError: content outside the range

    Source: [van_der_sman_2007]_ for the basis of its curve; C/(1 - C), 2.92 raw is computed here.

    >>> round(water_per_dry_matter(0.745), 2)
    2.92
    """
    within("water_per_meat", water_per_meat, 0.0, 0.99, "kg/kg")
    return water_per_meat / (1.0 - water_per_meat)


def holding_capacity_per_dry_matter(temp_c: float) -> float:
    """Water that meat can hold in the end, per dry matter of the lean [kg/kg].

    Parameters
    ----------
    temp_c: -2 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [van_der_sman_2007]_, constants as used by [feyissa_2009]_; the value is computed here.

    >>> round(holding_capacity_per_dry_matter(60.0), 2)
    2.09
    """
    return water_per_dry_matter(holding_capacity_van_der_sman(temp_c))


def elastic_modulus_feyissa(temp_c: float) -> float:
    """Elastic modulus of meat, which turns water above the holding capacity into pressure [Pa].

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
    """Dynamic viscosity of water [Pa s].

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
    """Diffusivity-like coefficient of water driven by swelling pressure, K E(T)/mu(T) [m2/s].

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


def expulsion_rate_first_order(water_per_dry: float, settled_per_dry: float, rate_per_s: float) -> float:
    """Change of water content while meat expels juice towards what it can hold [kg/(kg s)].

    Parameters
    ----------
    water_per_dry: water per dry matter now, 0 to 20 [kg/kg]
    settled_per_dry: water per dry matter in the end, 0 to 20 [kg/kg]
    rate_per_s: 0 to 1 [1/s]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: meat does not drink its juice back: below the settled content the change is zero.

    Source: [oillic_2011]_ and [kondjoyan_2013]_ for the form dX/dt = -k (X - X_eq); their constants were
    not seen, the numbers here are only an example.

    >>> expulsion_rate_first_order(3.0, 2.0, 0.001)
    -0.001
    """
    within("water_per_dry", water_per_dry, 0.0, 20.0, "kg/kg")
    within("settled_per_dry", settled_per_dry, 0.0, 20.0, "kg/kg")
    within("rate_per_s", rate_per_s, 0.0, 1.0, "1/s")
    return -rate_per_s * max(0.0, water_per_dry - settled_per_dry)


def expelled_water_first_order(
    water_per_dry: float, settled_per_dry: float, rate_per_s: float, seconds: float
) -> float:
    """Water content after a time at one temperature [kg/kg].

    Parameters
    ----------
    water_per_dry: water per dry matter at the start, 0 to 20 [kg/kg]
    settled_per_dry: water per dry matter in the end, 0 to 20 [kg/kg]
    rate_per_s: 0 to 1 [1/s]
    seconds: 0 to 1e7 [s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [oillic_2011]_ for the form; after one time constant 1/e of the excess is left.

    >>> expelled_water_first_order(3.0, 2.0, 0.001, 1000.0)
    2.3679
    """
    rate = expulsion_rate_first_order(water_per_dry, settled_per_dry, rate_per_s)
    within("seconds", seconds, 0.0, 1e7, "s")
    if rate == 0.0:
        return water_per_dry
    return settled_per_dry + (water_per_dry - settled_per_dry) * exp(-rate_per_s * seconds)
