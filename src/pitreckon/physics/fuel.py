"""Heat, air and water from the fire, and where the heat goes."""

from typing import Final

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.convection import convection_forced_cylinder, convection_free_cylinder
from pitreckon.physics.surface import radiation_coefficient

WATER_PER_HYDROGEN: Final = 9.0
"""Water from burning hydrogen [kg/kg]"""


def _check_fuel(hydrogen: float, moisture: float) -> None:
    within("hydrogen", hydrogen, 0.0, 0.25, "kg/kg")
    within("moisture", moisture, 0.0, 0.7, "kg/kg")


def combustion_water(hydrogen: float, moisture: float) -> float:
    """Water vapour that a fuel gives off as it burns, its own moisture included, per kilogram fired [kg/kg].

    Equation::

        water = (1 - moisture) * 9 * hydrogen + moisture

    Parameters
    ----------
    hydrogen: in the dry fuel, 0 to 0.25 [kg/kg]
    moisture: in the fuel as fired, 0 to 0.7 [kg/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [van_loo_koppejan_2008]_; 0.54 for dry wood is computed here.

    >>> round(combustion_water(0.06, 0.0), 2)
    0.54
    """
    _check_fuel(hydrogen, moisture)
    return (1.0 - moisture) * WATER_PER_HYDROGEN * hydrogen + moisture


def chamber_humidity_ratio(
    ambient_ratio: float,
    air_kg_s: float,
    *,
    fuel_kg_s: float = 0.0,
    water_per_fuel: float = 0.0,
    evaporation_kg_s: float = 0.0,
) -> float:
    """Humidity ratio of well-mixed chamber air, from outside air, fire and wet meat [kg/kg dry air].

    Equation::

        humidity_ratio = ambient_ratio + (fuel_kg_s * water_per_fuel + evaporation_kg_s) / air_kg_s

    Parameters
    ----------
    ambient_ratio: humidity ratio outside, 0 to 0.1 [kg/kg]
    air_kg_s: dry air through the chamber, above 0 to 10 [kg/s]
    fuel_kg_s: 0 to 1 [kg/s]
    water_per_fuel: 0 to 3 [kg/kg]
    evaporation_kg_s: from meat and pans, 0 to 1 [kg/s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, the water balance of mixed streams; 0.3 kg/h of meat
    water into 20 kg/h of air adds 0.015 (computed here).

    >>> round(chamber_humidity_ratio(0.0075, 20.0 / 3600.0, evaporation_kg_s=0.3 / 3600.0), 4)
    0.0225
    """
    within("ambient_ratio", ambient_ratio, 0.0, 0.1, "kg/kg")
    above_zero("air_kg_s", air_kg_s, 10.0, "kg/s")
    within("fuel_kg_s", fuel_kg_s, 0.0, 1.0, "kg/s")
    within("water_per_fuel", water_per_fuel, 0.0, 3.0, "kg/kg")
    within("evaporation_kg_s", evaporation_kg_s, 0.0, 1.0, "kg/s")
    return ambient_ratio + (fuel_kg_s * water_per_fuel + evaporation_kg_s) / air_kg_s


def convection_mixed(free_w_m2k: float, forced_w_m2k: float) -> float:
    """Film coefficient where rising air and wind work together, neither the other way [W/(m2 K)].

    Equation::

        convection = (free_w_m2k**3 + forced_w_m2k**3)**(1/3)

    Parameters
    ----------
    free_w_m2k, forced_w_m2k: of each alone, 0 to 1000 [W/(m2 K)]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: the exponent of 3 is the usual one, from memory.

    Source: [bergman_2011]_, chapter 9; 6 and 8 making 9.0 is computed here.

    >>> round(convection_mixed(6.0, 8.0), 1)
    9.0
    """
    within("free_w_m2k", free_w_m2k, 0.0, 1000.0, "W/(m2 K)")
    within("forced_w_m2k", forced_w_m2k, 0.0, 1000.0, "W/(m2 K)")
    return float((free_w_m2k**3 + forced_w_m2k**3) ** (1 / 3))


def outer_film(across_m: float, wind_m_s: float, wall_c: float, ambient_c: float, emissivity: float = 0.9) -> float:
    """Heat from the outside of a pit to still or moving air and to what it sees around it [W/(m2 K)].

    Equation::

        free = convection_free_cylinder(across_m, ambient_c, wall_c)
        forced = convection_forced_cylinder(across_m, wind_m_s, ambient_c, wall_c) if wind_m_s > 0.01 else 0
        film = convection_mixed(free, forced) + radiation_coefficient(wall_c, ambient_c, emissivity)

    Parameters
    ----------
    across_m: breadth of the pit, taken as a cylinder, above 0 to 1 [m]
    wind_m_s: 0 to 30 [m/s]
    wall_c: outside of the wall, -40 to 250 [degC]
    ambient_c: air and surroundings, -40 to 50, not that of the wall [degC]
    emissivity: of the wall, 0 to 1 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [churchill_chu_1975_cylinder]_ and [churchill_bernstein_1977]_ together as in [bergman_2011]_,
    chapter 9, and radiation; 10.9 in still air is computed here.

    >>> round(outer_film(0.55, 0.0, 60.0, 20.0), 1), round(outer_film(0.55, 4.0, 60.0, 20.0), 1)
    (10.9, 19.2)
    """
    within("wind_m_s", wind_m_s, 0.0, 30.0, "m/s")
    within("ambient_c", ambient_c, -40.0, 50.0, "degC")
    free = convection_free_cylinder(across_m, ambient_c, wall_c)
    # the law of forced flow has a least speed; below a breath of air the rise of the warm air rules
    forced = convection_forced_cylinder(across_m, wind_m_s, ambient_c, wall_c) if wind_m_s > 0.01 else 0.0
    return convection_mixed(free, forced) + radiation_coefficient(wall_c, ambient_c, emissivity)


def wind_conductance(calm_w_m2k: float, calm_film_w_m2k: float, wind_film_w_m2k: float) -> float:
    """Heat through a wall whose outer film is no longer that of calm air, per area and kelvin [W/(m2 K)].

    Equation::

        conductance = 1 / (1 / calm_w_m2k - 1 / calm_film_w_m2k + 1 / wind_film_w_m2k)

    Parameters
    ----------
    calm_w_m2k: through the wall in calm air, above 0 and below its outer film's coefficient [W/(m2 K)]
    calm_film_w_m2k, wind_film_w_m2k: outer films, above 0 to 1000 [W/(m2 K)]

    Raises
    ------
    RangeError: an argument outside its range, or a wall that lets through more than its film

    Source: [bergman_2011]_, chapter 3, resistances in series; 5 becoming 6.7 is computed here.

    >>> round(wind_conductance(5.0, 10.0, 20.0), 2)
    6.67
    """
    above_zero("calm_film_w_m2k", calm_film_w_m2k, 1000.0, "W/(m2 K)")
    above_zero("wind_film_w_m2k", wind_film_w_m2k, 1000.0, "W/(m2 K)")
    above_zero("calm_w_m2k", calm_w_m2k, 0.999 * calm_film_w_m2k, "W/(m2 K)")
    return 1.0 / (1.0 / calm_w_m2k - 1.0 / calm_film_w_m2k + 1.0 / wind_film_w_m2k)


def fuel_rate(heat_w: float, lower_j_kg: float) -> float:
    """Fuel that a demand for heat burns [kg/s].

    Equation::

        fuel_kg_s = heat_w / lower_j_kg

    Parameters
    ----------
    heat_w: 0 to 1e6 [W]
    lower_j_kg: lower heating value as fired, 1e6 to 6e7 [J/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [van_loo_koppejan_2008]_; 0.28 kg/h for 1330 W at 17.2 MJ/kg is computed here.

    >>> round(fuel_rate(1330.0, 17.2e6) * 3600.0, 2)
    0.28
    """
    within("heat_w", heat_w, 0.0, 1e6, "W")
    within("lower_j_kg", lower_j_kg, 1e6, 6e7, "J/kg")
    return heat_w / lower_j_kg
