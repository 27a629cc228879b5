"""How far the sugar of a rub and of a glaze got in the heat of a reader's pit.

The same law as that of scorching in ``flavour``, which this room cannot see; a test holds the two together.
"""

from __future__ import annotations

from math import log
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K
from pitreckon.reckon.draws import stream

__all__ = ["BITTER", "browned", "sugar_dose"]

Floats = NDArray[np.float64]

ONSET_C: Final = {"rub": (150.0, 170.0), "glaze": (105.0, 150.0)}
"""A dry sugar browns within minutes: sucrose and glucose of a rub; fructose to glucose of a glaze (two public tables,
neither says who measured it)."""
ONSET_S: Final = (300.0, 1200.0)
"""What "within minutes" may mean, from memory."""
ACTIVATION_J_MOL: Final = (105e3, 145e3)
"""Browning of sucrose and of glucose with an amino acid at 60-140 degC: Shin and Ahn 1999, Korean J. Food Cookery
Sci. (the abstract, seen; it prints J/mol, which must be kJ/mol)."""
BITTER: Final = 4.0
"""The dose from which a sugar is bitter (from memory)."""


def browned(
    surface_c: Floats, dryness: Floats, time_s: Floats, onset_c: Floats, onset_s: Floats, activation_j_mol: Floats
) -> Floats:
    """Time at the onset that would brown as much, over ``onset_s`` [-]; shape (members,).

    surface_c: (times, members) [degC], nan: not there; dryness: alike, 0 wet to 1 dry [-]; time_s: (times,)
    onset_c [degC], onset_s [s], activation_j_mol: (members,)
    """
    colder = 1.0 / (onset_c + ZERO_CELSIUS_K) - 1.0 / (surface_c + ZERO_CELSIUS_K)
    rate = np.nan_to_num(dryness * np.exp(activation_j_mol / GAS_CONSTANT * colder), nan=0.0)
    return np.asarray(np.sum(0.5 * (rate[1:] + rate[:-1]) * np.diff(time_s)[:, None], axis=0) / onset_s)


def sugar_dose(
    time_s: Floats, surface_c: Floats, activity: Floats, glazed: NDArray[np.bool_], sugar: Floats, seed: int
) -> Floats:
    """The worse of rub and glaze, ``BITTER`` from which on it is bitter [-]; shape (members,).

    surface_c, activity: (times, members), nan once it is off the pit; glazed: alike, with a glaze on
    sugar: in the rub, 0 none to 1 much
    """
    rng, n = stream(seed, "why sugar"), sugar.size
    where, energy = rng.random(n), rng.uniform(*ACTIVATION_J_MOL, n)
    minutes = np.exp(rng.uniform(log(ONSET_S[0]), log(ONSET_S[1]), n))
    dryness = np.clip(1.0 - activity, 0.0, 1.0)

    def dose(kind: str, there: NDArray[np.bool_]) -> Floats:
        low, high = ONSET_C[kind]
        on = np.where(there, surface_c, np.nan)
        return browned(on, dryness, time_s, low + where * (high - low), minutes, energy)

    return np.maximum(sugar * dose("rub", ~glazed), dose("glaze", glazed))
