"""Quantiles of weighted members, with "not reached" as a value of its own at the end."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from pitreckon.arrays import Floats, Ints

LEVELS = (0.05, 0.5, 0.95)
LEVEL_NAMES = ("p05", "p50", "p95")
FIVE_MINUTES_S, QUARTER_S = 300.0, 900.0
FINE_S, WIDE_S = 1200.0, 3.0 * 3600.0
"""A window narrower than the first is told to the minute, one wider than the second to the quarter [s]."""


def weighted_quantile(values: Floats, weights: Floats, level: float) -> float:
    """Quantile of weighted values by linear interpolation of the midpoint distribution; inf stays inf.

    >>> weighted_quantile(np.array([1.0, 2.0, 3.0]), np.array([1.0, 1.0, 1.0]) / 3, 0.5)
    2.0
    """
    return _Sorted.of(values, weights).at(level)[0]


@dataclass(frozen=True, slots=True)
class _Sorted:
    """Weighted values in their order: sorted once for all their quantiles. mid: of the midpoint distribution"""

    v: Floats
    w: Floats
    mid: Floats

    @classmethod
    def of(cls, values: Floats, weights: Floats) -> "_Sorted":
        order = values.argsort()
        w = weights[order]
        return cls(values[order], w, w.cumsum() - 0.5 * w)

    def at(self, *levels: float) -> list[float]:
        """Quantiles."""
        return [self._at(level, int(hi)) for level, hi in zip(levels, self.mid.searchsorted(levels), strict=True)]

    def _at(self, level: float, hi: int) -> float:
        v, mid = self.v, self.mid
        if hi == 0:
            return float(v[0])
        if hi == v.size:
            return float(v[-1])
        there = float(v[hi])
        if not math.isfinite(there):
            return float(v[hi - 1]) if level <= self.w[np.isfinite(v)].sum() else math.inf
        under, low = float(mid[hi - 1]), float(v[hi - 1])
        return low + (level - under) / (float(mid[hi]) - under) * (there - low)


def systematic_resample(weights: Floats, n: int) -> Ints:
    """``n`` members by systematic resampling, without chance: each as often as its weight says, to one."""
    cumulative = np.cumsum(weights)
    at = (np.arange(n) + 0.5) / n * cumulative[-1]
    return np.asarray(np.minimum(np.searchsorted(cumulative, at), weights.size - 1), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Quantiles:
    """5, 50 and 95 % of a quantity, and the share of the members that have it at all."""

    p05: float
    p50: float
    p95: float
    reached: float

    @property
    def known(self) -> bool:
        """Whether at least half of the members get there."""
        return bool(np.isfinite(self.p50))

    def chance_by(self, value: float) -> float:
        """Rough chance that it is at most a value: straight between the quantiles, tails of the same slope.

        >>> Quantiles(10.0, 20.0, 40.0, 1.0).chance_by(20.0)
        0.5
        """
        xs = [self.p05, self.p50, self.p95]
        if not math.isfinite(xs[0]):
            return 0.0
        xs = [x if math.isfinite(x) else 1e12 for x in xs]
        left, right = max(xs[1] - xs[0], 1.0), max(xs[2] - xs[1], 1.0)
        points = [(xs[0] - left / 9, 0.0), (xs[0], 0.05), (xs[1], 0.5), (xs[2], 0.95), (xs[2] + right / 9, 1.0)]
        if value <= points[0][0]:
            return 0.0
        for (x0, y0), (x1, y1) in pairwise(points):
            if value <= x1:
                return y0 + (y1 - y0) * (value - x0) / max(x1 - x0, 1e-9)
        return 1.0


def readable(spread: Quantiles, zero_s: float) -> Quantiles:
    """The same with no more digits than it has: on full quarters of an hour where it is wide, else on five minutes.

    zero_s: what its seconds count from, on the clock, so that clock times come out round; the ends go outwards
    """
    width = spread.p95 - spread.p05
    if not math.isfinite(width) or width < FINE_S:
        return spread
    grain = FIVE_MINUTES_S if width < WIDE_S else QUARTER_S

    def on(value: float, how: Callable[[float], float]) -> float:
        return how((zero_s + value) / grain) * grain - zero_s

    return Quantiles(on(spread.p05, math.floor), on(spread.p50, round), on(spread.p95, math.ceil), spread.reached)


def quantiles_of(values: Floats, weights: Floats) -> Quantiles:
    """Quantiles of weighted values; nan means "not reached" and sorts after everything."""
    filled = np.where(np.isnan(values), np.inf, values)
    p05, p50, p95 = _Sorted.of(filled, weights).at(*LEVELS)
    return Quantiles(p05, p50, p95, float(weights[np.isfinite(filled)].sum()))
