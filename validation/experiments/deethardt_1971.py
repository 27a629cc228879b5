"""Turkey halves to 85 degC in the thigh [deethardt_1971]_: open pan, loose foil, tight foil in a hotter oven.

Compared: loose foil at 163 degC takes much longer than an open pan at 163 degC (put here: 1.15 times or more)
and drips more; tight foil at 233 degC takes slightly less time than the open pan (0.7 to 1.0 of it).
Assumed: a drum of 4.5 kg with the catalog's turkey breast for meat and skin; a kitchen oven without fan; tight
foil is the catalog's, loose foil has a gap of 5 mm of air (0.03 W/mK / 5 mm = 6 W/m2K).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from pitreckon import catalog
from validation.check import Check, Group, at_least
from validation.lab import Cooked, assumed, cook, core, oven

TIGHT = catalog.wrap("foil")
LOOSE = replace(TIGHT, gap_conductance_w_m2k=assumed(6.0))


@cache
def cooked(how: str) -> Cooked:
    """One half: "open", "loose" or "tight"."""
    air_c = 233.0 if how == "tight" else 163.0
    wrap = {"open": None, "loose": LOOSE, "tight": TIGHT}[how]
    return cook(catalog.cut("turkey-breast"), oven(air_c), core(85.0, wrap), hours=16.0, mass_kg=4.5)


def dripped(how: str) -> float:
    """Drip at the end, as a share of the raw piece."""
    return cooked(how).at("dripped", cooked(how).end_s())


GROUP = Group(
    "Turkey halves in foil",
    "deethardt_1971",
    "test",
    (
        at_least(
            "loose",
            "loose foil over open pan, 163 °C: time",
            "-",
            1.15,
            lambda: cooked("loose").end_s() / cooked("open").end_s(),
        ),
        Check(
            "tight",
            "tight foil 233 °C over open pan 163 °C: time",
            "-",
            0.7,
            1.0,
            lambda: cooked("tight").end_s() / cooked("open").end_s(),
        ),
        at_least(
            "drip", "loose foil over open pan, 163 °C: drip", "-", 1.2, lambda: dripped("loose") / dripped("open")
        ),
    ),
)
