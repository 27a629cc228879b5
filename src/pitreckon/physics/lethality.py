"""What a temperature history does to microbes, by the general method."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import expm1, log
from typing import Final

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import above_zero, within

__all__ = [
    "decimal_reduction_time_bigelow",
    "lethal_rate_bigelow",
    "log_reduction",
    "log_reduction_bigelow",
    "process_value_bigelow",
    "process_value_linear_ramp",
]

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 250.0
LONGEST_S: Final = 1e8

MEAT_TABLE_Z_K: Final = 50.0 / 9.0
"""z of the time and temperature table for meat of FSIS 2021: 10 degF [K]"""
EQUIVALENT_AT_C: Final = 70.0
"""Where the program counts equivalent seconds [degC]"""


def _check(ref_c: float, z_k: float) -> None:
    within("ref_c", ref_c, 40.0, 150.0, "degC")
    within("z_k", z_k, 1.0, 50.0, "K")


def lethal_rate_bigelow(temp_c: float, ref_c: float, z_k: float) -> float:
    """How many times faster than at the reference temperature microbes die [-].

    Parameters
    ----------
    temp_c: -40 to 250 [degC]
    ref_c: reference temperature, the one that belongs to the D value, 40 to 150 [degC]
    z_k: rise that makes killing ten times as fast, 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_; one z below the reference it is a tenth.

    >>> lethal_rate_bigelow(60.0, 70.0, 10.0)
    0.1
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    _check(ref_c, z_k)
    return float(10.0 ** ((temp_c - ref_c) / z_k))


def decimal_reduction_time_bigelow(temp_c: float, d_ref_s: float, ref_c: float, z_k: float) -> float:
    """Time at a temperature that kills nine tenths of the microbes [s].

    Parameters
    ----------
    temp_c: -40 to 250 [degC]
    d_ref_s: that time at the reference temperature, above 0 to 1e8 [s]
    ref_c: 40 to 150 [degC]
    z_k: 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_; [fsis_gd_2021_14]_ implies 17.2 min at 130 degF from 0.172 min at 150 degF with
    z 10 degF.

    >>> round(decimal_reduction_time_bigelow(54.444444, 0.172 * 60.0, 65.555556, 5.555556) / 60.0, 1)
    17.2
    """
    above_zero("d_ref_s", d_ref_s, LONGEST_S, "s")
    return d_ref_s / lethal_rate_bigelow(temp_c, ref_c, z_k)


def process_value_bigelow(times_s: Sequence[float], temps_c: Sequence[float], ref_c: float, z_k: float) -> float:
    """Time at the reference temperature that kills as much as a temperature history [s].

    The lethal rate is summed by trapezoids between readings, so it is never negative and the parts of a
    history add up.

    Parameters
    ----------
    times_s: instants of the readings, strictly rising, at least one [s]
    temps_c: readings, as many, -40 to 250 [degC]
    ref_c: 40 to 150 [degC]
    z_k: 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range, no reading, unequal numbers, times that do not rise

    Source: [bigelow_1920]_; two minutes at the reference temperature are two minutes.

    >>> process_value_bigelow([0.0, 60.0, 120.0], [70.0, 70.0, 70.0], 70.0, 7.5)
    120.0
    """
    if len(times_s) != len(temps_c):
        raise RangeError(f"temps_c has {len(temps_c)} readings for {len(times_s)} times")
    if not times_s:
        raise RangeError("times_s is empty: a process value needs at least one reading")
    rates = [lethal_rate_bigelow(temp_c, ref_c, z_k) for temp_c in temps_c]
    total = 0.0
    points = list(zip(times_s, rates, strict=True))
    for place, ((from_s, from_rate), (to_s, to_rate)) in enumerate(pairwise(points), start=1):
        above_zero(f"times_s[{place}] - times_s[{place - 1}]", to_s - from_s, LONGEST_S, "s")
        total += 0.5 * (to_s - from_s) * (from_rate + to_rate)
    return total


def process_value_linear_ramp(from_c: float, to_c: float, seconds: float, ref_c: float, z_k: float) -> float:
    """Time at the reference temperature that kills as much as a straight rise or fall [s].

    Parameters
    ----------
    from_c, to_c: -40 to 250 [degC]
    seconds: 0 to 1e8 [s]
    ref_c: 40 to 150 [degC]
    z_k: 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_ integrated in closed form; 120 to 140 degF in an hour at reference 150 and z 10
    degF makes 1.289855 min (computed here).

    >>> round(process_value_linear_ramp(48.888889, 60.0, 3600.0, 65.555556, 5.555556) / 60.0, 4)
    1.2899
    """
    within("seconds", seconds, 0.0, LONGEST_S, "s")
    start = lethal_rate_bigelow(from_c, ref_c, z_k)
    within("to_c", to_c, COLDEST_C, HOTTEST_C, "degC")
    climb = log(10.0) * (to_c - from_c) / z_k
    return seconds * start * (expm1(climb) / climb if climb != 0.0 else 1.0)


def log_reduction(process_value_s: float, d_ref_s: float) -> float:
    """Powers of ten by which microbes are reduced [log10].

    Parameters
    ----------
    process_value_s: time at the reference temperature, 0 or more [s]
    d_ref_s: D value at the same reference temperature, above 0 to 1e8 [s]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [bigelow_1920]_; [fsis_gd_2021_14]_ asks 112 min at 130 degF for 6.5.

    >>> round(log_reduction(112.0 * 60.0, 17.2 * 60.0), 2)
    6.51
    """
    within("process_value_s", process_value_s, 0.0, float("inf"), "s")
    above_zero("d_ref_s", d_ref_s, LONGEST_S, "s")
    return process_value_s / d_ref_s


def log_reduction_bigelow(
    times_s: Sequence[float], temps_c: Sequence[float], d_ref_s: float, ref_c: float, z_k: float
) -> float:
    """Powers of ten by which a temperature history reduces microbes [log10].

    Parameters
    ----------
    times_s: instants of the readings, strictly rising, at least one [s]
    temps_c: readings, as many, -40 to 250 [degC]
    d_ref_s: D value at ``ref_c``, above 0 to 1e8 [s]
    ref_c: 40 to 150 [degC]
    z_k: 1 to 50 [K]

    Raises
    ------
    RangeError: an argument outside its range, no reading, unequal numbers, times that do not rise

    Source: [bigelow_1920]_ as used in [ami_process_lethality]_; the L. monocytogenes benchmark, 2 min at 70
    degC for six powers of ten, is its D of 20 s by construction.

    >>> log_reduction_bigelow([0.0, 120.0], [70.0, 70.0], 20.0, 70.0, 7.5)
    6.0
    """
    return log_reduction(process_value_bigelow(times_s, temps_c, ref_c, z_k), d_ref_s)
