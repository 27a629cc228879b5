"""Physical constants shared by the laws of this room."""

from typing import Final

ZERO_CELSIUS_K: Final = 273.15
"""0 °C in kelvin [K]"""

GAS_CONSTANT: Final = 8.314462618
"""Molar gas constant, CODATA 2018 [J/(mol K)]"""

STEFAN_BOLTZMANN: Final = 5.670374419e-8
"""CODATA 2018 [W/(m2 K4)]"""

GRAVITY: Final = 9.80665
"""Standard acceleration of gravity [m/s2]"""

DRY_AIR_GAS_CONSTANT: Final = 287.055
"""Specific gas constant of dry air, ASHRAE Fundamentals chapter 1 [J/(kg K)]"""

VAPOUR_GAS_CONSTANT: Final = 461.52
"""Specific gas constant of water vapour [J/(kg K)]"""

VAPOUR_TO_AIR_MASS: Final = 0.621945
"""Ratio of the molar masses of water and dry air, ASHRAE Fundamentals chapter 1 [-]"""

DRY_AIR_HEAT_CAPACITY: Final = 1006.0
"""Specific heat of dry air at constant pressure, ASHRAE Fundamentals chapter 1 [J/(kg K)]"""


WATER_HEAT_CAPACITY: Final = 4190.0
"""Liquid water at 60 °C (Choi & Okos 1986: 4190.5), within 0.8 % over 0-100 °C [J/(kg K)]"""

SEA_LEVEL_PA: Final = 101325.0
"""Standard pressure at sea level [Pa]"""
