"""What heat does to meat over time: first-order reactions with Arrhenius rates."""

from __future__ import annotations

from math import exp, log
from typing import Final

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K

__all__ = [
    "ACTIN_ACTIVATION",
    "BITTER_DOSE",
    "BROWNING_ACTIVATION",
    "BROWNING_ONSET_S",
    "COLLAGEN_SHRINK_ACTIVATION",
    "GELATIN_ACTIVATION",
    "MYOGLOBIN_ACTIVATION",
    "actin_denaturation_rate_kajitani",
    "activation_from_rates",
    "browning_speed",
    "coagulation_rate_jacques",
    "collagen_shrink_rate_bertola",
    "collagen_to_gelatin_rate",
    "half_life",
    "myoglobin_denaturation_rate_geileskey",
    "rate_arrhenius",
    "remaining_first_order",
    "z_value",
]

COLLAGEN_SHRINK_ACTIVATION: Final = 604.6e3
"""Softening of beef below 65 degC, Bertola 1994 [J/mol]"""
GELATIN_ACTIVATION: Final = 150e3
"""Shrunken collagen to gelatin, from memory: 150 with a spread of 80 kJ/mol [J/mol]"""
ACTIN_ACTIVATION: Final = 250e3
"""Kajitani 2011 [J/mol]"""
MYOGLOBIN_ACTIVATION: Final = 290e3
"""Geileskey 1998 [J/mol]"""
BROWNING_ACTIVATION: Final = (105e3, 145e3)
"""Browning of sucrose and of glucose with an amino acid at 60-140 degC: Shin and Ahn 1999, Korean J. Food Cookery
Sci. (the abstract, seen; it prints J/mol, which must be kJ/mol) [J/mol]"""
BROWNING_ONSET_S: Final = (300.0, 1200.0)
"""What "within minutes" at the onset may mean, from memory [s]"""
BITTER_DOSE: Final = 4.0
"""Times the browning at the onset from which on a sugar is bitter, from memory [-]"""
COLLAGEN_HALF_S, COLLAGEN_HALF_AT_C = 660.0, 58.0
"""Native collagen halves in this time at this temperature, Machlik & Draudt 1963 [s, degC]"""

COLDEST_C: Final = -2.0
HOTTEST_C: Final = 250.0
MOST_RATE: Final = 1e6
MOST_ACTIVATION: Final = 1e6
BOLTZMANN_OVER_PLANCK: Final = 2.083661912e10


def rate_arrhenius(temp_c: float, rate_ref_per_s: float, ref_c: float, activation_j_mol: float) -> float:
    """Rate of a reaction whose rate at one temperature is known [1/s].

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


def half_life(rate_per_s: float) -> float:
    """Time in which half is converted by a first-order reaction [s].

    Parameters
    ----------
    rate_per_s: above 0 to 1e6 [1/s]

    Raises
    ------
    RangeError: rate outside the range

    Source: [arrhenius_1889]_; ln 2 over the rate. [machlik_draudt_1963]_ found 11 min at 58 degC.

    >>> round(half_life(collagen_shrink_rate_bertola(58.0)) / 60.0, 1)
    11.0
    """
    above_zero("rate_per_s", rate_per_s, MOST_RATE, "1/s")
    return log(2.0) / rate_per_s


def remaining_first_order(rate_per_s: float, seconds: float) -> float:
    """Share that is left after a time at a constant rate [0-1].

    Parameters
    ----------
    rate_per_s: 0 to 1e6 [1/s]
    seconds: 0 to 1e9 [s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [geileskey_1998]_: about a minute at 63 degC denatures 6.5 % of the myoglobin.

    >>> round(1.0 - remaining_first_order(myoglobin_denaturation_rate_geileskey(63.0), 0.98 * 60.0), 3)
    0.065
    """
    within("rate_per_s", rate_per_s, 0.0, MOST_RATE, "1/s")
    within("seconds", seconds, 0.0, 1e9, "s")
    return exp(-rate_per_s * seconds)


def z_value(activation_j_mol: float, temp_c: float) -> float:
    """Temperature rise that makes a reaction ten times as fast, in the neighbourhood of a temperature [K].

    Parameters
    ----------
    activation_j_mol: above 0 to 1e6 [J/mol]
    temp_c: -2 to 250 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_ for z, [arrhenius_1889]_ for the rate; the value is computed here.

    >>> round(z_value(290e3, 70.0), 1)
    7.8
    """
    above_zero("activation_j_mol", activation_j_mol, MOST_ACTIVATION, "J/mol")
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    return log(10.0) * GAS_CONSTANT * (temp_c + ZERO_CELSIUS_K) ** 2 / activation_j_mol


def activation_from_rates(rate_ratio: float, cold_c: float, hot_c: float) -> float:
    """Activation energy that makes a reaction so many times faster between two temperatures [J/mol].

    Parameters
    ----------
    rate_ratio: rate at the hotter over rate at the colder, above 0 to 1e6 [-]
    cold_c, hot_c: two temperatures that differ, -2 to 250 [degC]

    Raises
    ------
    RangeError: an argument outside its range, or equal temperatures

    Source: [kerth_briskets]_: flats after 3 h at 85 degC about equal flats just come to 90; if the climb took
    1.5 h, k(87.5) = 2 k(85), which makes some 300 kJ/mol (computed here).

    >>> round(activation_from_rates(2.0, 85.0, 87.5) / 1e3)
    298
    """
    above_zero("rate_ratio", rate_ratio, 1e6)
    within("cold_c", cold_c, COLDEST_C, HOTTEST_C, "degC")
    within("hot_c", hot_c, COLDEST_C, HOTTEST_C, "degC")
    above_zero("hot_c - cold_c", hot_c - cold_c, HOTTEST_C - COLDEST_C, "K")
    step = 1.0 / (cold_c + ZERO_CELSIUS_K) - 1.0 / (hot_c + ZERO_CELSIUS_K)
    return GAS_CONSTANT * log(rate_ratio) / step


def collagen_shrink_rate_bertola(temp_c: float) -> float:
    """Rate at which native collagen shrinks and beef softens, below 65 degC [1/s].

    Parameters
    ----------
    temp_c: -2 to 65; above, hardening sets in and the softening kinetics no longer hold [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: activation energies for heated muscle proteins scatter by a factor of two between papers.

    Source: [machlik_draudt_1963]_ for half in 11 min at 58 degC, [bertola_1994]_ for 604.6 kJ/mol; together
    they make a half life of 42 min at 56 degC (computed here).

    >>> round(half_life(collagen_shrink_rate_bertola(56.0)) / 60.0)
    42
    """
    within("temp_c", temp_c, COLDEST_C, 65.0, "degC")
    return rate_arrhenius(temp_c, log(2.0) / COLLAGEN_HALF_S, COLLAGEN_HALF_AT_C, COLLAGEN_SHRINK_ACTIVATION)


def collagen_to_gelatin_rate(
    temp_c: float,
    rate_ref_per_s: float,
    ref_c: float = 85.0,
    activation_j_mol: float = GELATIN_ACTIVATION,
) -> float:
    """Rate at which shrunken collagen turns to gelatin, the slow step of tenderness [1/s].

    Parameters
    ----------
    temp_c, ref_c: -2 to 120 [degC]
    rate_ref_per_s: rate at ``ref_c``; no source gives it, fit it, 0 to 1e6 [1/s]
    activation_j_mol: 0 to 1e6; the default is from memory, spread 80 kJ/mol [J/mol]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [collagen_gelatin_activation]_; [kerth_briskets]_ allows 80 to 300 kJ/mol. With a ratio of 1.2
    between 85 and 87.5 degC (a climb of 2.5 h) it is some 80 (computed here).

    >>> round(collagen_to_gelatin_rate(87.5, 1.0, activation_j_mol=80e3), 1)
    1.2
    """
    within("temp_c", temp_c, COLDEST_C, 120.0, "degC")
    within("ref_c", ref_c, COLDEST_C, 120.0, "degC")
    return rate_arrhenius(temp_c, rate_ref_per_s, ref_c, activation_j_mol)


def actin_denaturation_rate_kajitani(temp_c: float, salt_mg_g: float = 2.0) -> float:
    """Rate of actin denaturation in pork, which stiffens it and drives juice out [1/s].

    Parameters
    ----------
    temp_c: -2 to 100; measured about 70, carried elsewhere by the activation energy [degC]
    salt_mg_g: NaCl in the meat, 2 (unsalted) to 40 [mg/g]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: the paper's abstract gives 0.10 per minute at 2 mg/g and 1.75 at 40, both at 70 degC. The straight
    line in the logarithm between them is ours.

    Source: [kajitani_2011]_

    >>> round(actin_denaturation_rate_kajitani(70.0, 40.0) * 60.0, 2)
    1.75
    """
    within("temp_c", temp_c, COLDEST_C, 100.0, "degC")
    within("salt_mg_g", salt_mg_g, 2.0, 40.0, "mg/g")
    at_70_per_min = 0.10 * exp(log(1.75 / 0.10) * (salt_mg_g - 2.0) / 38.0)
    return rate_arrhenius(temp_c, at_70_per_min / 60.0, 70.0, ACTIN_ACTIVATION)


def myoglobin_denaturation_rate_geileskey(temp_c: float) -> float:
    """Rate at which the red of beef turns grey [1/s].

    Parameters
    ----------
    temp_c: -2 to 100; measured about 60 to 70 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [geileskey_1998]_, k0 7.98e43 per minute and 290 kJ/mol; 0.571 per minute at 70 degC computed
    here.

    >>> round(myoglobin_denaturation_rate_geileskey(70.0) * 60.0, 2)
    0.57
    """
    within("temp_c", temp_c, COLDEST_C, 100.0, "degC")
    return 7.98e43 / 60.0 * exp(-MYOGLOBIN_ACTIVATION / (GAS_CONSTANT * (temp_c + ZERO_CELSIUS_K)))


def coagulation_rate_jacques(temp_c: float, enthalpy_j_mol: float = 400e3) -> float:
    """Rate of thermal coagulation of tissue in general, Eyring's form [1/s].

    Parameters
    ----------
    temp_c: 30 to 100 [degC]
    enthalpy_j_mol: activation enthalpy, 1e5 to 8e5 [J/mol]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [jacques_2006]_, entropy -327.5 + 3.147e-3 times enthalpy; 0.059 per second at 60 degC for
    400 kJ/mol is computed here.

    >>> round(coagulation_rate_jacques(60.0), 3)
    0.059
    """
    within("temp_c", temp_c, 30.0, 100.0, "degC")
    within("enthalpy_j_mol", enthalpy_j_mol, 1e5, 8e5, "J/mol")
    temp_k = temp_c + ZERO_CELSIUS_K
    entropy = -327.5 + 3.147e-3 * enthalpy_j_mol
    return BOLTZMANN_OVER_PLANCK * temp_k * exp((entropy - enthalpy_j_mol / temp_k) / GAS_CONSTANT)


def browning_speed(temp_c: float, onset_c: float, activation_j_mol: float, dryness: float = 1.0) -> float:
    """How many times faster than at its onset a sugar browns [-].

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
