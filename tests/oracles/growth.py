"""Growth from spores and cells in its differential and its closed form."""

from __future__ import annotations

from math import exp, expm1, log, log1p
from typing import NamedTuple

from pitreckon.physics._ranges import above_zero, within
from pitreckon.physics.growth import LN10


class Growing(NamedTuple):
    """How fast a population and its readiness change."""

    log10_per_s: float
    """Powers of ten of the count [1/s]"""
    ln_readiness_per_s: float
    """Natural logarithm of the readiness [1/s]"""


def growth_slopes_baranyi_roberts(
    log10_count: float, readiness: float, rate_per_s: float, log10_most: float
) -> Growing:
    """Oracle of growth_log10_baranyi_roberts, whose differential equations they are.

    How fast a count and its readiness to grow change at this moment [1/s].

    Parameters
    ----------
    log10_count: powers of ten of the count, -10 to ``log10_most`` [-]
    readiness: the cells' state q, of which q / (1 + q) is how far they are ready to grow, 0 and more [-]
    rate_per_s: growth rate at this temperature, natural logarithms, 0 to 1 [1/s]
    log10_most: powers of ten of the most that the food can carry, -10 to 15 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [baranyi_roberts_1994]_; cells half ready, far below the most, grow half as fast as they can, by
    construction.

    >>> from math import log
    >>> round(growth_slopes_baranyi_roberts(2.0, 1.0, log(10.0) * 1e-3, 9.0).log10_per_s, 6)
    0.0005
    """
    within("log10_most", log10_most, -10.0, 15.0)
    within("log10_count", log10_count, -10.0, log10_most)
    within("readiness", readiness, 0.0, float("inf"))
    within("rate_per_s", rate_per_s, 0.0, 1.0, "1/s")
    ready = 1.0 if readiness > 1e12 else readiness / (1.0 + readiness)
    crowding = 1.0 - 10.0 ** (log10_count - log10_most)
    return Growing(rate_per_s / LN10 * ready * crowding, rate_per_s)


def growth_log10_baranyi_roberts(drive: float, readiness: float, room_log10: float) -> float:
    """Oracle of safety.microbes.path.growth_log10.

    Powers of ten by which a count grows along any history of temperature [-].

    The two equations of ``growth_slopes_baranyi_roberts`` have an exact solution in ``drive``, the time integral of
    the growth rate, however the temperature went: d ln(1 + q) is the growth of an uncrowded population.

    Parameters
    ----------
    drive: time integral of the growth rate, natural logarithms, 0 and more [-]
    readiness: at the start, above 0 to infinity, which is no lag [-]
    room_log10: powers of ten from the first count to the most that the food can carry, above 0 to 25 [-]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [baranyi_roberts_1994]_; three hours at 45 degC in beef, from 100 to at most 1e8, computed here by steps.

    >>> from pitreckon.physics.growth import growth_rate_perfringens_juneja, readiness_perfringens_juneja
    >>> drive = 3.0 * 3600.0 * growth_rate_perfringens_juneja(45.0, "beef")
    >>> round(growth_log10_baranyi_roberts(drive, readiness_perfringens_juneja("beef"), 6.0), 3)
    5.896
    """
    within("drive", drive, 0.0, 1e6)
    above_zero("readiness", readiness, float("inf"))
    above_zero("room_log10", room_log10, 25.0)
    free = drive + log1p((exp(-drive) - 1.0) / (1.0 + readiness)) if readiness != float("inf") else drive
    room = LN10 * room_log10
    # free - ln(1 + (exp(free) - 1) exp(-room)), written so that nothing overflows
    most = max(free - room, 0.0)
    crowd = most + log(exp(free - room - most) + exp(-most) * -expm1(-room))
    return max(free - crowd, 0.0) / LN10
