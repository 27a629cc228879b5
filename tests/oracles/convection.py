"""Convection about one piece, from the laws of its two parts."""

from __future__ import annotations

from pitreckon.physics.constants import SEA_LEVEL_PA
from pitreckon.physics.convection import MIXED_EXPONENT, convection_forced_cylinder, convection_free_cylinder


def convection_mixed_cylinder(
    diameter_m: float, speed_m_s: float, air_c: float, surface_c: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Oracle of section.surroundings.convection.

    Heat-transfer coefficient of a body in moving air that also rises or falls along it by itself [W/(m2 K)].

    Parameters
    ----------
    diameter_m: of a cylinder; of a piece of meat the side of a square as large as its plan, above 0 to 1 [m]
    speed_m_s: of a steady stream that does as much as the pit's draught with its gusts, above 0 to 30 [m/s]
    air_c, surface_c: -40 to 250 [degC]
    pressure_pa: 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range, or air and surface too close for the law of free convection

    Notes: (h_forced**n + h_free**n)**(1/n) with n = ``MIXED_EXPONENT``, across each other. Over 0.05 to 0.3 m it falls
    as the power -0.44 of the size at 1 m/s and -0.39 at 0.5 m/s (computed here).

    Source: [bergman_2011]_, chapter 9, for the sum; [churchill_bernstein_1977]_ and [churchill_chu_1975_cylinder]_; the
    value is computed here from 7.4 and 5.4.

    >>> round(convection_mixed_cylinder(0.10, 0.5, 107.0, 57.0), 1)
    7.9
    """
    forced = convection_forced_cylinder(diameter_m, speed_m_s, air_c, surface_c, pressure_pa)
    free = convection_free_cylinder(diameter_m, air_c, surface_c, pressure_pa)
    return float((forced**MIXED_EXPONENT + free**MIXED_EXPONENT) ** (1.0 / MIXED_EXPONENT))
