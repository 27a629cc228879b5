"""The step of the colour scale that a measured colour is, with its uncertainty.

The six swatches are points of a path through CIELAB. Meat lies about that path: one piece is lighter or redder than
another at the same step, and all of it is duller than a drawing of it. A colour is held against every step of the path
and every dullness, with the errors of its measurement; what comes out is a chance for each step (Bayes, every step as
likely beforehand).
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook.looks import SCALES
from pitreckon.cook.swatches import SWATCHES
from pitreckon.photo.cielab import lab_from_hex

STEPS: Final = SCALES["colour"]
LEVELS: Final = np.round(np.arange(0.0, 1.4501, 0.01), 2)
"""Levels of the scale that are tried [-]."""
SET_FROM: Final = 0.5 * (STEPS["red-brown"] + STEPS["mahogany"])
DARK_FROM: Final = 0.5 * (STEPS["mahogany"] + STEPS["too dark"])
"""From half way on, a cook would tap the next swatch."""
DULL, DULL_SD = 0.5, 0.5
"""Chroma of meat over that of its swatch: the middle, and the spread of its logarithm. Published surfaces of roasted
and raw meat lie at 0.2 to 0.7 (the tests name them); a red rub comes up to the swatch."""
MEAT_L: Final = {"raw": 14.0, "tan": 9.0, "amber": 6.0, "red-brown": 4.5, "mahogany": 4.0, "too dark": 4.0}
"""Spread of L* from piece to piece at one step: beef is darker than a bird before the fire has done anything
(common practice, no source)."""
HUE_SD, OFF_SD = 0.16, 2.0
"""Spread of the hue from piece to piece [rad], and of a* and b* beside it."""
NO_MEAT: Final = 9.5
"""Squared distance in spreads past which a colour is none that meat takes; of three normal errors one in 40 is."""


@dataclass(frozen=True, slots=True)
class Step:
    """A measured colour on the scale.

    level: the mean of what it may be [-], 0 raw, 1 set, 1.3 too dark; sd: its standard error [-]
    set_chance: that a cook would call it mahogany or darker; dark_chance: too dark [-]
    off: squared distance of the colour from the nearest that meat takes, in spreads
    """

    level: float
    sd: float
    set_chance: float
    dark_chance: float
    off: float


@lru_cache(maxsize=1)
def _path() -> tuple[Floats, Floats, Floats, Floats]:
    """Lab of every level and dullness, (levels, dull, 3); its covariance, (.., 3, 3); ln of the share; dullness."""
    at = list(STEPS.values())
    swatches = np.array([lab_from_hex(SWATCHES[word]) for word in STEPS])
    line = np.stack([np.interp(LEVELS, at, swatches[:, k]) for k in range(3)], axis=-1)
    spread_l = np.interp(LEVELS, at, [MEAT_L[word] for word in STEPS])
    dull = np.geomspace(0.12, 1.35, 21)
    share = -0.5 * (np.log(dull / DULL) / DULL_SD) ** 2
    lab = np.repeat(line[:, None, :], dull.size, axis=1)
    lab[..., 1:] *= dull[None, :, None]
    covariance = np.zeros((*lab.shape, 3))
    covariance[..., 0, 0] = spread_l[:, None] ** 2
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    across = np.stack([-lab[..., 2], lab[..., 1]], axis=-1) / np.maximum(chroma, 1e-9)[..., None]
    covariance[..., 1:, 1:] = (HUE_SD * chroma)[..., None, None] ** 2 * across[..., :, None] * across[..., None, :]
    covariance[..., 1:, 1:] += OFF_SD**2 * np.eye(2)
    return lab, covariance, share - np.log(np.exp(share).sum()), dull


def step_of(lab: Floats, covariance: Floats) -> Step:
    """The step of a colour [L*, a*, b*] that was measured with these errors, (3, 3)."""
    path, of_meat, share, _ = _path()
    whole = of_meat + covariance
    miss = path - lab
    distance = np.einsum("...i,...i->...", miss, np.linalg.solve(whole, miss[..., None])[..., 0])
    log = -0.5 * distance - 0.5 * np.linalg.slogdet(whole)[1] + share
    weight = np.exp(log - log.max()).sum(axis=1)
    weight /= weight.sum()
    level = float(weight @ LEVELS)
    sd = float(np.sqrt(weight @ (LEVELS - level) ** 2))
    return Step(
        level,
        sd,
        float(weight[LEVELS >= SET_FROM - 1e-9].sum()),
        float(weight[LEVELS >= DARK_FROM - 1e-9].sum()),
        float((distance - 2.0 * share + 2.0 * share.max()).min()),
    )


def swatches_up(level: float) -> float:
    """A level as a place among the swatches: 0 raw, 1 tan, 2 amber and so on."""
    return float(np.interp(level, list(STEPS.values()), np.arange(len(STEPS))))
