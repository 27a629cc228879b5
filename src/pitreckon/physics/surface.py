"""The face of a piece of meat: radiation, evaporation, a drying skin, and the temperature it settles at."""

from typing import Final

from pitreckon.physics._ranges import within
from pitreckon.physics.air import (
    humid_air_density_ashrae,
    vapour_diffusivity_power_law,
)
from pitreckon.physics.constants import (
    DRY_AIR_HEAT_CAPACITY,
    SEA_LEVEL_PA,
    STEFAN_BOLTZMANN,
    VAPOUR_GAS_CONSTANT,
    ZERO_CELSIUS_K,
)
from pitreckon.physics.convection import air_film

MEAT_EMISSIVITY: Final = 0.9
"""Long-wave emissivity of meat, from memory (0.74 to 0.95 are printed) [-]"""

OSWIN_HALF: Final = 0.15
"""Water per fat-free dry matter at which a drying surface has water activity 1/2, from memory [kg/kg]"""


def radiation_coefficient(surface_c: float, wall_c: float, emissivity: float = MEAT_EMISSIVITY) -> float:
    """Radiant heat per kelvin between walls and surface [W/(m2 K)].

    Equation::

        Tw, Ts = wall_c + 273.15, surface_c + 273.15
        radiation = emissivity * 5.670374419e-8 * (Tw**2 + Ts**2) * (Tw + Ts)

    Parameters
    ----------
    surface_c, wall_c: -40 to 400 [degC]
    emissivity: of the surface, 0 to 1 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, chapter 1; the value is computed here.

    >>> round(radiation_coefficient(57.0, 107.0), 1)
    9.2
    """
    within("surface_c", surface_c, -40.0, 400.0, "degC")
    within("wall_c", wall_c, -40.0, 400.0, "degC")
    within("emissivity", emissivity, 0.0, 1.0)
    wall_k, surface_k = wall_c + ZERO_CELSIUS_K, surface_c + ZERO_CELSIUS_K
    return emissivity * STEFAN_BOLTZMANN * (wall_k**2 + surface_k**2) * (wall_k + surface_k)


def mass_transfer_lewis(
    convection_w_m2k: float,
    film_c: float,
    pressure_pa: float = SEA_LEVEL_PA,
    diffusivity_m2_s: float | None = None,
) -> float:
    """Mass-transfer coefficient that belongs to a heat-transfer coefficient [m/s].

    Equation::

        film = air_film(film_c, film_c, pressure_pa)
        diffusivity = diffusivity_m2_s or vapour_diffusivity_power_law(film_c, pressure_pa)
        lewis = film.diffusivity / diffusivity
        mass_transfer = convection_w_m2k / (film.density * 1006) * lewis**(-2/3)

    Parameters
    ----------
    convection_w_m2k: heat-transfer coefficient by convection alone, 0 to 500 [W/(m2 K)]
    film_c: mean of air and surface temperature, 0 to 250 [degC]
    pressure_pa: 5e4 to 1.2e5 [Pa]
    diffusivity_m2_s: of vapour in air, 1e-6 to 1e-3; ``vapour_diffusivity_power_law`` when left out [m2/s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [lewis_1922]_ in the form h_m = h / (rho cp) Le^(-2/3) of [bergman_2011]_, chapter 6; the value
    is computed here.

    >>> round(mass_transfer_lewis(8.0, 80.0), 4)
    0.0090
    """
    within("convection_w_m2k", convection_w_m2k, 0.0, 500.0, "W/(m2 K)")
    film = air_film(film_c, film_c, pressure_pa)
    if diffusivity_m2_s is None:
        diffusivity_m2_s = vapour_diffusivity_power_law(film_c, pressure_pa)
    within("diffusivity_m2_s", diffusivity_m2_s, 1e-6, 1e-3, "m2/s")
    lewis = film.diffusivity / diffusivity_m2_s
    volumetric = humid_air_density_ashrae(film_c, 0.0, pressure_pa) * DRY_AIR_HEAT_CAPACITY
    return convection_w_m2k / volumetric * float(lewis ** (-2 / 3))


def vapour_permeance(mass_transfer_m_s: float, film_c: float) -> float:
    """Mass-transfer coefficient as a permeance, for comparison with wraps [kg/(m2 s Pa)].

    Equation::

        permeance = mass_transfer_m_s / (461.52 * (film_c + 273.15))

    Parameters
    ----------
    mass_transfer_m_s: 0 to 10 [m/s]
    film_c: -40 to 250 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, the perfect-gas law of vapour; the value is computed here.

    >>> round(vapour_permeance(0.0090, 80.0) * 1e8, 1)
    5.5
    """
    within("mass_transfer_m_s", mass_transfer_m_s, 0.0, 10.0, "m/s")
    within("film_c", film_c, -40.0, 250.0, "degC")
    return mass_transfer_m_s / (VAPOUR_GAS_CONSTANT * (film_c + ZERO_CELSIUS_K))
