"""What heat does to meat over time: the constants of its first-order reactions."""

from typing import Final

COLLAGEN_SHRINK_ACTIVATION: Final = 604.6e3
"""Softening of beef below 65 degC, Bertola 1994 [J/mol]"""
BROWNING_ACTIVATION: Final = (105e3, 145e3)
"""Browning of sucrose and of glucose with an amino acid at 60-140 degC: Shin and Ahn 1999, Korean J. Food Cookery
Sci. (the abstract, seen; it prints J/mol, which must be kJ/mol) [J/mol]"""
BROWNING_ONSET_S: Final = (300.0, 1200.0)
"""What "within minutes" at the onset may mean, from memory [s]"""
BITTER_DOSE: Final = 4.0
"""Times the browning at the onset from which on a sugar is bitter, from memory [-]"""
COLLAGEN_HALF_S, COLLAGEN_HALF_AT_C = 660.0, 58.0
"""Native collagen halves in this time at this temperature, Machlik & Draudt 1963 [s, degC]"""
