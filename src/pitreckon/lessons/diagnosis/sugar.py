"""How far the sugar of a rub and of a glaze got in the heat of a reader's pit.

The law is that of scorching in ``flavour``; here nobody knows which sugar it was.
"""

from math import log
from typing import Final

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.physics.reaction import BITTER_DOSE, BROWNING_ACTIVATION, BROWNING_ONSET_S
from pitreckon.reckon.draws import stream
from pitreckon.section.browning import browning_dose, browning_onsets

BITTER: Final = BITTER_DOSE
"""The dose from which a sugar is bitter."""


def sugar_dose(time_s: Floats, surface_c: Floats, activity: Floats, glazed: Bools, sugar: Floats, seed: int) -> Floats:
    """The worse of rub and glaze, ``BITTER`` from which on it is bitter [-]; shape (members,).

    surface_c, activity: (times, members), nan once it is off the pit; glazed: alike, with a glaze on
    sugar: in the rub, 0 none to 1 much
    """
    rng, n = stream(seed, "why sugar"), sugar.size
    where, energy = rng.random(n), rng.uniform(*BROWNING_ACTIVATION, n)
    minutes = np.exp(rng.uniform(log(BROWNING_ONSET_S[0]), log(BROWNING_ONSET_S[1]), n))
    dryness = np.clip(1.0 - activity, 0.0, 1.0)

    def dose(kind: str, there: Bools) -> Floats:
        low, high = onset_c(kind)
        on = np.where(there, surface_c, np.nan)
        return browning_dose(on, dryness, time_s, low + where * (high - low), minutes, energy)

    return np.maximum(sugar * dose("rub", ~glazed), dose("glaze", glazed))


def onset_c(kind: str) -> tuple[float, float]:
    """Of the sugars of a rub, glucose to sucrose; of those of a glaze, fructose to glucose [degC]."""
    of = browning_onsets()
    if kind == "rub":
        return of["glucose"][0], of["sucrose"][1]
    return of["fructose"][0], of["glucose"][0]
