"""Moist air by laws that only check others."""

from __future__ import annotations

from typing import Final

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import within
from pitreckon.physics._roots import bracketed_root
from pitreckon.physics.air import HOTTEST_AIR_C, LEAST_PA, MOST_HUMID, MOST_PA, vapour_pressure_from_humidity_ratio
from pitreckon.physics.constants import (
    DRY_AIR_HEAT_CAPACITY,
    SEA_LEVEL_PA,
    VAPOUR_TO_AIR_MASS,
    ZERO_CELSIUS_K,
)
from pitreckon.physics.vapour import boiling_point, saturation_pressure, saturation_temperature

VAPOUR_HEAT_CAPACITY: Final = 1860.0
"""Specific heat of water vapour at constant pressure, ASHRAE Fundamentals chapter 1 [J/(kg K)]"""


def dew_point(humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Oracle of wet_bulb_ashrae, whose lower bound it is.

    Dew point, or frost point below 0.01 degC [degC].

    Parameters
    ----------
    humidity_ratio: 7e-6 to 10 [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [wagner_pruss_2002]_ and [wagner_2011]_ solved for the temperature; computed here.

    >>> round(dew_point(0.030), 1)
    31.6
    """
    return saturation_temperature(vapour_pressure_from_humidity_ratio(humidity_ratio, pressure_pa))


def wet_bulb_ashrae(air_c: float, humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Oracle of the air of a pit (physics.fuel.chamber_humidity_ratio) and of wet_surface.

    Thermodynamic wet-bulb temperature [degC].

    Solved between the dew point and the lower of dry bulb and boiling point, where the balance always
    changes sign; a common library looks above the boiling point and fails for air hotter than about 135 degC.

    Parameters
    ----------
    air_c: dry bulb, 0.01 to 250 [degC]
    humidity_ratio: 0 to 10, not above saturation [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range, air above saturation, or a wet bulb below freezing

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 33; the value is computed here and agrees with
    an independent library to 0.2 K.

    >>> round(wet_bulb_ashrae(107.0, 0.0075), 1)
    35.5
    """
    within("air_c", air_c, 0.01, HOTTEST_AIR_C, "degC")
    vapour_pa = vapour_pressure_from_humidity_ratio(humidity_ratio, pressure_pa)
    boil_c = boiling_point(pressure_pa)
    if air_c < boil_c and vapour_pa > saturation_pressure(air_c) * (1.0 + 1e-9):
        most = VAPOUR_TO_AIR_MASS / (pressure_pa / saturation_pressure(air_c) - 1.0)
        within("humidity_ratio", humidity_ratio, 0.0, most, "kg/kg (saturation at this air)")

    def balance(wet_c: float) -> float:
        # multiplied through by the dry-air pressure, so that the boiling point is no singularity
        at_wet = saturation_pressure(wet_c)
        gained = (2501.0 - 2.326 * wet_c) * VAPOUR_TO_AIR_MASS * at_wet
        given = 1.006 * (air_c - wet_c) + humidity_ratio * (2501.0 + 1.86 * air_c - 4.186 * wet_c)
        return gained - (pressure_pa - at_wet) * given

    top = min(air_c, boil_c)
    if balance(0.01) > 0.0:
        raise RangeError(
            f"wet bulb of air at air_c = {air_c:.6g} degC and {humidity_ratio:.6g} kg/kg is below 0.01 degC"
        )
    if balance(top) <= 0.0:  # saturated air, to round-off
        return top
    return bracketed_root(balance, 0.01, top)


def heat_capacity_ashrae(humidity_ratio: float) -> float:
    """Oracle of the constant DRY_AIR_HEAT_CAPACITY, with its vapour.

    Specific heat of moist air per kilogram of dry air [J/(kg K)].

    Parameters
    ----------
    humidity_ratio: 0 to 10 [kg/kg dry air]

    Raises
    ------
    RangeError: humidity ratio outside the range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 30 (its 1.006 and 1.86 kJ/(kg K))

    >>> round(heat_capacity_ashrae(0.0))
    1006
    """
    within("humidity_ratio", humidity_ratio, 0.0, MOST_HUMID, "kg/kg")
    return DRY_AIR_HEAT_CAPACITY + VAPOUR_HEAT_CAPACITY * humidity_ratio


def vapour_diffusivity_massman(air_c: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Oracle of physics.air.vapour_diffusivity_power_law.

    Diffusivity of water vapour in air, reviewed measurements [m2/s].

    Parameters
    ----------
    air_c: 0 to 100 [degC]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [massman_1998]_, which gives 0.2178 cm2/s at 0 degC and 1 atm.

    >>> round(vapour_diffusivity_massman(0.0) * 1e4, 4)
    0.2178
    """
    within("air_c", air_c, 0.0, 100.0, "degC")
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")
    return 2.178e-5 * float((air_c / ZERO_CELSIUS_K + 1.0) ** 1.81) * SEA_LEVEL_PA / pressure_pa
