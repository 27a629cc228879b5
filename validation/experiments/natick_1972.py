"""Pork spareribs of 3 lb roasted for a feeding study [natick_1972]_.

Compared: boneless cooked meat 46.6 % of the raw rack (within 5 points). Assumed, as what was read does not
say: an oven at 163 degC without fan, 82 degC at the core; our bone share is the catalog's.
"""

from __future__ import annotations

from functools import cache

from pitreckon import catalog
from validation.check import Check, Group
from validation.lab import Cooked, cook, core, oven

MASS_KG = 3.0 * 0.45359237


@cache
def cooked() -> Cooked:
    """One rack."""
    return cook(catalog.cut("spareribs"), oven(163.0), core(82.0), mass_kg=MASS_KG)


def boneless() -> float:
    """Boneless cooked meat over the raw rack [%]."""
    bone = cooked().cut.composition.bone_fraction.value
    return 100.0 * (1.0 - bone - cooked().loss(cooked().end_s()))


GROUP = Group(
    "Spareribs, boneless yield",
    "natick_1972",
    "test",
    (
        Check(
            "boneless",
            "boneless cooked meat over the raw rack",
            "%",
            41.6,
            51.6,
            boneless,
            "bone share and doneness are not given",
        ),
    ),
)
