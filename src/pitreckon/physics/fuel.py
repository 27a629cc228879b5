"""Heat, air and water from the fire, and where the heat goes."""

from __future__ import annotations

from typing import Final

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.constants import DRY_AIR_HEAT_CAPACITY
from pitreckon.physics.convection import convection_forced_cylinder, convection_free_cylinder
from pitreckon.physics.surface import radiation_coefficient

__all__ = [
    "air_per_fuel",
    "chamber_humidity_ratio",
    "combustion_water",
    "convection_mixed",
    "exhaust_heat",
    "fuel_rate",
    "lower_heating_value",
    "outer_film",
    "stoichiometric_air",
    "wall_conductance",
    "wall_heat_loss",
    "wind_conductance",
]

LATENT_25C: Final = 2.443e6
"""Heat of evaporation of water at 25 degC, on which heating values rest [J/kg]"""
WATER_PER_HYDROGEN: Final = 9.0
"""Water from burning hydrogen [kg/kg]"""
OXYGEN_IN_AIR: Final = 0.2314
"""Mass share of oxygen in dry air [kg/kg]"""


def _check_fuel(hydrogen: float, moisture: float) -> None:
    within("hydrogen", hydrogen, 0.0, 0.25, "kg/kg")
    within("moisture", moisture, 0.0, 0.7, "kg/kg")


def lower_heating_value(higher_dry_j_kg: float, hydrogen: float, moisture: float) -> float:
    """Heat of a moist fuel whose water leaves as vapour, per kilogram as fired [J/kg].

    Parameters
    ----------
    higher_dry_j_kg: gross heating value of the dry fuel, 5e6 to 6e7 [J/kg]
    hydrogen: in the dry fuel, 0 to 0.25 [kg/kg]
    moisture: in the fuel as fired, 0 to 0.7 [kg/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [van_loo_koppejan_2008]_ for the formula, [hardwood_heat]_ for 20 MJ/kg; 16.6 MJ/kg at 10 %
    moisture is computed here, the floor that [enplus_pellets]_ quotes for pellets of at most 10 %.

    >>> round(lower_heating_value(20e6, 0.06, 0.10) / 1e6, 1)
    16.6
    """
    within("higher_dry_j_kg", higher_dry_j_kg, 5e6, 6e7, "J/kg")
    _check_fuel(hydrogen, moisture)
    dry = higher_dry_j_kg - LATENT_25C * WATER_PER_HYDROGEN * hydrogen
    return (1.0 - moisture) * dry - LATENT_25C * moisture


def stoichiometric_air(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Dry air that just burns a dry fuel [kg/kg].

    Parameters
    ----------
    carbon: 0 to 1 [kg/kg]
    hydrogen: 0 to 0.25 [kg/kg]
    oxygen: 0 to 0.6 [kg/kg]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [van_loo_koppejan_2008]_; 5.98 for wood of C 50 H 6 O 43 % is computed here.

    >>> round(stoichiometric_air(0.50, 0.06, 0.43), 2)
    5.98
    """
    within("carbon", carbon, 0.0, 1.0, "kg/kg")
    within("hydrogen", hydrogen, 0.0, 0.25, "kg/kg")
    within("oxygen", oxygen, 0.0, 0.6, "kg/kg")
    return (32.0 / 12.0 * carbon + 8.0 * hydrogen - oxygen) / OXYGEN_IN_AIR


def combustion_water(hydrogen: float, moisture: float) -> float:
    """Water vapour that a fuel gives off as it burns, its own moisture included, per kilogram fired [kg/kg].

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


def air_per_fuel(lower_j_kg: float, chamber_c: float, ambient_c: float, loss_share: float) -> float:
    """Air that the fire warms to the chamber's temperature, per kilogram of fuel [kg/kg].

    Parameters
    ----------
    lower_j_kg: lower heating value as fired, 1e6 to 6e7 [J/kg]
    chamber_c: 30 to 400, at least 5 above ambient [degC]
    ambient_c: -40 to 50 [degC]
    loss_share: share of the heat that goes through walls and into meat, 0 to 0.99 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, the heat balance of a stream; 98 kg at 17.2 MJ/kg, 107 degC from 20, half lost,
    is computed here.

    >>> round(air_per_fuel(17.2e6, 107.0, 20.0, 0.5))
    98
    """
    within("lower_j_kg", lower_j_kg, 1e6, 6e7, "J/kg")
    within("chamber_c", chamber_c, 30.0, 400.0, "degC")
    within("ambient_c", ambient_c, -40.0, 50.0, "degC")
    within("chamber_c - ambient_c", chamber_c - ambient_c, 5.0, 440.0, "K")
    within("loss_share", loss_share, 0.0, 0.99)
    return lower_j_kg * (1.0 - loss_share) / (DRY_AIR_HEAT_CAPACITY * (chamber_c - ambient_c))


def chamber_humidity_ratio(
    ambient_ratio: float,
    air_kg_s: float,
    *,
    fuel_kg_s: float = 0.0,
    water_per_fuel: float = 0.0,
    evaporation_kg_s: float = 0.0,
) -> float:
    """Humidity ratio of well-mixed chamber air, from outside air, fire and wet meat [kg/kg dry air].

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


def wall_conductance(
    inside_w_m2k: float, outside_w_m2k: float, thickness_m: float = 0.0, conductivity_w_mk: float = 1.0
) -> float:
    """Heat through a wall with an air film on either side, per area and kelvin [W/(m2 K)].

    Parameters
    ----------
    inside_w_m2k, outside_w_m2k: film coefficients, above 0 to 1000 [W/(m2 K)]
    thickness_m: of the insulation (bare steel counts as none), 0 to 1 [m]
    conductivity_w_mk: of the insulation, 0.001 to 500 [W/(m K)]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, chapter 3, resistances in series; 4.4 for films of 10 and 8 is computed here.

    >>> round(wall_conductance(10.0, 8.0), 1)
    4.4
    """
    above_zero("inside_w_m2k", inside_w_m2k, 1000.0, "W/(m2 K)")
    above_zero("outside_w_m2k", outside_w_m2k, 1000.0, "W/(m2 K)")
    within("thickness_m", thickness_m, 0.0, 1.0, "m")
    within("conductivity_w_mk", conductivity_w_mk, 1e-3, 500.0, "W/(m K)")
    return 1.0 / (1.0 / inside_w_m2k + 1.0 / outside_w_m2k + thickness_m / conductivity_w_mk)


def wall_heat_loss(conductance_w_m2k: float, area_m2: float, chamber_c: float, ambient_c: float) -> float:
    """Heat that leaves through the walls, negative when it enters [W].

    Parameters
    ----------
    conductance_w_m2k: 0 to 1000 [W/(m2 K)]
    area_m2: 0 to 100 [m2]
    chamber_c: -40 to 400 [degC]
    ambient_c: -40 to 50 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, chapter 3; 650 W for 5 W/(m2 K), 1.5 m2 and 87 K is computed here.

    >>> wall_heat_loss(5.0, 1.5, 107.0, 20.0)
    652.5
    """
    within("conductance_w_m2k", conductance_w_m2k, 0.0, 1000.0, "W/(m2 K)")
    within("area_m2", area_m2, 0.0, 100.0, "m2")
    within("chamber_c", chamber_c, -40.0, 400.0, "degC")
    within("ambient_c", ambient_c, -40.0, 50.0, "degC")
    return conductance_w_m2k * area_m2 * (chamber_c - ambient_c)


def convection_mixed(free_w_m2k: float, forced_w_m2k: float) -> float:
    """Film coefficient where rising air and wind work together, neither the other way [W/(m2 K)].

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


def exhaust_heat(air_kg_s: float, chamber_c: float, ambient_c: float) -> float:
    """Heat that leaves with the air, counted from ambient [W].

    Parameters
    ----------
    air_kg_s: 0 to 10 [kg/s]
    chamber_c: -40 to 400 [degC]
    ambient_c: -40 to 50 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bergman_2011]_, chapter 1; 490 W for 20 kg/h at 107 degC from 20 is computed here.

    >>> round(exhaust_heat(20.0 / 3600.0, 107.0, 20.0))
    486
    """
    within("air_kg_s", air_kg_s, 0.0, 10.0, "kg/s")
    within("chamber_c", chamber_c, -40.0, 400.0, "degC")
    within("ambient_c", ambient_c, -40.0, 50.0, "degC")
    return air_kg_s * DRY_AIR_HEAT_CAPACITY * (chamber_c - ambient_c)


def fuel_rate(heat_w: float, lower_j_kg: float) -> float:
    """Fuel that a demand for heat burns [kg/s].

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
