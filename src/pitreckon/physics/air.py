"""Moist air: humidity, dew point, wet bulb, density, and the transport properties of the air film."""

from pitreckon.physics._ranges import within
from pitreckon.physics.constants import (
    DRY_AIR_GAS_CONSTANT,
    SEA_LEVEL_PA,
    VAPOUR_TO_AIR_MASS,
    ZERO_CELSIUS_K,
)
from pitreckon.physics.vapour import saturation_pressure

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

    Equation::

        humidity_ratio = 0.621945 * vapour_pa / (pressure_pa - vapour_pa)

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

    Equation::

        vapour_pa = pressure_pa * humidity_ratio / (0.621945 + humidity_ratio)

    Parameters
    ----------
    humidity_ratio: 0 to 10 [kg/kg dry air]
    pressure_pa: total pressure, 5e4 to 1.2e5 [Pa]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_fundamentals_2017]_, chapter 1, equation 20 solved for the pressure; the
    value at 0.015 kg/kg is computed here.

    >>> round(vapour_pressure_from_humidity_ratio(0.015))
    2386
    """
    within("humidity_ratio", humidity_ratio, 0.0, MOST_HUMID, "kg/kg")
    within("pressure_pa", pressure_pa, LEAST_PA, MOST_PA, "Pa")
    return pressure_pa * humidity_ratio / (VAPOUR_TO_AIR_MASS + humidity_ratio)


def humidity_ratio_from_relative_humidity(
    air_c: float, relative_humidity: float, pressure_pa: float = SEA_LEVEL_PA
) -> float:
    """Humidity ratio of air of a relative humidity [kg/kg dry air].

    Equation::

        vapour_pa = relative_humidity * saturation_pressure(air_c)
        humidity_ratio = 0.621945 * vapour_pa / (pressure_pa - vapour_pa)

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


def humid_air_density_ashrae(air_c: float, humidity_ratio: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Density of moist air, vapour included [kg/m3].

    Equation::

        m3_per_kg_dry = 287.055 * (air_c + 273.15) / pressure_pa * (1 + humidity_ratio / 0.621945)
        density = (1 + humidity_ratio) / m3_per_kg_dry

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


def air_viscosity_coesa(air_c: float) -> float:
    """Dynamic viscosity of dry air [Pa s].

    Equation::

        T = air_c + 273.15
        viscosity = 1.458e-6 * T**1.5 / (T + 110.4)

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

    Equation::

        T = air_c + 273.15
        conductivity = 2.64638e-3 * T**1.5 / (T + 245.4 * 10**(-12 / T))

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


def vapour_diffusivity_power_law(air_c: float, pressure_pa: float = SEA_LEVEL_PA) -> float:
    """Diffusivity of water vapour in air for the films of a hot chamber [m2/s].

    Equation::

        T = air_c + 273.15
        diffusivity = 2.26e-5 * (T / 273.15)**1.81 * 101325 / pressure_pa

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
