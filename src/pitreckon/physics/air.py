"""Moist air: humidity, dew point, wet bulb, density, and the transport properties of the air film."""

from __future__ import annotations

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import within
from pitreckon.physics._roots import bracketed_root
from pitreckon.physics.constants import (
    DRY_AIR_GAS_CONSTANT,
    DRY_AIR_HEAT_CAPACITY,
    SEA_LEVEL_PA,
    VAPOUR_HEAT_CAPACITY,
    VAPOUR_TO_AIR_MASS,
    ZERO_CELSIUS_K,
)
from pitreckon.physics.vapour import boiling_point, saturation_pressure, saturation_temperature

__all__ = [
    "air_conductivity_coesa",
    "air_viscosity_coesa",
    "dew_point",
    "heat_capacity_ashrae",
    "humid_air_density_ashrae",
    "humidity_ratio_from_relative_humidity",
    "humidity_ratio_from_vapour_pressure",
    "relative_humidity_from_humidity_ratio",
    "vapour_diffusivity_massman",
    "vapour_diffusivity_power_law",
    "vapour_pressure_from_humidity_ratio",
    "wet_bulb_ashrae",
]

HOTTEST_AIR_C = 250.0
COLDEST_AIR_C = -40.0
MOST_HUMID = 10.0
LEAST_PA = 5e4
MOST_PA = 1.2e5


def _check(air_c: float, pressure_pa: float) -> None:
    within("air_c", air_c, COLDEST_AIR_C, HOTTEST_AIR_C, "degC")
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")


def humidity_ratio_from_vapour_pressure(vapour_pa: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Humidity ratio of air that holds vapour at a partial pressure [kg/kg dry air].

    Parameters
    ----------
    vapour_pa: partial pressure of the vapour, 0 to 0.94 of the total [Pa]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: a pressure outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 20. The enhancement factor of air (0.4 %) is left
    out, as the chapter does for ordinary work; the value is computed here.

    >>> round(humidity_ratio_from_vapour_pressure(saturation_pressure(20.0)), 4)
    0.0147
    """
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")
    most = pressure_pa * MOST_HUMID / (VAPOUR_TO_AIR_MASS + MOST_HUMID)
    within("vapour_pa", vapour_pa, 0.0, most, "Pa")
    return VAPOUR_TO_AIR_MASS * vapour_pa / (pressure_pa - vapour_pa)


def vapour_pressure_from_humidity_ratio(humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Partial pressure of the vapour in air of a humidity ratio [Pa].

    Parameters
    ----------
    humidity_ratio: 0 to 10 [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 20 solved for the pressure; the
    dew point at 0.015 kg/kg is computed here.

    >>> round(saturation_temperature(vapour_pressure_from_humidity_ratio(0.015)), 1)
    20.3
    """
    within("humidity_ratio", humidity_ratio, 0.0, MOST_HUMID, "kg/kg")
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")
    return pressure_pa * humidity_ratio / (VAPOUR_TO_AIR_MASS + humidity_ratio)


def relative_humidity_from_humidity_ratio(
    air_c: float, humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Relative humidity, vapour pressure over saturation pressure at the air temperature [0-1].

    Above the boiling point it is still that quotient, and less than 1 for any air.

    Parameters
    ----------
    air_c: dry bulb, -40 to 250 [degC]
    humidity_ratio: 0 to 10 [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 12

    >>> round(relative_humidity_from_humidity_ratio(20.0, 0.0072), 2)  # computed here
    0.50
    """
    _check(air_c, pressure_pa)
    return vapour_pressure_from_humidity_ratio(humidity_ratio, pressure_pa) / saturation_pressure(air_c)


def humidity_ratio_from_relative_humidity(
    air_c: float, relative_humidity: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Humidity ratio of air of a relative humidity [kg/kg dry air].

    Parameters
    ----------
    air_c: dry bulb, -40 to 250 [degC]
    relative_humidity: 0 to 1 [-]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range, or more vapour than fits at this pressure

    Source: [ashrae_fundamentals_2017]_, chapter 1, equations 12 and 20

    >>> round(humidity_ratio_from_relative_humidity(20.0, 0.50), 4)  # computed here
    0.0073
    """
    _check(air_c, pressure_pa)
    within("relative_humidity", relative_humidity, 0.0, 1.0)
    return humidity_ratio_from_vapour_pressure(relative_humidity * saturation_pressure(air_c), pressure_pa)


def dew_point(humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Dew point, or frost point below 0.01 degC [degC].

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
    """Thermodynamic wet-bulb temperature [degC].

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


def humid_air_density_ashrae(air_c: float, humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Density of moist air, vapour included [kg/m3].

    Parameters
    ----------
    air_c: dry bulb, -40 to 250 [degC]
    humidity_ratio: 0 to 10 [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equations 9 and 26. Dry air at 15 degC and 101.325 kPa is
    1.225 kg/m3 in [coesa_1976]_.

    >>> round(humid_air_density_ashrae(15.0, 0.0), 3)
    1.225
    """
    _check(air_c, pressure_pa)
    within("humidity_ratio", humidity_ratio, 0.0, MOST_HUMID, "kg/kg")
    per_dry = DRY_AIR_GAS_CONSTANT * (air_c + ZERO_CELSIUS_K) / pressure_pa
    return (1.0 + humidity_ratio) / (per_dry * (1.0 + humidity_ratio / VAPOUR_TO_AIR_MASS))


def heat_capacity_ashrae(humidity_ratio: float) -> float:
    """Specific heat of moist air per kilogram of dry air [J/(kg K)].

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


def air_viscosity_coesa(air_c: float) -> float:
    """Dynamic viscosity of dry air [Pa s].

    Parameters
    ----------
    air_c: -40 to 250 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [coesa_1976]_, equation 51; its table gives 1.7894e-5 Pa s at 288.15 K.

    >>> round(air_viscosity_coesa(15.0) * 1e5, 4)
    1.7894
    """
    within("air_c", air_c, COLDEST_AIR_C, HOTTEST_AIR_C, "degC")
    temp_k = air_c + ZERO_CELSIUS_K
    return 1.458e-6 * float(temp_k**1.5) / (temp_k + 110.4)


def air_conductivity_coesa(air_c: float) -> float:
    """Thermal conductivity of dry air [W/(m K)].

    Parameters
    ----------
    air_c: -40 to 250 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [coesa_1976]_, equation 53; its table gives 2.5326e-2 W/(m K) at 288.15 K.

    >>> round(air_conductivity_coesa(15.0) * 1e2, 4)
    2.5326
    """
    within("air_c", air_c, COLDEST_AIR_C, HOTTEST_AIR_C, "degC")
    temp_k = air_c + ZERO_CELSIUS_K
    return 2.64638e-3 * float(temp_k**1.5) / (temp_k + 245.4 * float(10.0 ** (-12.0 / temp_k)))


def vapour_diffusivity_massman(air_c: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Diffusivity of water vapour in air, reviewed measurements [m2/s].

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


def vapour_diffusivity_power_law(air_c: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Diffusivity of water vapour in air for the films of a hot chamber [m2/s].

    Parameters
    ----------
    air_c: 0 to 250 [degC]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Notes: from memory; the power law of drying handbooks. It is 3.8 % above ``vapour_diffusivity_massman``,
    which has a source but stops at 100 degC; a wet surface comes out 0.3 to 0.5 K warmer with that one.

    Source: [drying_handbook_diffusivity]_

    >>> round(vapour_diffusivity_power_law(80.0) * 1e5, 2)  # computed here
    3.60
    """
    within("air_c", air_c, 0.0, HOTTEST_AIR_C, "degC")
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")
    return 2.26e-5 * float((air_c / ZERO_CELSIUS_K + 1.0) ** 1.81) * SEA_LEVEL_PA / pressure_pa
