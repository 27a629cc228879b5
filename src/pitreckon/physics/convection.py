"""Heat transfer between still or moving air and a piece of meat."""

from math import sqrt
from typing import Final, NamedTuple

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.air import air_conductivity_coesa, air_viscosity_coesa, humid_air_density_ashrae
from pitreckon.physics.constants import DRY_AIR_HEAT_CAPACITY, GRAVITY, SEA_LEVEL_PA, ZERO_CELSIUS_K

MIXED_EXPONENT: Final = 4.0
"""Of the sum of free and forced convection across a cylinder; 3 to 4 are printed, from memory [-]"""

FREE: Final = (0.60, 0.387, 0.559)
"""Numbers of [churchill_chu_1975_cylinder]_: at rest, of the lift, of the Prandtl number [-]. ``section`` has that law,
and the next one, over arrays."""
FORCED: Final = (0.3, 0.62, 0.4, 282_000.0)
"""Numbers of [churchill_bernstein_1977]_: at rest, of the flow, of the Prandtl number, and the Reynolds number where it
turns [-]"""


class Film(NamedTuple):
    """Dry air at the mean of air and surface temperature."""

    temp_c: float
    """[degC]"""
    density: float
    """[kg/m3]"""
    viscosity: float
    """Kinematic [m2/s]"""
    conductivity: float
    """[W/(m K)]"""
    diffusivity: float
    """Thermal [m2/s]"""
    prandtl: float
    """[-]"""


def air_film(air_c: float, surface_c: float, pressure_pa: float = SEA_LEVEL_PA) -> Film:
    """Air film at a surface, at the mean temperature [units with each field of ``Film``].

    Equation::

        film_c = (air_c + surface_c) / 2
        density = humid_air_density_ashrae(film_c, 0, pressure_pa)
        viscosity = air_viscosity_coesa(film_c) / density
        conductivity = air_conductivity_coesa(film_c)
        diffusivity = conductivity / (density * 1006)
        film = film_c, density, viscosity, conductivity, diffusivity, viscosity / diffusivity

    Parameters
    ----------
    air_c, surface_c: -40 to 250 [degC]
    pressure_pa: 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [coesa_1976]_ and [ashrae_fundamentals_2017]_. The first gives a kinematic viscosity of
    1.4607e-5 m2/s for 15 degC at sea level.

    >>> round(air_film(15.0, 15.0).viscosity * 1e5, 3)
    1.461
    """
    within("air_c", air_c, -40.0, 250.0, "degC")
    within("surface_c", surface_c, -40.0, 250.0, "degC")
    film_c = 0.5 * (air_c + surface_c)
    density = humid_air_density_ashrae(film_c, 0.0, pressure_pa)
    viscosity = air_viscosity_coesa(film_c) / density
    conductivity = air_conductivity_coesa(film_c)
    diffusivity = conductivity / (density * DRY_AIR_HEAT_CAPACITY)
    return Film(film_c, density, viscosity, conductivity, diffusivity, viscosity / diffusivity)


def nusselt_free_cylinder_churchill_chu(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of a horizontal cylinder in still fluid [-].

    Equation::

        nusselt = (0.60 + 0.387 * rayleigh**(1/6) / (1 + (0.559 / prandtl)**(9/16))**(8/27))**2

    Parameters
    ----------
    rayleigh: on the diameter, 1e-5 to 1e12 [-]
    prandtl: 0.001 to 1000 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [churchill_chu_1975_cylinder]_; worked value in the manual of [bell_ht]_: 139.13 at
    Gr 2.63e9, Pr 0.69.

    >>> round(nusselt_free_cylinder_churchill_chu(0.69 * 2.63e9, 0.69), 2)
    139.13
    """
    within("rayleigh", rayleigh, 1e-5, 1e12)
    within("prandtl", prandtl, 1e-3, 1e3)
    rest, lift, side = FREE
    spread = (1.0 + (side / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((rest + lift * rayleigh ** (1 / 6) / spread) ** 2)


def nusselt_forced_cylinder_churchill_bernstein(reynolds: float, prandtl: float) -> float:
    """Mean Nusselt number of a cylinder in cross flow [-].

    Equation::

        laminar = 0.62 * reynolds**(1/2) * prandtl**(1/3) / (1 + (0.4 / prandtl)**(2/3))**(1/4)
        nusselt = 0.3 + laminar * (1 + (reynolds / 282000)**(5/8))**(4/5)

    Parameters
    ----------
    reynolds: on the diameter, with prandtl at least 0.2 as product, to 1e7 [-]
    prandtl: 0.001 to 1000 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [churchill_bernstein_1977]_; worked value of [bergman_2011]_, example 7.3, as in the manual of
    [bell_ht]_: 40.6 at Re 6071, Pr 0.70.

    >>> round(nusselt_forced_cylinder_churchill_bernstein(6071.0, 0.70), 1)
    40.6
    """
    within("prandtl", prandtl, 1e-3, 1e3)
    within("reynolds", reynolds, 0.2 / prandtl, 1e7)
    rest, flow, side, turns = FORCED
    laminar = flow * sqrt(reynolds) * prandtl ** (1 / 3) / (1.0 + (side / prandtl) ** (2 / 3)) ** 0.25
    return float(rest + laminar * (1.0 + (reynolds / turns) ** (5 / 8)) ** 0.8)


def convection_free_cylinder(
    diameter_m: float, air_c: float, surface_c: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Heat-transfer coefficient of a horizontal cylinder in still air [W/(m2 K)].

    Equation::

        film = air_film(air_c, surface_c, pressure_pa)
        lift = 9.80665 * abs(air_c - surface_c) / (film.temp_c + 273.15)
        rayleigh = lift * diameter_m**3 / (film.viscosity * film.diffusivity)
        nusselt = nusselt_free_cylinder_churchill_chu(rayleigh, film.prandtl)
        convection = nusselt * film.conductivity / diameter_m

    Parameters
    ----------
    diameter_m: above 0 to 1 [m]
    air_c, surface_c: -40 to 250 [degC]
    pressure_pa: 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range, or air and surface too close for the law

    Source: [churchill_chu_1975_cylinder]_ with air by [coesa_1976]_; the value is computed here.

    >>> round(convection_free_cylinder(0.10, 107.0, 57.0), 1)
    5.4
    """
    above_zero("diameter_m", diameter_m, 1.0, "m")
    film = air_film(air_c, surface_c, pressure_pa)
    lift = GRAVITY * abs(air_c - surface_c) / (film.temp_c + ZERO_CELSIUS_K)
    rayleigh = lift * diameter_m**3 / (film.viscosity * film.diffusivity)
    return nusselt_free_cylinder_churchill_chu(rayleigh, film.prandtl) * film.conductivity / diameter_m


def convection_forced_cylinder(
    diameter_m: float, speed_m_s: float, air_c: float, surface_c: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Heat-transfer coefficient of a cylinder in cross flow of air [W/(m2 K)].

    Equation::

        film = air_film(air_c, surface_c, pressure_pa)
        reynolds = speed_m_s * diameter_m / film.viscosity
        nusselt = nusselt_forced_cylinder_churchill_bernstein(reynolds, film.prandtl)
        convection = nusselt * film.conductivity / diameter_m

    Parameters
    ----------
    diameter_m: above 0 to 1 [m]
    speed_m_s: speed of the air far from the piece, above 0 to 30 [m/s]
    air_c, surface_c: -40 to 250 [degC]
    pressure_pa: 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [churchill_bernstein_1977]_ with air by [coesa_1976]_; the value is computed here.

    >>> round(convection_forced_cylinder(0.10, 0.5, 107.0, 57.0), 1)
    7.4
    """
    above_zero("diameter_m", diameter_m, 1.0, "m")
    above_zero("speed_m_s", speed_m_s, 30.0, "m/s")
    film = air_film(air_c, surface_c, pressure_pa)
    reynolds = speed_m_s * diameter_m / film.viscosity
    nusselt = nusselt_forced_cylinder_churchill_bernstein(reynolds, film.prandtl)
    return nusselt * film.conductivity / diameter_m
