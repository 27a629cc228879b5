"""How likely a look is in a member: words with a cook's own bias, measured things with their errors."""

from collections.abc import Sequence

import numpy as np
from scipy.special import logsumexp, ndtr

from pitreckon.arrays import Floats
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.reckon.hands import Bias, usual

BLUNDER = 0.03
"""Share of looks that say nothing: the wrong piece, a slip of the thumb (common practice, no source)."""
BIAS_NODES, BIAS_SHARES = np.polynomial.hermite_e.hermegauss(7)
BIAS_SHARES = BIAS_SHARES / BIAS_SHARES.sum()

SPOT_SD_K = LOOK_KINDS["spot temperature"].errors.each
PLACE_SHARES = np.array([0.5, 0.25, 0.15, 0.07, 0.03])
"""Where a tip sits that was aimed at the core, by ``measures.PLACES`` (common practice, no source)."""
TAIL_DEGREES = 5.0
"""Of Student's distribution, in place of the normal: one odd look cannot rule a member out."""


def word_bounds(scale: str, value: float) -> tuple[float, float] | None:
    """Levels between which a word of a scale would be said; None where the value is no word's."""
    steps = list(LOOK_KINDS[scale].scale.values())
    nearest = int(np.argmin(np.abs(np.array(steps) - value)))
    if abs(steps[nearest] - value) > 1e-6:
        return None
    low = -np.inf if nearest == 0 else 0.5 * (steps[nearest - 1] + steps[nearest])
    high = np.inf if nearest == len(steps) - 1 else 0.5 * (steps[nearest] + steps[nearest + 1])
    return low, high


def word_chance(scale: str, value: float, level: Floats) -> Floats:
    """Chance that a cook without a bias says the word of ``value`` of a piece at ``level``."""
    kind = LOOK_KINDS[scale]
    error = kind.errors.each
    bounds = word_bounds(scale, value)
    if bounds is None:
        width = 0.5 * error  # a level between two words, as a picture scale gives it
        bounds = value - width, value + width
    low, high = bounds
    hit = ndtr((high - level) / error) - ndtr((low - level) / error)
    return np.asarray((1.0 - BLUNDER) * hit + BLUNDER / len(kind.scale))


def words_log_likelihood(scale: str, values: Sequence[float], levels: Floats, bias: Bias | None = None) -> Floats:
    """Of several looks by one person on one scale; ``levels`` [look, member]. Shape (members,).

    bias: what is known of their bias; None: as usual
    """
    known = bias or usual(scale)
    total = np.repeat(np.log(BIAS_SHARES)[:, None], levels.shape[1], axis=1)
    for value, level in zip(values, levels, strict=True):
        total += np.log(word_chance(scale, value, level[None, :] + (known.mean + known.sd * BIAS_NODES[:, None])))
    return np.asarray(logsumexp(total, axis=0))


def measured_log_likelihood(miss: Floats, covariance: Floats) -> Floats:
    """Of several measurements whose errors hang together; ``miss`` [measurement, member]. Shape (members,)."""
    k = miss.shape[0]
    white = np.linalg.solve(np.linalg.cholesky(covariance), miss)
    return np.asarray(-0.5 * (TAIL_DEGREES + k) * np.log1p(np.sum(white * white, axis=0) / TAIL_DEGREES))


def spot_log_likelihood(temperatures: Floats, value_c: float, error_k: float = SPOT_SD_K) -> Floats:
    """Of a spot temperature whose tip may have missed the core; ``temperatures`` [place, member]."""
    miss = (temperatures - value_c) / error_k
    each = -0.5 * (TAIL_DEGREES + 1.0) * np.log1p(miss * miss / TAIL_DEGREES)
    return np.asarray(logsumexp(each + np.log(PLACE_SHARES)[:, None], axis=0))
