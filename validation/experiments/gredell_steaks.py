"""Beef strip steaks in dry and humid air at 80 and 204 degC [gredell_steaks]_.

Compared, as signs: humid air is far faster, the more so at 80 degC; the loss is the highest at 80 degC dry; the surface
is darker at 80 degC dry than at 204 degC humid.
Assumed: slabs 25 mm thick of lean beef, a fan's 20 W/m2K, core to 65 degC; humid is 85 % RH at 80 degC and 0.8 of the
pressure (81 kPa) at 204 degC, dry 2 % and 0.1 % RH.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from validation.check import Group, at_least, at_most
from validation.lab import Chamber, Cooked, cook, core, lean_beef, slab


@cache
def cooked(air_c: float, humid: bool) -> Cooked:
    """One steak."""
    if air_c == 80.0:
        chamber = Chamber(air_c, 20.0).humid(0.85 if humid else 0.02)
    else:
        chamber = replace(Chamber(air_c, 20.0), vapour_pa=81e3 if humid else 1.7e3)
    return cook(lean_beef(slab(0.025)), chamber, core(65.0), hours=24.0)


def time_ratio(air_c: float) -> float:
    """Humid over dry."""
    return cooked(air_c, True).end_s() / cooked(air_c, False).end_s()


def loss(air_c: float, humid: bool) -> float:
    """Total loss [%]."""
    return 100.0 * cooked(air_c, humid).loss(cooked(air_c, humid).end_s())


def colour(air_c: float, humid: bool) -> float:
    """Colour at the end."""
    return cooked(air_c, humid).at("colour", cooked(air_c, humid).end_s())


GROUP = Group(
    "Steaks in dry and humid air",
    "gredell_steaks",
    "test",
    (
        at_most("fast_80", "80 °C: time humid over dry", "-", 0.6, lambda: time_ratio(80.0)),
        at_most("fast_204", "204 °C: time humid over dry", "-", 0.95, lambda: time_ratio(204.0)),
        at_most(
            "more",
            "80 °C over 204 °C: gain in time by humidity",
            "-",
            1.0,
            lambda: time_ratio(80.0) / time_ratio(204.0),
        ),
        at_least(
            "loss",
            "loss at 80 °C dry less the next highest",
            "points",
            0.0,
            lambda: loss(80.0, False) - max(loss(80.0, True), loss(204.0, False), loss(204.0, True)),
        ),
        at_least(
            "dark", "colour at 80 °C dry over 204 °C humid", "-", 1.0, lambda: colour(80.0, False) / colour(204.0, True)
        ),
    ),
)
