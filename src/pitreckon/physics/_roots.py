"""A bracketed root finder, so that physics needs nothing beyond the standard library."""

from collections.abc import Callable
from itertools import pairwise
from math import copysign, sqrt

from pitreckon.errors import RangeError

MOST_STEPS = 100


def bracketed_root(law: Callable[[float], float], low: float, high: float, tolerance: float = 1e-10) -> float:
    """The point between ``low`` and ``high`` where ``law`` changes sign.

    Ridders' exponential false position [ridders_1979]_: every step at least halves the bracket, so it
    cannot stall, and near a smooth root it converges quadratically.

    Parameters
    ----------
    law: continuous function, of opposite sign (or zero) at the two ends
    low, high: the bracket [unit of the argument]
    tolerance: width of the bracket at which to stop [unit of the argument]

    Raises
    ------
    RangeError: the ends do not bracket a root, or the law is not a number inside the bracket

    >>> bracketed_root(lambda x: x * x - 2.0, 0.0, 2.0)
    1.41421356
    """
    at_low, at_high = law(low), law(high)
    if at_low == 0.0:
        return low
    if at_high == 0.0:
        return high
    if not at_low * at_high < 0.0:
        raise RangeError(f"no root between {low:.6g} and {high:.6g}: the law is {at_low:.3g} and {at_high:.3g}")
    for _ in range(MOST_STEPS):
        middle = 0.5 * (low + high)
        at_middle = law(middle)
        spread = sqrt(at_middle * at_middle - at_low * at_high)
        if at_middle == 0.0 or high - low <= tolerance:
            return middle
        guess = middle + (middle - low) * copysign(1.0, at_low - at_high) * at_middle / spread
        at_guess = law(guess)
        if at_guess == 0.0:
            return guess
        low, high, at_low, at_high = _narrowed(
            (low, at_low), (high, at_high), sorted([(middle, at_middle), (guess, at_guess)])
        )
    raise RangeError(f"no root found between {low:.6g} and {high:.6g} in {MOST_STEPS} steps")


def _narrowed(
    low: tuple[float, float], high: tuple[float, float], inner: list[tuple[float, float]]
) -> tuple[float, float, float, float]:
    """The narrowest neighbouring pair of points over which the law changes sign."""
    points = [low, *inner, high]
    for left, right in pairwise(points):
        if left[1] * right[1] <= 0.0:
            return left[0], right[0], left[1], right[1]
    raise RangeError(f"the law is not a number between {low[0]:.6g} and {high[0]:.6g}")
