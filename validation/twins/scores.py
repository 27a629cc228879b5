"""Scores of a forecast that is a set of weighted values: CRPS, quantiles, where the truth fell.

A value that is no number means "never"; it counts as infinitely late, and in the CRPS as ``cap``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def crps(values: Floats, weights: Floats, truth: float, cap: float = np.inf) -> float:
    """Continuous ranked probability score: E|X - y| - E|X - X'|/2; in the unit of the values.

    Values that are no number, and those past ``cap``, are put at ``cap``.

    >>> round(crps(np.array([1.0, 3.0]), np.array([0.5, 0.5]), 2.0), 6)
    0.5
    """
    x = np.minimum(np.where(np.isnan(values), np.inf, values), cap)
    order = np.argsort(x, kind="stable")
    x, w = x[order], weights[order] / weights.sum()
    used = w > 0.0
    x, w = x[used], w[used]
    below = np.cumsum(w)
    spread = float(np.sum(w * x * (2.0 * below - w - 1.0)))
    return float(np.sum(w * np.abs(x - truth))) - spread


def quantile(values: Floats, weights: Floats, level: float) -> float:
    """Quantile of weighted values, straight between the middles of their steps; inf where it is "never".

    >>> quantile(np.array([3.0, 1.0, np.nan]), np.ones(3), 0.5), quantile(np.array([1.0, np.nan]), np.ones(2), 0.9)
    (3.0, inf)
    """
    x = np.where(np.isnan(values), np.inf, values)
    order = np.argsort(x, kind="stable")
    x, w = x[order], weights[order] / weights.sum()
    used = w > 0.0
    x, w = x[used], w[used]
    ends = np.cumsum(w)
    finite = np.isfinite(x)
    if not finite.any() or level > ends[finite][-1]:
        return float("inf")
    middle = ends - 0.5 * w
    return float(np.interp(level, middle[finite], x[finite]))


def place(values: Floats, weights: Floats, truth: float) -> float:
    """Share of the forecast before the truth, 0 to 1; ties count half. Even from 0 to 1 if the forecast is honest.

    >>> place(np.array([1.0, 2.0, 3.0, np.nan]), np.ones(4), 2.5)
    0.5
    """
    x = np.where(np.isnan(values), np.inf, values)
    w = weights / weights.sum()
    return float(np.sum(w[x < truth]) + 0.5 * np.sum(w[x == truth]))


def histogram(places: Floats, bins: int = 10) -> NDArray[np.int64]:
    """Count of places in equal bins from 0 to 1."""
    at = np.clip((np.asarray(places) * bins).astype(np.int64), 0, bins - 1)
    return np.bincount(at, minlength=bins)
