"""Whether the sugar of a rub, a wrap or a glaze scorches over a history of the surface: a chance over members.

Rough, and meant to compare: the onsets are household knowledge, nobody names a measurement. Each member draws its own
onsets, activation energy and time, so that what is not known shows as a chance between nothing and all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import log
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.catalog.foods import read_table
from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K

if TYPE_CHECKING:
    from pitreckon.flavour.weigh.batch import Batch

__all__ = ["Scorch", "browning_dose", "scorch_chance", "sugar_of"]

Floats = NDArray[np.float64]

ACTIVATION_J_MOL: Final = (105e3, 145e3)
"""Browning of sucrose and of glucose with an amino acid at 60-140 degC: Shin and Ahn 1999, Korean J. Food Cookery
Sci. (the abstract, seen; it prints J/mol, which must be kJ/mol)."""
ONSET_S: Final = (300.0, 1200.0)
"""What "within minutes" may mean, from memory."""
BROWN, SCORCHED = 1.0, 4.0
"""Doses at which a sugar has browned as at its onset, and at which it is bitter (from memory)."""
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


def browning_dose(
    surface_c: Floats,
    dryness: Floats,
    time_s: Floats,
    onset_c: Floats | float,
    onset_s: Floats | float,
    activation_j_mol: Floats | float,
) -> Floats:
    """How far a sugar has browned [-], shape (members,): the time at its onset that would do as much, over ``onset_s``.

    surface_c: (times, members) [degC]; nan: no longer there; dryness: [-] 0 wet to 1 dry, same shape; time_s: (times,)
    onset_c, onset_s, activation_j_mol: one or (members,)

    An Arrhenius law about the onset, by trapezoids; a wet surface does not caramelise.
    """
    colder = 1.0 / (np.asarray(onset_c) + ZERO_CELSIUS_K) - 1.0 / (surface_c + ZERO_CELSIUS_K)
    rate = np.nan_to_num(dryness * np.exp(activation_j_mol / GAS_CONSTANT * colder), nan=0.0)
    steps = np.diff(time_s)[:, None]
    dose: Floats = np.sum(0.5 * (rate[1:] + rate[:-1]) * steps, axis=0) / onset_s
    return dose


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
    where, energy = draw.random(n), draw.uniform(*ACTIVATION_J_MOL, n)
    minutes = np.exp(draw.uniform(log(ONSET_S[0]), log(ONSET_S[1]), n))
    dryness = np.clip(1.0 - activity, 0.0, 1.0)
    dose = np.zeros(n)
    for kind, (low, high) in _onsets().items():
        onset = low + where * (high - low)
        dose += sugars.get(kind, 0.0) / total * browning_dose(surface_c, dryness, time_s, onset, minutes, energy)
    return Scorch(float(np.mean(dose >= BROWN)), float(np.mean(dose >= SCORCHED)), hottest, dose)


@cache
def _onsets() -> dict[str, tuple[float, float]]:
    rows = read_table("pitreckon.flavour", "browning.csv")
    return {row["kind"]: (float(row["onset_low_c"]), float(row["onset_high_c"])) for row in rows}
