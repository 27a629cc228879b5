"""Water inside meat: the constants of how much it can hold and how stiff it is."""

from typing import Final

HOLDING_FACTOR, HOLDING_PER_K, HOLDING_AT_C = 30.0, 0.25, 52.0
"""Of its sigmoid 1/(1 + factor exp(-(T - at) per_k)) [-, 1/K, degC]"""

MODULUS_RAW_PA: Final = 12e3
"""Elastic modulus of raw meat, Feyissa 2009 [Pa]"""
MODULUS_RISE_PA: Final = 83e3
"""What heating adds to it [Pa]"""
MODULUS_PER_K, MODULUS_AT_C = 0.3, 60.0
"""Of its sigmoid 1/(1 + exp(-(T - at) per_k)) [1/K, degC]"""
