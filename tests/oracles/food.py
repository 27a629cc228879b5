"""Bounds of the conductivity of food."""

from __future__ import annotations

from math import fsum

from pitreckon.physics.food import Composition, conductivity_choi_okos, volume_fractions


def conductivity_parallel(composition: Composition, temp_c: float) -> float:
    """Oracle of physics.food.conductivity, from above.

    Conductivity with all components side by side, the upper bound [W/(m K)].

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [ashrae_refrigeration_2006]_; pork back ribs at 20 degC computed here.

    >>> round(conductivity_parallel(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0), 4)
    0.4632
    """
    shares = volume_fractions(composition, temp_c)
    return fsum(share * conductivity_choi_okos(name, temp_c) for name, share in shares.items())


def conductivity_series(composition: Composition, temp_c: float) -> float:
    """Oracle of physics.food.conductivity, from below.

    Conductivity with all components in layers across the heat flow, the lower bound [W/(m K)].

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [ashrae_refrigeration_2006]_; pork back ribs at 20 degC computed here.

    >>> round(conductivity_series(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0), 4)
    0.3442
    """
    shares = volume_fractions(composition, temp_c)
    return 1.0 / fsum(share / conductivity_choi_okos(name, temp_c) for name, share in shares.items())
