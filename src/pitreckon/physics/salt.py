"""Salt on its way into meat."""

from math import exp, sqrt
from typing import Final

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K

NACL_DIFFUSIVITY_5C: Final = 1.90e-10
"""Pork loin at 5 degC, 1.90 with a spread of 0.28 [m2/s]"""
NACL_ACTIVATION: Final = 25e3
"""From memory, 20 to 30 kJ/mol [J/mol]"""


def diffusivity_nacl(temp_c: float, activation_j_mol: float = NACL_ACTIVATION) -> float:
    """Effective diffusivity of NaCl in raw pork loin [m2/s].

    Equation::

        T = temp_c + 273.15
        diffusivity = 1.90e-10 * exp(activation_j_mol / 8.314462618 * (1 / 278.15 - 1 / T))

    Parameters
    ----------
    temp_c: -2 to 40; measured at 5 [degC]
    activation_j_mol: 0 to 1e5, the default is from memory [J/mol]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [salt_pork_loin]_ at 5 degC, [salt_activation]_ for other temperatures

    >>> round(diffusivity_nacl(5.0) * 1e10, 2)
    1.90
    """
    within("temp_c", temp_c, -2.0, 40.0, "degC")
    within("activation_j_mol", activation_j_mol, 0.0, 1e5, "J/mol")
    colder = 1.0 / (5.0 + ZERO_CELSIUS_K) - 1.0 / (temp_c + ZERO_CELSIUS_K)
    return NACL_DIFFUSIVITY_5C * exp(activation_j_mol / GAS_CONSTANT * colder)


def _check(diffusivity_m2_s: float, seconds: float) -> None:
    within("diffusivity_m2_s", diffusivity_m2_s, 1e-13, 1e-8, "m2/s")
    above_zero("seconds", seconds, 1e8, "s")


def penetration_depth(diffusivity_m2_s: float, seconds: float) -> float:
    """Depth that salt has reached, 2 sqrt(D t): there a sixth of the surface strength [m].

    Equation::

        depth = 2 * sqrt(diffusivity_m2_s * seconds)

    Parameters
    ----------
    diffusivity_m2_s: 1e-13 to 1e-8 [m2/s]
    seconds: above 0 to 1e8 [s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [crank_1975]_; 8.1 mm in a day at 1.90e-10 m2/s is computed here.

    >>> round(penetration_depth(1.90e-10, 86400.0) * 1000.0, 1)
    8.1
    """
    _check(diffusivity_m2_s, seconds)
    return 2.0 * sqrt(diffusivity_m2_s * seconds)
