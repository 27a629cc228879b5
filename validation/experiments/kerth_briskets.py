"""Smoked whole briskets by end point and holding time [kerth_briskets]_, n = 96.

Compared: yield 59.3 % at 85 degC + 3 h and 56.0 % at 90 degC + 3 h (each within 5 points), so 3.3 points less
for 5 K more (1.5 to 5); the flat is about as tender at 85 degC + 3 h as at 90 degC + 0 h (gelatin at the core
within 15 %) and least converted at 75 degC + 0 h.
Assumed, as the abstract does not say: 5.5 kg, a pit at 107 degC as the catalog's pellet cooker, held in foil in
air at the end point.
"""

from __future__ import annotations

from functools import cache

from pitreckon import catalog
from validation.check import Check, Group, at_most
from validation.lab import Chamber, Cooked, cook, core, minutes, pit, to_f


@cache
def cooked(end_c: float, hold_h: float) -> Cooked:
    """One brisket."""
    hold = minutes(60.0 * hold_h, catalog.wrap("foil"), Chamber(end_c, 5.0))
    stages = (core(end_c), hold) if hold_h else (core(end_c),)
    return cook(catalog.cut("brisket-whole"), pit(to_f(107.0)), *stages, hours=30.0, mass_kg=5.5)


def left(end_c: float, hold_h: float) -> float:
    """Yield [%]."""
    return 100.0 * (1.0 - cooked(end_c, hold_h).loss(1e9))


def gelatin(end_c: float, hold_h: float) -> float:
    """Collagen turned to gelatin at the core at the end [-]."""
    return cooked(end_c, hold_h).at("gelatin_core", 1e9)


GROUP = Group(
    "Smoked briskets by end point and hold",
    "kerth_briskets",
    "test",
    (
        Check("y_85", "yield, 85 °C + 3 h", "%", 54.3, 64.3, lambda: left(85.0, 3.0)),
        Check("y_90", "yield, 90 °C + 3 h", "%", 51.0, 61.0, lambda: left(90.0, 3.0)),
        Check(
            "y_drop",
            "yield lost from 85 to 90 °C at 3 h",
            "points",
            1.5,
            5.0,
            lambda: left(85.0, 3.0) - left(90.0, 3.0),
        ),
        Check(
            "tie",
            "gelatin at 85 °C + 3 h over 90 °C + 0 h",
            "-",
            0.85,
            1.15,
            lambda: gelatin(85.0, 3.0) / gelatin(90.0, 0.0),
        ),
        at_most(
            "least",
            "gelatin at 75 °C + 0 h over the least of the other five",
            "-",
            1.0,
            lambda: (
                gelatin(75.0, 0.0)
                / min(
                    gelatin(80.0, 0.0), gelatin(80.0, 3.0), gelatin(85.0, 0.0), gelatin(85.0, 3.0), gelatin(90.0, 0.0)
                )
            ),
        ),
    ),
)
