"""What heat does to microbes: the constants of how fast."""

from typing import Final

MEAT_TABLE_Z_K: Final = 50.0 / 9.0
"""z of the time and temperature table for meat of FSIS 2021: 10 degF [K]"""
EQUIVALENT_AT_C: Final = 70.0
"""Where the program counts equivalent seconds [degC]"""
