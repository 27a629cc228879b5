"""How far sugar browns over a history of the surface, for an ensemble; ``tests/oracles/reaction.py`` has the law."""

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog.foods import read_table
from pitreckon.physics.constants import GAS_CONSTANT, ZERO_CELSIUS_K

__all__ = ["browning_dose", "browning_onsets"]


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

    The law's speed by trapezoids; a wet surface does not caramelise.
    """
    colder = 1.0 / (np.asarray(onset_c) + ZERO_CELSIUS_K) - 1.0 / (surface_c + ZERO_CELSIUS_K)
    rate = np.nan_to_num(dryness * np.exp(activation_j_mol / GAS_CONSTANT * colder), nan=0.0)
    steps = np.diff(time_s)[:, None]
    dose: Floats = np.sum(0.5 * (rate[1:] + rate[:-1]) * steps, axis=0) / onset_s
    return dose


@cache
def browning_onsets() -> Mapping[str, tuple[float, float]]:
    """Where each kind of dry sugar begins to brown within minutes, lowest and highest [degC]."""
    rows = read_table("pitreckon.catalog", "foods/browning.csv")
    return MappingProxyType({row["kind"]: (float(row["onset_low_c"]), float(row["onset_high_c"])) for row in rows})
