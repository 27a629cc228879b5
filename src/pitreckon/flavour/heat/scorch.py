"""Whether the sugar of a rub, a wrap or a glaze scorches over a history of the surface: a chance over members.

Rough, and meant to compare: the onsets are household knowledge, nobody names a measurement. Each member draws its own
onsets, activation energy and time, so that what is not known shows as a chance between nothing and all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING, Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.physics.reaction import BITTER_DOSE, BROWNING_ACTIVATION, BROWNING_ONSET_S
from pitreckon.section.browning import browning_dose, browning_onsets

if TYPE_CHECKING:
    from pitreckon.flavour.weigh.batch import Batch

BROWN, SCORCHED = 1.0, BITTER_DOSE
"""Doses at which a sugar has browned as at its onset, and at which it is bitter."""
LEAST_SUGAR: Final = 0.03
"""Below this share of the dry matter there is nothing to scorch (from memory)."""


@dataclass(frozen=True, slots=True)
class Scorch:
    """What heat does to the sugar.

    browned, scorched: [-] chance of each; hottest_c: the surface at its hottest, middle member [degC]
    dose: of each member [-], 1 is browned, ``SCORCHED`` is bitter
    """

    browned: float
    scorched: float
    hottest_c: float
    dose: Floats


def sugar_of(batch: Batch) -> tuple[dict[str, float], float]:
    """Grams of each kind of sugar in a batch, and their share of its dry matter [-]."""
    contents = batch.contents
    sugars = dict(contents.sugars)
    return sugars, sum(sugars.values()) / max(contents.dry_g.middle, 1e-9)


def scorch_chance(
    sugars: Mapping[str, float],
    sugar_share: float,
    time_s: Floats,
    surface_c: Floats,
    activity: Floats,
    seed: int = 1,
) -> Scorch:
    """The chance that the sugar of a mix browns or scorches.

    sugars: grams of each kind, only their proportions count; sugar_share: of the mix's dry matter [-]
    time_s: (times,) [s]; surface_c, activity: temperature and water activity of the surface, (times, members); nan:
        the piece is no longer there; seed: of the draws

    Raises ValueError: the histories do not fit together.
    """
    if surface_c.shape != activity.shape or surface_c.shape[0] != time_s.size:
        raise ValueError(f"histories of {surface_c.shape}, {activity.shape} and {time_s.shape} do not fit together")
    n = surface_c.shape[1]
    hottest = float(np.median(np.max(np.where(np.isnan(surface_c), -np.inf, surface_c), axis=0)))
    total = sum(sugars.values())
    if total <= 0.0 or sugar_share < LEAST_SUGAR:
        return Scorch(0.0, 0.0, hottest, np.zeros(n))
    draw = np.random.default_rng([seed, 20_817])
    where, energy = draw.random(n), draw.uniform(*BROWNING_ACTIVATION, n)
    minutes = np.exp(draw.uniform(log(BROWNING_ONSET_S[0]), log(BROWNING_ONSET_S[1]), n))
    dryness = np.clip(1.0 - activity, 0.0, 1.0)
    dose = np.zeros(n)
    for kind, (low, high) in browning_onsets().items():
        onset = low + where * (high - low)
        dose += sugars.get(kind, 0.0) / total * browning_dose(surface_c, dryness, time_s, onset, minutes, energy)
    return Scorch(float(np.mean(dose >= BROWN)), float(np.mean(dose >= SCORCHED)), hottest, dose)
