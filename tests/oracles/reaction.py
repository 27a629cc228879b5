"""What heat does to meat, in the form of the papers."""

from __future__ import annotations

from math import exp, log
from typing import Final

from pitreckon.physics._ranges import within
from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K
from pitreckon.physics.reaction import (
    COLLAGEN_HALF_AT_C,
    COLLAGEN_HALF_S,
    COLLAGEN_SHRINK_ACTIVATION,
)

COLDEST_C: Final = -2.0
HOTTEST_C: Final = 250.0
MOST_RATE: Final = 1e6
MOST_ACTIVATION: Final = 1e6


def rate_arrhenius(temp_c: float, rate_ref_per_s: float, ref_c: float, activation_j_mol: float) -> float:
    """Oracle of section.laws.arrhenius and section.laws.diffusion_shape.

    Rate of a reaction whose rate at one temperature is known [1/s].

    Parameters
    ----------
    temp_c, ref_c: -2 to 250 [degC]
    rate_ref_per_s: rate at ``ref_c``, 0 to 1e6 [1/s]
    activation_j_mol: activation energy, 0 to 1e6 [J/mol]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [arrhenius_1889]_; 83 kJ/mol make a factor of 2.1 from 90 to 100 degC, the ratio of the
    rates that [olatunji_2017]_ found for gelatin.

    >>> rate_arrhenius(100.0, 1.0, 90.0, 83e3)
    2.1
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    within("ref_c", ref_c, COLDEST_C, HOTTEST_C, "degC")
    within("rate_ref_per_s", rate_ref_per_s, 0.0, MOST_RATE, "1/s")
    within("activation_j_mol", activation_j_mol, 0.0, MOST_ACTIVATION, "J/mol")
    colder = 1.0 / (ref_c + ZERO_CELSIUS_K) - 1.0 / (temp_c + ZERO_CELSIUS_K)
    return rate_ref_per_s * exp(activation_j_mol / GAS_CONSTANT * colder)


def collagen_shrink_rate_bertola(temp_c: float) -> float:
    """Oracle of section.laws.SHRINK_RATE and SHRINK_EA_OVER_R.

    Rate at which native collagen shrinks and beef softens, below 65 degC [1/s].

    Parameters
    ----------
    temp_c: -2 to 65; above, hardening sets in and the softening kinetics no longer hold [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: activation energies for heated muscle proteins scatter by a factor of two between papers.

    Source: [machlik_draudt_1963]_ for half in 11 min at 58 degC, [bertola_1994]_ for 604.6 kJ/mol; together
    they make a half life of 42 min at 56 degC (computed here).

    >>> round(log(2.0) / collagen_shrink_rate_bertola(56.0) / 60.0)
    42
    """
    within("temp_c", temp_c, COLDEST_C, 65.0, "degC")
    return rate_arrhenius(temp_c, log(2.0) / COLLAGEN_HALF_S, COLLAGEN_HALF_AT_C, COLLAGEN_SHRINK_ACTIVATION)


def browning_speed(temp_c: float, onset_c: float, activation_j_mol: float, dryness: float = 1.0) -> float:
    """Oracle of section.browning.

    How many times faster than at its onset a sugar browns [-].

    Parameters
    ----------
    temp_c: of the surface, -2 to 250 [degC]
    onset_c: where the dry sugar browns within ``BROWNING_ONSET_S``, -2 to 250 [degC]
    activation_j_mol: 0 to 1e6; ``BROWNING_ACTIVATION`` has the usual ends [J/mol]
    dryness: 1 less the water activity; a wet surface does not caramelise, 0 to 1 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: rough, and meant to compare: the onsets are household knowledge, nobody names a measurement.
    ``section.browning`` has it for whole histories.

    Source: [arrhenius_1889]_ for the form, [shin_ahn_1999]_ for the energy; a dry sugar at its onset browns at speed 1.

    >>> browning_speed(160.0, 160.0, 120e3)
    1.0
    """
    within("dryness", dryness, 0.0, 1.0)
    return dryness * rate_arrhenius(temp_c, 1.0, onset_c, activation_j_mol)
