"""Beef rounds in slow and ordinary ovens [bayne_1969]_: 93 degC to 67 degC, 149 degC to 70 degC at the core.

Compared, as signs: more minutes a pound at 93 degC; more for a small round (5.5 lb) than for a larger one
(6.3 lb); a lower total loss at 93 degC. (A thesis of the same plan found a higher one there.)
Assumed: lean beef as a drum as high as 0.7 of its diameter; a kitchen oven without fan.
"""

from __future__ import annotations

from functools import cache

from validation.check import Group, at_least
from validation.lab import Cooked, cook, core, drum, lean_beef, oven

POUND_KG = 0.45359237
LARGE_LB, SMALL_LB = 6.3, 5.5


@cache
def cooked(air_c: float, pounds: float) -> Cooked:
    """One round."""
    done_c = 67.0 if air_c == 93.0 else 70.0
    return cook(lean_beef(drum(0.12, 0.171)), oven(air_c), core(done_c), hours=36.0, mass_kg=pounds * POUND_KG)


def minutes_a_pound(air_c: float, pounds: float) -> float:
    """[min/lb]"""
    return cooked(air_c, pounds).end_s() / 60.0 / pounds


def loss(air_c: float) -> float:
    """Total loss [%]."""
    return 100.0 * cooked(air_c, LARGE_LB).loss(cooked(air_c, LARGE_LB).end_s())


GROUP = Group(
    "Beef rounds, slow and ordinary oven",
    "bayne_1969",
    "test",
    (
        at_least(
            "slow",
            "93 °C over 149 °C: min/lb",
            "-",
            1.2,
            lambda: minutes_a_pound(93.0, LARGE_LB) / minutes_a_pound(149.0, LARGE_LB),
        ),
        at_least(
            "small",
            "5.5 lb over 6.3 lb, 149 °C: min/lb",
            "-",
            1.0,
            lambda: minutes_a_pound(149.0, SMALL_LB) / minutes_a_pound(149.0, LARGE_LB),
        ),
        at_least(
            "loss",
            "149 °C less 93 °C: loss",
            "points",
            0.0,
            lambda: loss(149.0) - loss(93.0),
        ),
    ),
)
